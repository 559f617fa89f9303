"""Pictures light by light: what is kept is what was taken, and light adds up whatever is turned."""

import io

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from PIL import Image

from tapemark.errors import FileError, SetupError
from tapemark.rendering import developed
from tapemark.services import demo_setup_text
from tapemark.services.editing.edits import apply_edits
from tapemark.services.light_pictures import (
    LightsWanted,
    Looking,
    as_exposed,
    kept_lights,
    lights_as_plain,
    lights_mark,
    mixed_file,
    mixed_lights,
    power_edits,
    take_by_light,
)
from tapemark.store.light_files import (
    ALIGNED,
    BRIGHTEST,
    MOST_FILES,
    LightFile,
    forget_oldest,
    light_file,
    read_light_file,
    write_light_file,
)
from tapemark.studio import changed, setup_from_toml

SETUP = setup_from_toml(demo_setup_text("quillmere-troubled"))
SMALL = LightsWanted(rows=50)
HALF = 2.0**-11  # half the last place of a half float, as a share
LEAST = 2.0**-25  # half the smallest step of a half float
STOP_STEP = 0.1  # in which powers are turned [stops]
A_STEP = 1.01 / 255


@pytest.fixture(autouse=True)
def cache(tmp_path, monkeypatch):
    monkeypatch.setenv("TAPEMARK_CACHE", str(tmp_path))
    return tmp_path


def kept(images, mark="abcdef0123", names=("key", "fill"), powers=(-3.0, 0.0)):
    return LightFile(mark=mark, names=names, powers=powers, images=np.asarray(images))


IMAGES = np.random.default_rng(5).random((2, 3, 4, 3), dtype=np.float32) * 2.0


@given(
    st.floats(0.0, 1e6, width=32).flatmap(
        lambda most: arrays(np.float32, (2, 2, 3, 3), elements=st.floats(0.0, most, width=32))
    )
)
def test_what_is_kept_comes_back_to_half_precision(tmp_path_factory, images):
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TAPEMARK_CACHE", str(tmp_path_factory.mktemp("cache")))
        path = write_light_file(kept(images))
        found = read_light_file(path)
    assert found is not None
    assert (found.names, found.powers, found.fine) == (("key", "fill"), (-3.0, 0.0), False)
    wanted = np.minimum(images, BRIGHTEST)
    np.testing.assert_allclose(found.images, wanted, rtol=HALF, atol=LEAST)


def test_the_numbers_begin_where_a_browser_can_read_them():
    raw = write_light_file(kept(IMAGES, names=("ké", "f"))).read_bytes()
    begin = raw.index(b"\n") + 1
    assert begin % ALIGNED == 0
    assert len(raw) - begin == 2 * IMAGES.size


@pytest.mark.parametrize("spoil", [b"", b"{}\n", b"\xff\n", b'{"format": 1}\n'])
def test_what_cannot_be_read_is_taken_anew(spoil):
    path = write_light_file(kept(IMAGES))
    path.write_bytes(spoil)
    assert read_light_file(path) is None
    write_light_file(kept(IMAGES))
    path.write_bytes(path.read_bytes()[:-2])
    assert read_light_file(path) is None
    assert kept_lights("0" * 20) is None


@pytest.mark.parametrize(
    "mark", ["", "../../etc/hosts", "ABC", "a" * 65, "0123/4567", "01234567\n"]
)
def test_a_mark_names_no_file_elsewhere(mark):
    with pytest.raises(FileError):
        light_file(mark)


def test_the_oldest_are_forgotten(monkeypatch):
    monkeypatch.setattr("tapemark.store.light_files.MOST_FILES", 3)
    assert MOST_FILES > 3
    for number in range(6):
        write_light_file(kept(IMAGES, mark=f"{number:08x}"))
    forget_oldest()
    left = [number for number in range(6) if light_file(f"{number:08x}").exists()]
    assert len(left) == 3
    assert 5 in left


# ---------------------------------------------------------------------------- light adds up


@given(st.lists(st.floats(-3.0, 3.0), min_size=2, max_size=2))
def test_the_mix_is_the_sum_of_the_lights(stops):
    found = kept(IMAGES)
    alone = [
        mixed_lights(kept(IMAGES[k : k + 1], names=("one",), powers=(0.0,)), stops[k : k + 1])
        for k in (0, 1)
    ]
    np.testing.assert_allclose(mixed_lights(found, stops), sum(alone), rtol=1e-6)


def test_a_stop_is_twice_the_light_and_what_is_not_named_stays():
    found = kept(IMAGES)
    once, twice = mixed_lights(found, []), mixed_lights(found, [1.0, 1.0])
    np.testing.assert_allclose(once, IMAGES.sum(axis=0), rtol=1e-6)
    np.testing.assert_allclose(twice, 2.0 * once, rtol=1e-6)
    np.testing.assert_allclose(mixed_lights(found, [-12.0]), once - IMAGES[0], atol=2 / 2**12)


def test_a_saved_picture_is_the_mix_developed():
    write_light_file(kept(IMAGES))
    raw = mixed_file("abcdef0123", [0.5, -1.0], form="png", about="two lights")
    assert raw is not None
    image = Image.open(io.BytesIO(raw))
    found = kept_lights("abcdef0123")
    assert found is not None
    assert np.array_equal(np.asarray(image), developed(mixed_lights(found, [0.5, -1.0])))
    assert image.info["Description"] == "two lights"
    assert mixed_file("9" * 20, [], form="png", about="") is None


# ---------------------------------------------------------------------------- marks and powers


def edited(*edits):
    return apply_edits(SETUP, list(edits))


SAME = [
    {"set": "light.key.power", "value": "1/4"},
    {"set": "title", "value": "another name"},
]
OTHER = [
    {"set": "light.key.place.height", "value": "1.9 m"},
    {"set": "camera.aperture", "value": "f/11"},
    {"set": "light.fill.on", "value": False},
    {"turn": "sitter.head", "deg": 12},
]


@pytest.mark.parametrize("edit", SAME)
def test_powers_and_names_need_no_new_picture(edit):
    assert lights_mark(edited(edit), SMALL) == lights_mark(SETUP, SMALL)


@pytest.mark.parametrize("edit", OTHER)
def test_whatever_else_changes_needs_one(edit):
    assert lights_mark(edited(edit), SMALL) != lights_mark(SETUP, SMALL)


def test_what_is_seen_differently_is_kept_apart():
    seen = [SMALL, LightsWanted(rows=50, glasses=True), LightsWanted(rows=50, clay=True)]
    assert len({lights_mark(SETUP, one) for one in (*seen, LightsWanted())}) == 4


def test_the_same_exposure_leaves_light_and_place_alone():
    bright = edited({"set": "camera.aperture", "value": "f/4"}, {"set": "camera.iso", "value": 400})
    found = as_exposed(bright, SETUP.camera)
    assert found == SETUP


@given(st.integers(-30, 30))
def test_turned_powers_are_set_as_they_were_turned(tenths):
    change = tenths * STOP_STEP
    before = {one.name: one.power_stops for one in SETUP.lights}["key"]
    lowest = {one.name: one.head.lowest_power_stops for one in SETUP.lights}["key"]
    wanted = round(before + change, 1)
    if not lowest <= wanted <= 0.0:
        with pytest.raises(SetupError, match="key"):
            power_edits(SETUP, {"key": change})
        return
    after = apply_edits(SETUP, power_edits(SETUP, {"key": change}))
    powers = {one.name: one.power_stops for one in after.lights}
    assert powers["key"] == pytest.approx(wanted)
    fill = next(one for one in SETUP.lights if one.name == "fill")
    assert powers["fill"] == fill.power_stops


def test_a_light_that_is_not_there_cannot_be_turned():
    with pytest.raises(SetupError, match="nobody"):
        power_edits(SETUP, {"nobody": 1.0})


# ---------------------------------------------------------------------------- taking it


def looking(seen, *, stopped=lambda: False):
    return Looking(
        tell=lambda text, share: seen.append((text, share)),
        show=lambda look: seen.append(look),
        stopped=stopped,
    )


@pytest.mark.parametrize(
    ("sensor", "orientation", "size"),
    [
        ("full frame", "portrait", (33, 50)),
        ("full frame", "landscape", (50, 33)),
        ("four thirds", "portrait", (38, 50)),  # 13.0 / 17.3 of 50: 37.6
        ("100 x 5 mm", "landscape", (50, 16)),
    ],
)
def test_the_whole_frame_has_the_shape_of_the_sensor(sensor, orientation, size):
    camera = changed(SETUP.camera, {"sensor": sensor, "orientation": orientation})
    about = lights_as_plain(changed(SETUP, {"camera": camera}), SMALL)
    assert (about["columns"], about["rows"]) == size


def test_looks_come_first_then_the_lights_which_are_there_at_once_next_time():
    told: list = []
    found = take_by_light(SETUP, SMALL, looking=looking(told))
    assert found is not None
    looks = [one for one in told if isinstance(one, LightFile)]
    shares = [one[1] for one in told if isinstance(one, tuple)]
    assert looks
    assert all(one.names == ("",) for one in looks)
    assert shares == sorted(shares)
    assert found.names == ("key", "fill")
    assert found.images.shape == (2, 50, 33, 3)  # as upright as the sensor: 24 × 36 mm
    # what is seen on the way is the same picture, but for the noise of so few samples
    rough, whole = looks[-1].images[0].astype(float).mean(), mixed_lights(found, []).mean()
    assert rough == pytest.approx(whole, rel=0.1)

    told.clear()
    again = take_by_light(SETUP, SMALL, looking=looking(told))
    assert told == []
    assert again is not None
    np.testing.assert_allclose(again.images, found.images, rtol=HALF, atol=LEAST)

    about = lights_as_plain(changed(SETUP, {"title": "again"}), SMALL)
    assert about["kept"] == {"fine": False}
    assert [one["name"] for one in about["lights"]] == ["key", "fill"]
    louder = apply_edits(SETUP, power_edits(SETUP, {"key": 1.0}))
    assert lights_as_plain(louder, SMALL)["mark"] == again.mark  # turned, not taken again


def test_in_the_dark_one_is_told_what_is_missing():
    dark = changed(SETUP, {"lights": tuple(changed(one, {"on": False}) for one in SETUP.lights)})
    with pytest.raises(SetupError, match="switch a light on"):
        take_by_light(dark, SMALL, looking=looking([]))


def test_a_picture_that_nobody_waits_for_is_not_kept():
    told: list = []
    assert take_by_light(SETUP, SMALL, looking=looking(told, stopped=lambda: True)) is None
    assert kept_lights(lights_mark(SETUP, SMALL)) is None
