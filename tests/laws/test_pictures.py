"""What must hold of pictures whatever they show: light adds up, white stays white."""

import io
import json
import subprocess
import sys
import threading
import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.errors import FileError
from tapemark.photometry import black_body_xyz
from tapemark.rendering import Dropped, LightBook, Patience, developed, image_bytes
from tapemark.rendering.black_bodies import black_body_color
from tapemark.rendering.meshes import cap_mesh, polygon_mesh
from tapemark.rendering.parts import LUMINANCE
from tapemark.rendering.pixels import blurred, larger
from tapemark.rendering.source_colors import balanced
from tapemark.rendering.variants import PLAIN, choose_variant
from tapemark.rendering.view import View, Window

IMAGES = np.random.default_rng(3).random((3, 4, 5, 3), dtype=np.float32)
BOOK = LightBook(names=("key", "fill", "room lamps"), images=IMAGES, powers=(-3.0, -2.0, 0.0))


def test_lights_as_they_are_add_up_to_the_picture() -> None:
    np.testing.assert_allclose(BOOK.mixed(), IMAGES.sum(axis=0), rtol=1e-6)


@given(stops=st.floats(-6.0, 6.0))
def test_a_light_turned_up_is_that_many_times_its_own_picture(stops: float) -> None:
    more = BOOK.mixed({"fill": stops}) - BOOK.mixed()
    np.testing.assert_allclose(more, (2.0**stops - 1.0) * IMAGES[1], rtol=1e-3, atol=1e-4)


def test_powers_of_a_changed_setup_become_weights() -> None:
    assert BOOK.changes_to({"key": -1.0, "fill": -2.0, "hair": 0.0}) == {"key": 2.0, "fill": 0.0}


def test_lights_in_a_folder_come_back_as_they_were(tmp_path) -> None:
    written = BOOK.write(tmp_path / "lights")
    assert [one.name for one in written] == [
        "01-key.exr",
        "02-fill.exr",
        "03-room-lamps.exr",
        "lights.json",
    ]
    again = LightBook.read(tmp_path / "lights")
    assert (again.names, again.powers) == (BOOK.names, BOOK.powers)
    np.testing.assert_allclose(again.images, IMAGES, rtol=1e-6)


ONE_THREAD = """
import sys, drjit, mitsuba, numpy as np
from pathlib import Path
from tapemark.rendering import LightBook
mitsuba.set_variant("scalar_rgb")
drjit.set_thread_count(1)
book = LightBook(names=("key",), images=np.ones((1, 40, 50, 3), dtype=np.float32))
book.write(Path(sys.argv[1]))
assert drjit.thread_count() == 1
LightBook.read(Path(sys.argv[1]))
"""


def test_lights_are_written_and_read_where_the_tracer_has_one_thread(tmp_path) -> None:
    done = subprocess.run([sys.executable, "-c", ONE_THREAD, str(tmp_path)], timeout=120)
    assert done.returncode == 0


@pytest.mark.parametrize("text", ["", "[]", json.dumps({"lights": [{"name": "key"}]})])
def test_a_folder_without_readable_lights_is_refused_with_what_to_do(tmp_path, text) -> None:
    (tmp_path / "lights.json").write_text(text)
    with pytest.raises(FileError, match="--lights FOLDER"):
        LightBook.read(tmp_path)


@given(kelvin=st.floats(2000.0, 12_000.0))
def test_light_of_the_colour_the_camera_is_set_to_comes_out_white(kelvin: float) -> None:
    red, green, blue = balanced(kelvin, white_k=kelvin)
    np.testing.assert_allclose([red, green, blue], 1.0, atol=2e-3)


def test_warmer_light_than_the_white_balance_comes_out_redder() -> None:
    red, _, blue = balanced(3000.0, white_k=5500.0)
    assert red > 1.3 > 0.6 > blue
    assert np.argmax(balanced(9000.0, white_k=5500.0)) == 2


def test_an_eighteen_percent_card_comes_out_at_118_of_255_and_white_clips() -> None:
    values = np.array([[0.18, 0.18, 0.18], [1.0, 1.0, 1.0], [7.0, 0.0, -1.0], [np.nan, 1.0, 1.0]])
    assert developed(values).tolist() == [
        [118, 118, 118],
        [255, 255, 255],
        [255, 0, 0],
        [0, 255, 255],
    ]


def test_curve_never_falls() -> None:
    ramp = developed(np.repeat(np.linspace(0.0, 1.2, 4000)[:, None], 3, axis=1))[:, 0].astype(int)
    assert np.all(np.diff(ramp) >= 0)


def test_picture_files_tell_what_they_show() -> None:
    from PIL import Image

    values = np.full((6, 4, 3), 0.18)
    image = Image.open(io.BytesIO(image_bytes(values, suffix=".png", about="a card")))
    assert (image.size, image.info["Description"]) == ((4, 6), "a card")
    assert np.asarray(image)[0, 0].tolist() == [118, 118, 118]
    again = Image.open(io.BytesIO(image_bytes(values, suffix=".jpg", about="a card")))
    assert again.getexif()[0x010E] == "a card"


def test_shares_of_the_colours_make_up_all_luminance() -> None:
    np.testing.assert_allclose(LUMINANCE.sum(), 1.0, atol=1e-4)


def test_a_preview_needs_no_trial_of_compiled_variants() -> None:
    found = choose_variant("preview", cache=None)
    assert found.name == PLAIN
    assert "preview" in found.reason


def test_a_large_picture_is_traced_by_the_variant_that_needs_little_memory() -> None:
    found = choose_variant("final", cache=None, pixels=4_000_000)
    assert found.name == PLAIN
    assert "memory" in found.reason


def test_a_known_outcome_of_the_trials_is_used_and_a_spoiled_file_is_not(tmp_path, monkeypatch):
    from tapemark.rendering import variants

    tried: list[str] = []
    monkeypatch.setattr(variants, "_seconds", tried.append)
    assert choose_variant("final", cache=tmp_path).name == PLAIN
    assert tried == list(variants.COMPILED)
    assert choose_variant("final", cache=tmp_path).name == PLAIN
    assert len(tried) == len(variants.COMPILED)  # not tried again
    next(tmp_path.iterdir()).write_text("spoiled")
    assert choose_variant("final", cache=tmp_path).name == PLAIN
    assert len(tried) == 2 * len(variants.COMPILED)


@pytest.mark.parametrize(("seconds", "name"), [(1.0, "llvm_ad_rgb"), (1.9, PLAIN)])
def test_a_compiled_variant_has_to_be_clearly_faster(seconds, name, monkeypatch) -> None:
    from tapemark.rendering import variants

    took = {"cuda_ad_rgb": None, "llvm_ad_rgb": seconds, PLAIN: 2.0}
    monkeypatch.setattr(variants, "_seconds", took.get)
    found = choose_variant("final", cache=None, pixels=900_000, samples=256)
    assert found.name == name
    assert ("faster in a trial" in found.reason) == (name != PLAIN)


def test_a_picture_that_is_done_before_another_is_compiled_is_traced_by_the_plain(monkeypatch):
    from tapemark.rendering import variants

    took = {"cuda_ad_rgb": 0.005, "llvm_ad_rgb": None, PLAIN: 0.256}  # as one NVIDIA H100 took
    monkeypatch.setattr(variants, "_seconds", took.get)
    short = choose_variant("final", cache=None, pixels=480 * 600, samples=64)
    assert short.name == PLAIN
    assert "about 4 s" in short.reason
    long = choose_variant("final", cache=None, pixels=900_000, samples=1024)
    assert long.name == "cuda_ad_rgb"


@pytest.mark.parametrize("forwards", [True, False])
def test_bowls_and_polygons_face_along_their_axis(forwards) -> None:
    axes = np.stack([[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]], axis=-1)
    bowl = cap_mesh(np.zeros(3), axes=axes, radius_m=0.5, depth_m=0.1, forwards=forwards)
    apex = bowl.points[0] @ axes[:, 1]
    np.testing.assert_allclose(apex, 0.1 if forwards else -0.1, atol=1e-9)
    square = np.array([[0.0, -1.0, -1.0], [0.0, 1.0, -1.0], [0.0, 1.0, 1.0], [0.0, -1.0, 1.0]])
    flat = polygon_mesh(square, facing=axes[:, 1])
    for mesh in (bowl, flat):
        corners = mesh.points[mesh.triangles]
        facets = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        assert (facets @ axes[:, 1]).min() > -1e-12


class Passes:
    """A tracer that is asked to stop while it traces its third pass."""

    plain = True

    def __init__(self) -> None:
        self.traced = 0

    def stopped(self) -> bool:
        return self.traced >= 3


def test_a_pass_that_was_cut_short_is_left_out(monkeypatch) -> None:
    from tapemark.rendering import EFFORTS, Photographer, Watching
    from tapemark.rendering.stage import Lighting

    passes, seen = Passes(), []

    def base(_self, _face, *, samples, seed):
        passes.traced += 1
        return np.full((2, 2, 3), 1.0 if passes.traced < 3 else 0.0)

    photographer = object.__new__(Photographer)
    photographer.effort, photographer.seed = EFFORTS["final"], 0
    photographer.watching = Watching(stopped=passes.stopped)
    photographer.window = type("Window", (), {"rows": 2, "columns": 2})()
    photographer.stage = type("Stage", (), {"tracer": passes})()
    monkeypatch.setattr(Photographer, "_base", base)
    monkeypatch.setattr(Photographer, "face_scene", lambda _self, _light: None)
    monkeypatch.setattr(
        Photographer, "_finished", lambda _self, image, layers, *, last: seen.append(last) or image
    )
    monkeypatch.setattr(Photographer, "_traced", lambda _self, light, face, *, samples: ())
    monkeypatch.setattr(Photographer, "_values", lambda _self, image: image)
    monkeypatch.setattr(Lighting, "dark", property(lambda _self: False))
    light = Lighting(room=(), faces=())
    (shot,) = photographer._lit(light, name="key")
    assert shot.samples == 2 * EFFORTS["final"].each_pass
    assert not shot.complete
    np.testing.assert_allclose(shot.values, 1.0)
    assert seen == [True]


def test_work_nobody_wants_any_more_is_left_within_a_third_of_a_second() -> None:
    wanted, ended = threading.Event(), threading.Event()
    patience = Patience(dropped=lambda: not wanted.is_set())
    wanted.set()
    assert patience.during(lambda: "answer") == "answer"
    with pytest.raises(ZeroDivisionError):
        patience.during(lambda: 1 // 0)
    wanted.clear()
    began = time.monotonic()
    with pytest.raises(Dropped):
        patience.during(lambda: ended.wait(5.0), cancel=ended.set)
    assert time.monotonic() - began < 0.3
    assert ended.is_set()  # work that can be cancelled was


@given(diameter=st.floats(0.0, 9.0))
def test_blur_spreads_light_and_loses_none(diameter: float) -> None:
    values = np.zeros((31, 29, 2))
    values[15, 14] = 3.0, 0.5
    spread = blurred(values, diameter=diameter)
    np.testing.assert_allclose(spread.sum(axis=(0, 1)), [3.0, 0.5], rtol=1e-9)
    rows, columns = np.nonzero(spread[..., 0] > 1e-9)
    assert np.hypot(rows - 15, columns - 14).max() <= diameter / 2.0 + 0.5


def test_more_pixels_show_the_same_picture() -> None:
    ramp = np.repeat(np.linspace(0.0, 1.0, 7)[:, None, None], 3, axis=2) * np.ones((1, 5, 1))
    found = larger(ramp, shape=(20, 9))
    assert found.shape == (20, 9, 3)
    assert np.all(np.diff(found[:, 4, 0]) >= 0.0)
    np.testing.assert_allclose(found.mean(), 0.5, atol=1e-6)


def test_a_point_out_of_focus_is_as_wide_as_the_pencil_through_the_aperture() -> None:
    view = View(position=np.zeros(3), axes=np.eye(3), half_width=0.5, aperture_m=0.04, focus_m=2.0)
    window = Window(view=view, whole_size=(100, 80), left=0, top=0, columns=100, rows=80)
    assert window.blur(np.array([0.3, 2.0, 0.0])) == 0.0
    # Similar triangles: 4 cm wide at the lens, so at twice the distance 4 cm on the plane in
    # focus, where half the field of 100 pixels is 1 m.
    np.testing.assert_allclose(window.blur(np.array([0.0, 1.0, 0.0])), 0.04 * 50.0)
    assert window.blur(np.array([0.0, -1.0, 0.0])) == 0.0


@given(kelvin=st.floats(1000.0, 40_000.0))
def test_black_bodies_have_the_colour_that_the_library_gives_them(kelvin: float) -> None:
    np.testing.assert_allclose(black_body_color(kelvin), black_body_xyz(kelvin), rtol=1e-5)


def test_people_that_were_kept_come_back_as_they_were_built(tmp_path) -> None:
    from tapemark.analysis import build_scenes
    from tapemark.rendering.kept_people import kept_person
    from tapemark.services import demo_setup_text
    from tapemark.studio import setup_from_toml

    setup = setup_from_toml(demo_setup_text("quillmere-cured"), name="demo")
    scene = build_scenes(setup)[0]
    built = kept_person(scene, fineness=0.3, folder=tmp_path)
    (file,) = tmp_path.iterdir()
    again = kept_person(scene, fineness=0.3, folder=tmp_path)
    assert [one.name for one in again.body] == [one.name for one in built.body]
    for one, other in zip((*built.body, *built.frame), (*again.body, *again.frame), strict=True):
        assert (one.kind, one.both_sides) == (other.kind, other.both_sides)
        np.testing.assert_array_equal(one.mesh.points, other.mesh.points)
        np.testing.assert_array_equal(one.mesh.triangles, other.mesh.triangles)
        np.testing.assert_array_equal(one.mesh.normals, other.mesh.normals)
        assert (one.material.colors is None) == (other.material.colors is None)
        assert one.material.color == other.material.color
    file.write_bytes(b"spoiled")
    assert len(kept_person(scene, fineness=0.3, folder=tmp_path).body) == len(built.body)
    kept_person(scene, fineness=0.35, folder=tmp_path)
    assert len(list(tmp_path.iterdir())) == 2


KEEPING = """
import sys
from pathlib import Path
from tapemark.analysis import build_scenes
from tapemark.rendering.kept_people import kept_person
from tapemark.services import demo_setup_text
from tapemark.studio import setup_from_toml
setup = setup_from_toml(demo_setup_text("quillmere-cured"), name="demo")
kept_person(build_scenes(setup)[0], fineness=0.1, folder=Path(sys.argv[1]))
"""


def test_people_that_one_process_kept_another_finds(tmp_path) -> None:
    for _ in range(2):
        done = subprocess.run([sys.executable, "-c", KEEPING, str(tmp_path)], timeout=120)
        assert done.returncode == 0
    assert len(list(tmp_path.iterdir())) == 1


def test_whoever_differs_is_kept_apart(tmp_path) -> None:
    from tapemark.analysis import build_scenes
    from tapemark.rendering.kept_people import kept_person
    from tapemark.services import demo_setup_text
    from tapemark.studio import setup_from_toml

    text = demo_setup_text("quillmere-cured")
    edits = [
        ("age = 43", "age = 44"),
        ('lens_width = "52 mm"', 'lens_width = "51 mm"'),
        ('eye_height = "1.20 m"', 'eye_height = "1.21 m"'),
        ("Ines, reader services", "Ines, archive"),
    ]
    for old, new in [("", ""), *edits]:
        assert old in text
        scene = build_scenes(setup_from_toml(text.replace(old, new), name="demo"))[0]
        kept_person(scene, fineness=0.1, folder=tmp_path)
    assert len(list(tmp_path.iterdir())) == 1 + len(edits)


def test_the_tracer_has_the_numbers_of_a_mesh() -> None:
    from tapemark.rendering import load_tracer
    from tapemark.rendering.meshes import Mesh
    from tapemark.rendering.tracer import matt

    rng = np.random.default_rng(5)
    points, normals, colors = (rng.random((6, 3)) for _ in range(3))
    mesh = Mesh(points=points, triangles=np.array([[0, 1, 2], [3, 4, 5]]), normals=normals)
    tracer = load_tracer(PLAIN, origin=np.array([0.1, 0.2, 0.3]))
    loaded = tracer.mesh(mesh, matt((0.5, 0.5, 0.5)), colors=colors)
    fields = tracer.module.traverse(loaded)
    wanted = {
        "vertex_positions": tracer.to_scene(points),
        "vertex_normals": normals,
        "vertex_color": colors,
        "faces": mesh.triangles,
    }
    for name, values in wanted.items():
        np.testing.assert_allclose(np.array(fields[name]), values.ravel(), rtol=1e-6, atol=1e-4)
    box = loaded.bbox()  # worked out anew, mm
    np.testing.assert_allclose(box.min, tracer.to_scene(points).min(axis=0), atol=1e-4)
    np.testing.assert_allclose(box.max, tracer.to_scene(points).max(axis=0), atol=1e-4)
