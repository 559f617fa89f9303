"""What photographers do about glare in glasses: common practice, no published source."""

import pytest

from tapemark.planning import find_moves, lenses_only
from tapemark.planning.moves.single import light_moves
from tapemark.planning.moves.trials import Trials
from tapemark.services import demo_setup_text
from tapemark.studio import Glasses, Place, changed, setup_from_toml


@pytest.fixture(scope="module")
def troubled():
    return setup_from_toml(demo_setup_text("quillmere-troubled"))


@pytest.fixture(scope="module")
def answer(troubled):
    return find_moves(troubled, best=3)


@pytest.fixture(scope="module")
def alone(troubled):
    """The key alone, near the camera and little higher than the head."""
    (key, _) = troubled.lights
    return changed(troubled, {"lights": (key,)})


def test_two_lights_near_the_camera_are_raised_or_swung_out(answer):
    """Two lights next to the camera show twice in each lens; both high or both wide: none."""
    assert answer.clean
    best = answer.moves[0]
    assert {step.name for step in best.steps} == {"key", "fill"}
    assert {step.family for step in best.steps} <= {"height", "swing"}
    for move in answer.moves:
        assert all(
            step.toward in ("up", "camera-left", "camera-right")
            for step in move.steps
            if step.what == "light"
        )


def test_lights_go_to_about_where_handbooks_put_them(answer):
    """A light that showed at 1.4 m beside the camera is gone at about 1.9 m, or a little higher."""
    heights = [light.place.height_m for light in answer.moves[0].setup.lights]
    assert all(1.75 <= height <= 2.3 for height in heights)


def test_one_softbox_is_raised_first(alone):
    best = find_moves(alone, best=2).moves[0]
    (step,) = best.steps
    assert (step.what, step.family, step.toward) == ("light", "height", "up")
    assert 1.6 <= best.setup.lights[0].place.height_m <= 2.0


def test_moving_the_light_disturbs_less_than_moving_the_camera(alone):
    moves = find_moves(alone, best=5).moves
    kinds = [move.steps[0].what for move in moves]
    assert kinds[0] == "light"
    assert "camera" not in kinds[:2]


def test_under_a_low_ceiling_the_light_goes_up_and_out_or_the_head_turns(alone):
    low = changed(alone, {"room": changed(alone.room, {"height_m": 1.95}), "backdrop": None})
    one = find_moves(low, best=3)
    assert one.moves
    assert all(step.toward != "up" or step.amount < 0.2 for m in one.moves for step in m.steps)


def test_a_light_twice_as_far_is_turned_up_two_stops(alone):
    """Inverse square, a little less for a softbox that was near."""
    back = next(one for one in light_moves(alone, alone.lights[0]) if one.family == "back")
    twice = round(alone.lights[0].place.distance_m / back.step)
    outcome = Trials(lenses_only(alone)).outcome(((back, twice),))
    assert outcome is not None
    assert outcome.power_changes[0] == pytest.approx(2.0, abs=0.25)
    assert outcome.setup.lights[0].place.height_m == alone.lights[0].place.height_m


def test_glasses_stay_where_they_are_and_the_chin_too(answer, troubled):
    for move in answer.moves:
        sitter = move.setup.sitter
        assert sitter.glasses == troubled.sitter.glasses
        assert sitter.chin_deg == troubled.sitter.chin_deg


def test_what_cannot_be_cleared_without_loss_says_what_it_costs(troubled):
    """A light beside the lens in a closet: nothing clears the glasses for nothing."""
    key = changed(troubled.lights[0], {"place": Place(distance_m=1.2, side_deg=8.0, height_m=1.3)})
    room = changed(
        troubled.room,
        {
            "width_m": 1.3,
            "length_m": 3.2,
            "height_m": 1.8,
            "camera_left_m": 0.65,
            "behind_sitter_m": 0.8,
        },
    )
    camera = changed(troubled.camera, {"place": Place(distance_m=1.4, height_m=1.2)})
    lights = (key,)
    closet = changed(troubled, {"room": room, "camera": camera, "lights": lights, "backdrop": None})
    one = find_moves(closet, best=3)
    assert one.needed
    assert one.moves
    if not one.clean:
        assert all(move.losses for move in one.moves)


def test_coated_lenses_need_less(alone):
    """A good coating shows less: what is left to do is no more than on bare lenses."""
    glasses = alone.sitter.glasses
    values = {name: getattr(glasses, name) for name in glasses.model_fields_set}
    coated = Glasses(**{**values, "coating": "anti-reflective"})
    better = changed(alone, {"sitter": changed(alone.sitter, {"glasses": coated})})
    bare, good = find_moves(alone, best=1), find_moves(better, best=1)
    assert not good.needed or good.moves[0].points <= bare.moves[0].points + 0.1


def test_three_lights_are_cleared_by_raising_two_before_anybody_turns():
    """Two lights that show from both sides both go up; nobody asks the sitter for a profile."""
    box = '"400 Ws studio head", modifier = "medium softbox 60x90 cm"'
    umbrella = '"400 Ws studio head", modifier = "reflected umbrella 110 cm"'
    lights = [
        ("key", box, "1.5 m", "25 deg camera-left", "1.35 m", "1/8"),
        ("fill", umbrella, "2 m", "20 deg camera-right", "1.3 m", "1/16"),
        ("third", box, "1.8 m", "60 deg camera-right", "1.2 m", "1/8"),
    ]
    text = "\n".join(
        [
            'room = { width = "5.4 m", length = "7 m", height = "2.75 m", behind_sitter = "2 m" }',
            'sitter = { name = "Ann", eye_height = "1.20 m", '
            'glasses = { preset = "mild short-sighted, medium frame" } }',
            'camera = { place = { distance = "2 m", height = "1.20 m" }, focal_length = "85 mm" }',
        ]
        + [
            f'[[light]]\nname = "{name}"\nhead = {gear}\naim = "face"\npower = "{power}"\n'
            f'place = {{ distance = "{out}", side = "{side}", height = "{up}" }}'
            for name, gear, out, side, up, power in lights
        ]
    ).replace(", modifier =", "\nmodifier =")
    first = find_moves(setup_from_toml(text), best=1).moves[0]
    assert first.clean
    assert {(one.name, one.family, one.toward) for one in first.steps} == {
        ("key", "height", "up"),
        ("fill", "height", "up"),
    }
    assert all(one.amount < 1.0 for one in first.steps)
