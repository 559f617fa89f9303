"""What the data of a studio promise: places, defaults, presets, guesses, aims, notes, copies."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.errors import SetupError
from tapemark.studio import (
    GLASSES_PRESETS,
    HEAD_PRESETS,
    MODIFIER_PRESETS,
    SENSORS,
    Backdrop,
    Camera,
    Glasses,
    Head,
    Light,
    Modifier,
    Place,
    Prescription,
    Room,
    Setup,
    Sitter,
    aim_direction,
    aim_point_m,
    changed,
    with_light,
)

ROOM = Room(width_m=5.4, length_m=7.0, height_m=2.75, behind_sitter_m=2.0)
CAMERA = Camera(place=Place(distance_m=2.0, height_m=1.2), focal_length_mm=85.0)


def light(name: str = "key", **more: object) -> Light:
    values = {
        "head": Head(preset="400 Ws studio head"),
        "modifier": Modifier(preset="medium softbox 60x90 cm"),
        "place": Place(distance_m=1.6, side_deg=40.0, height_m=1.9),
    }
    return Light(name=name, **(values | more))


def setup(*lights: Light, **more: object) -> Setup:
    values = {"room": ROOM, "camera": CAMERA, "sitter": Sitter(eye_height_m=1.2)}
    return Setup(lights=lights, **(values | more))


def small_glasses(**more: object) -> Glasses:
    return Glasses(lens_width_mm=50.0, lens_height_mm=40.0, bridge_mm=18.0, **more)


@given(distance_m=st.floats(0.0, 30.0), side_deg=st.floats(-180.0, 180.0))
def test_place_is_at_its_distance_to_its_side(distance_m, side_deg):
    x, y, z = Place(distance_m=distance_m, side_deg=side_deg, height_m=1.7).position_m
    assert math.hypot(x, y) == pytest.approx(distance_m, abs=1e-12)
    assert z == 1.7
    assert x * side_deg >= -1e-12  # camera-left is positive in both
    mirrored = Place(distance_m=distance_m, side_deg=-side_deg, height_m=1.7).position_m
    assert mirrored == pytest.approx((-x, y, z), abs=1e-12)


def test_walls_are_where_the_marks_say():
    room = Room(width_m=5.0, length_m=7.0, height_m=2.5, behind_sitter_m=2.0, camera_left_m=1.5)
    assert (room.x_min_m, room.x_max_m, room.y_min_m, room.y_max_m) == (-3.5, 1.5, -2.0, 5.0)


def test_sitter_stands_in_the_middle_unless_stated():
    assert Room(width_m=5.0, length_m=7.0, height_m=2.5).camera_left_m == 2.5
    assert Room(width_m=5.0, length_m=4.0, height_m=2.5).behind_sitter_m == pytest.approx(1.2)


def test_stated_eye_height_beats_the_guess():
    sitter = Sitter(body_height_m=1.8, eye_height_m=1.3)
    assert sitter.eye_height_m == 1.3
    assert not sitter.eye_height_guessed


@given(body_m=st.floats(1.2, 2.19), taller_m=st.floats(0.01, 0.1))  # both within 2.30 m
@pytest.mark.parametrize("posture", ["seated", "standing"])
def test_taller_people_have_higher_eyes(posture, body_m, taller_m):
    short = Sitter(posture=posture, body_height_m=body_m)
    tall = Sitter(posture=posture, body_height_m=body_m + taller_m)
    assert short.eye_height_guessed
    assert short.eye_height_m < tall.eye_height_m < tall.body_height_m


@pytest.mark.parametrize(
    ("sensor", "orientation", "frame_mm"),
    [
        ("full frame", "portrait", (24.0, 36.0)),
        ("full frame", "landscape", (36.0, 24.0)),
        ("Full Frame", "landscape", (36.0, 24.0)),
        ("36 x 24 mm", "portrait", (24.0, 36.0)),
        ("24 mm \N{MULTIPLICATION SIGN} 36 mm", "portrait", (24.0, 36.0)),
        ("23.5x15.6 mm", "landscape", (23.5, 15.6)),
        ("medium format 44x33", "portrait", (32.9, 43.8)),
    ],
)
def test_frame_follows_sensor_and_orientation(sensor, orientation, frame_mm):
    camera = Camera(
        place=CAMERA.place, focal_length_mm=85.0, sensor=sensor, orientation=orientation
    )
    assert (camera.frame_width_mm, camera.frame_height_mm) == frame_mm


def test_sensor_names_give_the_long_side_first():
    assert all(long_mm > short_mm for long_mm, short_mm in SENSORS.values())


@pytest.mark.parametrize("name", GLASSES_PRESETS)
def test_glasses_preset_is_valid_stated_in_full(name):
    preset = Glasses(preset=name)
    stated = Glasses.model_validate(dict(GLASSES_PRESETS[name].values))
    assert preset == changed(stated, {"preset": name})
    assert preset.guessed == {"base_curve", "pantoscopic_tilt", "face_form"}
    assert "±" in preset.assumptions or "to" in preset.assumptions
    assert preset.assumed_pupil_height_mm < preset.lens_height_mm
    assert isinstance(preset.assumed_right, Prescription)


@pytest.mark.parametrize("name", MODIFIER_PRESETS)
def test_modifier_preset_is_valid_stated_in_full(name):
    preset = Modifier(preset=name)
    stated = Modifier.model_validate(dict(MODIFIER_PRESETS[name].values))
    assert preset == changed(stated, {"preset": name})
    assert preset.assumptions
    assert 0 < preset.assumed_efficiency <= 1
    assert min(preset.face_size_m) > 0


@pytest.mark.parametrize("name", HEAD_PRESETS)
def test_head_preset_is_valid_stated_in_full(name):
    preset = Head(preset=name)
    stated = Head.model_validate(dict(HEAD_PRESETS[name].values))
    assert preset == changed(stated, {"preset": name})
    assert preset.assumptions


def test_sizes_in_the_names_of_modifiers_are_their_sizes():
    for name, preset in MODIFIER_PRESETS.items():
        size = [word for word in name.split() if word[0].isdigit()]
        sides_m = {preset.values.get(key) for key in ("width_m", "height_m", "diameter_m")}
        for side in (float(cm) / 100 for word in size for cm in word.split("x")):
            assert side in sides_m, name


def test_user_keys_beat_the_preset():
    glasses = Glasses(preset="strong short-sighted, small frame", lens_width_mm=49.0, rim="half")
    assert (glasses.lens_width_mm, glasses.rim, glasses.lens_height_mm) == (49.0, "half", 34.0)


@pytest.mark.parametrize(
    ("stated", "guessed"),
    [
        ({}, {"base_curve", "pantoscopic_tilt", "face_form"}),
        ({"base_curve_d": 4.0}, {"pantoscopic_tilt", "face_form"}),
        ({"base_curve_d": 4.0, "pantoscopic_tilt_deg": 8.0, "face_form_deg": 5.0}, set()),
        ({"base_curve_d": None}, {"base_curve", "pantoscopic_tilt", "face_form"}),
    ],
)
def test_guessed_is_what_was_not_stated(stated, guessed):
    assert small_glasses(**stated).guessed == guessed


@pytest.mark.parametrize(
    ("seen", "sphere_d"),
    [
        ({"look_through": "smaller", "edge": "thick"}, -4.0),
        ({"look_through": "smaller", "edge": "thin"}, -2.0),
        ({"look_through": "larger"}, 3.0),
        ({"look_through": "unchanged"}, 0.0),
        ({}, 0.0),
    ],
)
def test_look_through_the_lens_gives_a_nominal_prescription(seen, sphere_d):
    glasses = small_glasses(**seen)
    assert glasses.assumed_right == glasses.assumed_left == Prescription(sphere_d=sphere_d)
    assert glasses.prescription_guessed
    assert glasses.prescription_spread_d > 0


def test_look_through_the_lens_beats_the_prescription_of_a_preset():
    glasses = Glasses(preset="thin reading glasses", look_through="smaller", edge="thin")
    assert glasses.assumed_right.sphere_d == -2.0


def test_one_stated_lens_serves_for_both_eyes():
    stated = Prescription(sphere_d=-3.0, cylinder_d=-0.5, axis_deg=20.0)
    for eye in ("right", "left"):
        glasses = Glasses(preset="thin reading glasses", **{eye: stated})
        assert glasses.assumed_right == glasses.assumed_left == stated
        assert not glasses.prescription_guessed
        assert glasses.prescription_spread_d == 0.0


@pytest.mark.parametrize(
    ("stated", "reflectance"),
    [
        ({}, None),
        ({"coating": "anti-reflective"}, 0.01),
        ({"coating": "anti-reflective", "coating_reflectance": 0.004}, 0.004),
    ],
)
def test_coating_reflectance(stated, reflectance):
    assert small_glasses(**stated).assumed_coating_reflectance == reflectance


def test_index_follows_the_material_unless_stated():
    assert small_glasses(material="polycarbonate").refractive_index == 1.586
    assert small_glasses(material="polycarbonate", index=1.59).refractive_index == 1.59


@pytest.mark.parametrize(
    ("aim", "point_m"),
    [
        ("face", (0.0, 0.0, 1.2)),
        ("ceiling", (0.5, 0.4, 2.75)),
        ("backdrop", (0.5, -1.5, 1.2)),
        ("wall behind", (0.5, -2.0, 1.2)),
        ("wall behind camera", (0.5, 5.0, 1.2)),
        ("wall camera-left", (2.7, 0.4, 1.2)),
        ("wall camera-right", (-2.7, 0.4, 1.2)),
        (Place(distance_m=2.0, side_deg=90.0, height_m=0.5), (2.0, 0.0, 0.5)),
    ],
)
def test_aims_lead_to_their_points(aim, point_m):
    place = Place(
        distance_m=math.hypot(1.0, 0.8), side_deg=math.degrees(math.atan2(1.0, 0.8)), height_m=1.9
    )
    thing = light(place=place, aim=aim)
    whole = setup(thing, backdrop=Backdrop(distance_m=1.5))
    assert aim_point_m(thing, setup=whole) == pytest.approx(point_m)
    direction = aim_direction(thing, setup=whole)
    assert math.hypot(*direction) == pytest.approx(1.0)
    ahead = [end - start for end, start in zip(point_m, place.position_m, strict=True)]
    assert math.hypot(*ahead) == pytest.approx(
        sum(part * along for part, along in zip(ahead, direction, strict=True))
    )


def test_notes_name_a_modifier_that_does_not_fit():
    place = Place(distance_m=1.6, side_deg=40.0, height_m=2.5)
    (note,) = setup(light(place=place)).notes
    assert note.startswith('light "key" would reach')
    assert note.endswith("through the ceiling: lower it.")
    side = Place(distance_m=2.69, side_deg=90.0, height_m=1.4)
    toward_camera = Place(distance_m=3.0, side_deg=60.0, height_m=1.4)
    (note,) = setup(light(place=side, aim=toward_camera)).notes
    assert "into the wall on camera-left" in note


def test_notes_name_stands_at_one_place_and_darkness():
    assert setup(light()).notes == ()
    assert '"key" and "fill" are at the same place' in setup(light(), light("fill")).notes[0]
    assert "nothing lights the sitter" in setup(light(on=False)).notes[0]
    behind = Camera(place=Place(distance_m=1.5, side_deg=170.0, height_m=1.2), focal_length_mm=85.0)
    assert "behind the sitter" in setup(light(), camera=behind).notes[0]


def test_assumptions_say_what_was_not_stated():
    sitter = Sitter(glasses=Glasses(preset="thin reading glasses"))
    text = "\n".join(setup(light(), sitter=sitter).assumptions)
    for part in ("eye height 1.23 m", "+2.00 D", "base curve", "±0.5 stop", "40 lm/W"):
        assert part in text


def test_changed_copy_is_checked_and_keeps_what_follows():
    room = changed(Room(width_m=5.0, length_m=7.0, height_m=2.5), {"width_m": 6.0})
    assert room.camera_left_m == 3.0
    with pytest.raises(SetupError) as caught:
        changed(room, {"width_m": 0.5})
    assert caught.value.problems[0].given == "0.5"
    assert "1.00 m to 60.00 m" in caught.value.problems[0].allowed


def test_light_is_replaced_by_name_or_added():
    first = setup(light(), light("fill", place=Place(distance_m=2.0, height_m=1.4)))
    moved = light(place=Place(distance_m=1.6, side_deg=40.0, height_m=2.2))
    assert [thing.name for thing in with_light(first, moved).lights] == ["key", "fill"]
    assert with_light(first, moved).lights[0].place.height_m == 2.2
    assert [thing.name for thing in with_light(first, light("hair")).lights][-1] == "hair"
    with pytest.raises(SetupError) as caught:
        with_light(first, light(place=Place(distance_m=1.6, height_m=2.9)))
    assert caught.value.problems[0].key == 'light[1] "key" place.height'
    assert caught.value.problems[0].given == "2.90 m, with room.height 2.75 m"


def test_data_are_frozen_equal_and_hashable():
    first, second = setup(light()), setup(light())
    assert first == second
    assert hash(first) == hash(second)
    with pytest.raises(ValueError, match="frozen"):
        first.title = "other"
