"""A setup written and read again is the same setup, as TOML, as JSON and in both systems."""

import json
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.studio import (
    GEL_PRESETS,
    GLASSES_PRESETS,
    HEAD_PRESETS,
    MODIFIER_PRESETS,
    STAND_PRESETS,
    Appearance,
    Backdrop,
    Camera,
    Circuit,
    Companion,
    FaceMeasures,
    Gel,
    Glasses,
    Head,
    Light,
    Meter,
    Modifier,
    Panel,
    Place,
    Prescription,
    Room,
    Screen,
    Setup,
    Sitter,
    Spot,
    Stand,
    Window,
    setup_from_mapping,
    setup_from_toml,
    setup_to_mapping,
    setup_to_toml,
)

INCH_M = 0.0254
NAMES = st.text(
    st.characters(exclude_categories=("C", "Z")) | st.just(" "), min_size=1, max_size=30
).filter(lambda name: name == name.strip() and name.isprintable())


def between(low: float, high: float, *, step: float = INCH_M) -> st.SearchStrategy[float]:
    """Return numbers as they are measured: whole steps, or any float."""
    steps = st.integers(int(low / step) + 1, int(high / step)).map(lambda count: count * step)
    return st.floats(low, high) | steps


def maybe(**fields: st.SearchStrategy) -> st.SearchStrategy[dict]:
    """Return any choice of some fields, the others left to their defaults."""
    return st.fixed_dictionaries({}, optional=fields)


def built(model: type, needed: dict, optional: dict | None = None) -> st.SearchStrategy:
    return st.fixed_dictionaries(needed, optional=optional or {}).map(
        lambda values: model(**values)
    )


# Inside the smallest of the rooms below, and clear of the sitter.
PLACES = built(
    Place,
    {"distance_m": between(0.6, 1.4), "height_m": between(0.0, 2.3)},
    {"side_deg": between(-180.0, 180.0, step=5.0)},
)
AIMS = st.sampled_from(["face", "ceiling", "wall behind", "wall camera-left"]) | built(
    Place, {"distance_m": between(3.0, 4.0), "height_m": between(0.0, 2.0)}
)
SHARES = st.floats(0.02, 0.8)
PRESCRIPTIONS = built(
    Prescription,
    {"sphere_d": between(-12.0, 8.0, step=0.25)},
    {"cylinder_d": between(-4.0, 0.0, step=0.25), "axis_deg": st.integers(0, 180).map(float)},
)
FITS = {
    "name": NAMES,
    "base_curve_d": between(0.0, 10.0, step=0.25),
    "pantoscopic_tilt_deg": between(0.0, 15.0, step=0.5),
    "face_form_deg": between(-5.0, 20.0, step=0.5),
    "vertex_distance_mm": between(8.0, 20.0, step=0.5),
    "right": PRESCRIPTIONS,
    "left": PRESCRIPTIONS,
    "rim": st.sampled_from(["full", "half", "none"]),
    "rim_width_mm": between(0.0, 8.0, step=0.1),
    "index": st.floats(1.4, 2.0),
    "slipped_mm": between(0.0, 10.0, step=0.5),
    "tint_transmission": SHARES,
}
GLASSES = built(Glasses, {"preset": st.sampled_from(sorted(GLASSES_PRESETS))}, FITS) | built(
    Glasses,
    {
        "lens_width_mm": between(45.0, 60.0, step=1.0),
        "lens_height_mm": between(28.0, 50.0, step=1.0),
        "bridge_mm": between(14.0, 24.0, step=1.0),
    },
    FITS | {"pupil_height_mm": between(5.0, 27.0, step=0.5)},
)
SITTERS = built(
    Sitter,
    {},
    {
        "name": NAMES,
        "eye_height_m": between(1.0, 1.4),
        "seat_height_m": between(0.3, 0.7),
        "body_height_m": between(1.3, 1.7),
        "turn_deg": between(-60.0, 60.0, step=5.0),
        "chin_deg": between(-20.0, 20.0, step=1.0),
        "tip_deg": between(-20.0, 20.0, step=1.0),
        "gaze": st.sampled_from(["camera", "ahead"]),
        "skin_reflectance": SHARES,
        "age_years": st.integers(3, 120),
        "pupil_mm": between(2.0, 8.0, step=0.1),
        "face": built(FaceMeasures, {}, {"interpupillary_mm": between(55.0, 70.0, step=0.5)}),
        "glasses": GLASSES,
        "light_sensitive": st.booleans(),
        "photosensitive": st.booleans(),
        "look": built(
            Appearance,
            {},
            {
                "hair": st.sampled_from(["short", "long", "bald"]),
                "hair_color": st.sampled_from(["dark brown", "grey"]),
                "clothes": st.sampled_from(["navy", "white"]),
                "collar": st.booleans(),
            },
        ),
    },
)
COMPANIONS = built(
    Companion,
    {
        "name": st.just("the other one"),
        "across_m": between(0.4, 1.2),
        "eye_height_m": between(1.0, 1.4),
    },
    {"back_m": between(0.0, 0.8), "turn_deg": between(-60.0, 60.0, step=5.0), "glasses": GLASSES},
)
CAMERAS = built(
    Camera,
    {"place": PLACES, "focal_length_mm": between(20.0, 300.0, step=5.0)},
    {
        "aim": st.just("face"),
        "sensor": st.sampled_from(["full frame", "APS-C", "36 x 24 mm"]),
        "orientation": st.sampled_from(["portrait", "landscape"]),
        "aperture": st.floats(0.7, 128.0),
        "shutter_s": st.integers(1, 8000).map(lambda count: 1 / count) | st.floats(0.001, 60.0),
        "iso": st.integers(25, 102400),
        "sync_s": st.integers(60, 500).map(lambda count: 1 / count),
        "circle_of_confusion_mm": st.floats(0.005, 0.1),
        "white_balance_k": st.floats(2500.0, 9000.0),
        "frame_interval_s": st.floats(0.1, 10.0),
        "framing": st.sampled_from(["tight head", "half length", "group"]),
    },
)
HEADS = built(Head, {"preset": st.sampled_from(sorted(HEAD_PRESETS))}) | built(
    Head,
    {"energy_j": st.floats(1.0, 5000.0)},
    {
        "efficacy_lm_per_w": st.floats(15.0, 50.0),
        "color_k": st.floats(2000.0, 9000.0),
        "guide_number_m": between(10.0, 80.0),
        "lowest_power_stops": between(-9.0, 0.0, step=1.0),
        "power_step_stops": st.sampled_from([0.1, 1 / 3, 0.5, 1.0]),
        "mains_w": st.floats(0.0, 2000.0),
        "weight_kg": between(0.3, 8.0, step=0.45359237),
    },
)
GELS = built(Gel, {"preset": st.sampled_from(sorted(GEL_PRESETS))}) | built(
    Gel,
    {"shift_mired": st.floats(-200.0, 200.0)},
    {"name": NAMES, "loss_stops": st.floats(0.0, 4.0)},
)
METERS = built(
    Meter,
    {"aperture": st.floats(1.0, 64.0), "distance_m": between(0.5, 4.0)},
    {"power_stops": between(-6.0, 0.0, step=1.0), "receptor": st.sampled_from(["flat", "dome"])},
)
STANDS = built(Stand, {"preset": st.sampled_from(sorted(STAND_PRESETS))}) | built(
    Stand,
    {"kind": st.sampled_from(["stand", "boom"])},
    {
        "weight_kg": between(1.0, 20.0, step=0.45359237),
        "ballast_kg": between(0.0, 20.0, step=0.45359237),
        "boom_out_m": between(0.0, 2.0),
        "base": built(Spot, {"distance_m": between(0.5, 3.0)}, {"side_deg": between(-90.0, 90.0)}),
    },
)
MODIFIERS = (
    built(Modifier, {"preset": st.sampled_from(sorted(MODIFIER_PRESETS))}, {"efficiency": SHARES})
    | built(
        Modifier,
        {
            "kind": st.sampled_from(["softbox", "strip", "bare"]),
            "width_m": between(0.05, 1.5),
            "height_m": between(0.05, 1.5),
        },
        {"depth_m": between(0.0, 1.0)},
    )
    | built(
        Modifier,
        {
            "kind": st.sampled_from(["octagonal box", "beauty dish", "bare"]),
            "diameter_m": between(0.1, 2.0),
        },
        {"beam_deg": between(20.0, 120.0, step=5.0)},
    )
)
SIZED = {"name": NAMES, "width_m": between(0.1, 1.0), "height_m": between(0.1, 1.0)}
LIGHTS = built(
    Light,
    {"name": NAMES, "head": HEADS, "modifier": MODIFIERS, "place": PLACES},
    {
        "aim": AIMS,
        "power_stops": between(-9.0, 0.0, step=1.0),
        "on": st.booleans(),
        "gel": GELS,
        "stand": STANDS,
    },
)
METERED = built(
    Light,
    {
        "name": NAMES,
        "head": built(Head, {"kind": st.just("flash")}),
        "modifier": MODIFIERS,
        "place": PLACES,
        "meter": METERS,
    },
)
PANELS = built(Panel, SIZED | {"place": PLACES}, {"aim": AIMS, "reflectance": SHARES})
SCREENS = built(Screen, SIZED | {"place": PLACES}, {"luminance_cd_m2": st.floats(0.0, 1000.0)})
WINDOWS = built(
    Window,
    SIZED | {"wall": st.sampled_from(["behind sitter", "camera-left"])},
    {"along_m": between(-0.5, 0.5), "luminance_cd_m2": st.floats(0.0, 1e5)},
)
BACKDROPS = built(
    Backdrop,
    {"distance_m": between(0.3, 1.5), "width_m": between(0.5, 2.0), "height_m": between(1.0, 2.3)},
    {"reflectance": SHARES, "look": st.sampled_from(["white", "as seen", "black"])},
)
CIRCUITS = built(
    Circuit,
    {"name": NAMES, "voltage_v": st.floats(100.0, 240.0), "breaker_a": st.floats(5.0, 32.0)},
    {"outlet": built(Spot, {"distance_m": between(1.0, 3.0)})},
)
ROOMS = built(
    Room,
    {
        "width_m": between(4.0, 9.0),
        "length_m": between(6.0, 12.0),
        "height_m": between(2.4, 5.0),
        "behind_sitter_m": between(1.5, 2.5),
    },
    {
        "camera_left_m": between(1.5, 2.0),
        "ceiling_reflectance": SHARES,
        "ambient_lx": st.floats(0.0, 1000.0),
    },
)


@st.composite
def setups(draw: st.DrawFn) -> Setup:
    """Return any valid setup with things of all kinds."""
    lists = {
        "lights": draw(st.lists(LIGHTS | METERED, max_size=3)),
        "panels": draw(st.lists(PANELS, max_size=1)),
        "windows": draw(st.lists(WINDOWS, max_size=1)),
        "screens": draw(st.lists(SCREENS, max_size=1)),
    }
    seen: set[str] = set()
    for field, things in lists.items():
        kept = []
        for thing in things:
            if thing.name.casefold() not in seen:
                seen.add(thing.name.casefold())
                kept.append(thing)
        lists[field] = tuple(kept)
    fields = {"room": draw(ROOMS), "camera": draw(CAMERAS), **lists}
    fields |= draw(
        maybe(
            title=NAMES,
            units=st.sampled_from(["metric", "us"]),
            sitter=SITTERS,
            backdrop=BACKDROPS,
            companions=st.lists(COMPANIONS, max_size=1).map(tuple),
            circuits=st.lists(CIRCUITS, max_size=1).map(tuple),
        )
    )
    return Setup(**fields)


@given(setup=setups())
def test_toml_reads_back_as_the_same_setup(setup):
    again = setup_from_toml(setup_to_toml(setup))
    assert again == setup
    assert again.notes == setup.notes
    assert again.assumptions == setup.assumptions


@given(setup=setups())
def test_json_reads_back_as_the_same_setup(setup):
    assert setup_from_mapping(json.loads(json.dumps(setup_to_mapping(setup)))) == setup


@given(setup=setups())
def test_writing_twice_gives_the_same_text(setup):
    text = setup_to_toml(setup)
    assert setup_to_toml(setup_from_toml(text)) == text


@given(setup=setups())
def test_the_system_changes_the_text_but_not_the_setup(setup):
    for system in ("metric", "us"):
        mapping = setup_to_mapping(setup) | {"units": system}
        assert setup_from_mapping(mapping).lights == setup.lights


def test_us_setup_is_written_in_feet_and_inches():
    text = """
        units = "us"
        [room]
        width = "18 ft"
        length = "23 ft"
        height = "9 ft"
        [camera]
        place = { distance = "6 ft 7 in", height = "47 in" }
        focal_length = "85 mm"
    """
    written = tomllib.loads(setup_to_toml(setup_from_toml(text)))
    assert written["room"] == {"width": "18 ft", "length": "23 ft", "height": "9 ft"}
    assert written["camera"]["place"] == {"distance": "6 ft 7 in", "height": "3 ft 11 in"}
    assert written["camera"]["focal_length"] == "85 mm"


def test_what_was_not_stated_stays_unstated():
    glasses = Glasses(preset="sport wrap", face_form_deg=20.0)
    setup = setup_with(glasses)
    again = setup_from_toml(setup_to_toml(setup)).sitter.glasses
    assert again == glasses
    assert again.guessed == glasses.guessed == {"base_curve", "pantoscopic_tilt"}
    assert setup_to_mapping(setup)["sitter"]["glasses"] == {
        "preset": "sport wrap",
        "face_form": "20 deg",
    }


def test_places_and_prescriptions_are_written_on_one_line():
    glasses = Glasses(preset="sport wrap", right=Prescription(sphere_d=-1.0))
    text = setup_to_toml(setup_with(glasses))
    assert 'right = {sphere = "-1.00 D"}' in text
    assert 'place = {distance = "2 m", height = "1.2 m"}' in text


@pytest.mark.parametrize("name", ['a "quoted" one', "back\\slash", "\N{SNOWMAN} Ünïcode", "a.b"])
def test_names_with_marks_survive(name):
    room = Room(width_m=5.0, length_m=6.0, height_m=2.5)
    camera = Camera(place=Place(distance_m=2.0, height_m=1.2), focal_length_mm=85.0)
    setup = Setup(title=name, room=room, camera=camera, sitter=Sitter(name=name))
    assert setup_from_toml(setup_to_toml(setup)) == setup


def setup_with(glasses: Glasses) -> Setup:
    return Setup(
        room=Room(width_m=5.0, length_m=6.0, height_m=2.5),
        camera=Camera(place=Place(distance_m=2.0, height_m=1.2), focal_length_mm=85.0),
        sitter=Sitter(glasses=glasses),
    )
