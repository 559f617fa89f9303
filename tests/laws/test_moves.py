"""Moves hold under the check: they clear, one step less does not, and only one thing moved."""

import dataclasses
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapemark.planning import find_moves, judge, lenses_only
from tapemark.planning.moves.single import camera_moves, light_moves, person_moves
from tapemark.planning.moves.stool_shift import shifted_person
from tapemark.planning.moves.trials import Trials, metered_alone
from tapemark.planning.reach import PLAY_M, within_reach
from tapemark.services import check_setup, moves_as_plain
from tapemark.studio import Room, changed, setup_from_mapping, setup_to_mapping

LENS_CODES = ("lens-veiled", "lens-edge")
LOW_ROOM = Room(width_m=3.2, length_m=5.0, height_m=2.1, behind_sitter_m=1.5)
KEPT_STOPS = 0.34  # a third of a stop, as exposure is set
SMALL_M = 1e-3  # places are rounded to a tenth of a millimetre in each direction
BOTH = {"camera-left": "camera-right", "camera-right": "camera-left"}


def cases(studio):
    """Setups in trouble of different kinds."""
    light, setup, worn = studio.light, studio.setup, studio.worn
    near = light("key", (0.63, 1.36, 1.5))
    two = [
        light("key", (0.75, 1.3, 1.4), power_stops=-2.5),
        light("fill", (-0.5, 1.8, 1.3), modifier="reflected umbrella 110 cm"),
    ]
    return {
        "one softbox": setup([near], glasses=worn()),
        "two lights": setup(two, glasses=worn()),
        "face turned": setup([near], glasses=worn(), sitter={"turn_deg": 20.0, "gaze": "ahead"}),
        "low room": setup([near], glasses=worn(), room=LOW_ROOM),
        "feet and inches": setup([near], glasses=worn(), units="us"),
    }


NAMES = ("one softbox", "two lights", "face turned", "low room", "feet and inches")


@pytest.fixture(scope="module")
def found(studio):
    """What a search finds for each case."""
    return {name: find_moves(one, best=2) for name, one in cases(studio).items()}


@pytest.mark.parametrize("name", NAMES)
def test_every_move_holds_under_the_check(found, name):
    one = found[name]
    before = check_setup(one.before.setup)
    old = {(finding.code, finding.sitter) for finding in before.findings}
    assert one.needed
    assert one.clean
    assert one.moves
    for move in one.moves:
        after = check_setup(move.setup)
        assert after.verdict == move.verdict_after == "clear", move.text
        new = {
            (finding.code, finding.sitter)
            for finding in after.findings
            if finding.severity == "trouble"
        }
        assert new - old == set(), move.text


@pytest.mark.parametrize("name", NAMES)
def test_one_step_less_of_any_move_does_not_clear(found, name):
    one = found[name]
    trials = Trials(one.before.seen)
    for move in one.moves:
        for at, (single, steps) in enumerate(move.chain):
            less = tuple(
                (other, count - (1 if index == at else 0))
                for index, (other, count) in enumerate(move.chain)
            )
            if steps == 1:
                less = (*less[:at], *less[at + 1 :])
            outcome = trials.outcome(less)
            assert outcome is not None
            assert check_setup(outcome.setup).verdict != "clear", (move.text, single)


@pytest.mark.parametrize("name", NAMES)
def test_steps_are_a_centimetre_or_half_a_degree(found, name):
    for move in found[name].moves:
        for single, _ in move.chain:
            assert single.step == {"m": single.step, "deg": 0.5, "once": 1.0}[single.unit]
            assert single.unit != "m" or single.step <= 0.01


@pytest.mark.parametrize("name", NAMES)
def test_the_setup_in_an_answer_reads_back_and_checks_the_same(found, name):
    answer = moves_as_plain(found[name])
    assert answer
    for move in answer[:2]:
        again = setup_from_mapping(move["setup"])
        assert check_setup(again).verdict == move["verdict_after"]
        assert setup_to_mapping(again) == move["setup"]


@pytest.mark.parametrize("name", NAMES)
def test_nothing_moves_but_what_is_said(found, name):
    one = found[name]
    before = one.before.setup
    for move in one.moves:
        lights = {step.name for step in move.steps if step.what == "light"}
        what = {step.what for step in move.steps}
        stool = any(step.family == "stool" for step in move.steps)
        after = move.setup
        if not stool:
            for old, new in zip(before.lights, after.lights, strict=True):
                assert old == new or old.name in lights
            assert after.room == before.room
            assert after.camera == before.camera or "camera" in what
        for old, new in zip(before.people, after.people, strict=True):
            assert new.glasses == old.glasses
            assert (new.chin_deg, new.tip_deg) == (old.chin_deg, old.tip_deg)
            assert new.eye_height_m == old.eye_height_m
            assert new == old or "sitter" in what


@pytest.mark.parametrize("name", NAMES)
def test_moved_lights_meter_as_before(found, name):
    one = found[name]
    for move in one.moves:
        if any(step.what != "light" for step in move.steps):
            continue
        pairs = zip(one.before.setup.lights, move.setup.lights, strict=True)
        for old, new in pairs:
            was, now = metered_alone(old, one.before.setup), metered_alone(new, move.setup)
            steps = sum(step.name == old.name for step in move.steps)
            assert abs(math.log2(now / was)) <= steps * 0.5 * new.head.power_step_stops + 1e-6


@pytest.mark.parametrize("name", NAMES)
def test_moved_lights_stay_under_the_ceiling_and_within_the_walls(found, name):
    room = found[name].before.setup.room
    for move in found[name].moves:
        for scene in check_setup(move.setup).people[0].scene.emitters[: len(move.setup.lights)]:
            outline = scene.face.outline()
            assert outline[:, 2].max() <= room.height_m + PLAY_M
            assert outline[:, 2].min() >= -PLAY_M


def test_the_order_is_by_disturbance(found):
    for one in found.values():
        points = [move.points for move in one.moves]
        assert points == sorted(points)


def test_mirrored_setups_get_mirrored_moves(studio):
    def search(sign):
        lights = [studio.light("key", (sign * 0.63, 1.36, 1.5))]
        glasses = studio.worn()
        return find_moves(studio.setup(lights, glasses=glasses), best=2)

    left, right = search(1.0), search(-1.0)
    assert len(left.moves) == len(right.moves) > 0
    for one, other in zip(left.moves, right.moves, strict=True):
        for (move, steps), (mirrored, count) in zip(one.chain, other.chain, strict=True):
            assert move.family == mirrored.family
            assert BOTH.get(move.toward, move.toward) == mirrored.toward
            assert abs(steps - count) <= 1  # steps of half a degree or a centimetre


def test_a_clear_setup_needs_no_move(studio):
    one = find_moves(studio.setup([studio.light("key", (0.9, 1.2, 2.3))], glasses=studio.worn()))
    assert not one.needed
    assert one.clean
    assert one.moves == ()


def test_people_without_glasses_need_no_move(studio):
    one = find_moves(studio.setup([studio.light("key", (0.1, 1.6, 1.25))]))
    assert not one.needed


@pytest.mark.parametrize("keep", [("pattern", "ratio"), ("catchlight", "background")])
def test_what_is_kept_stays(studio, keep):
    setup = cases(studio)["two lights"]
    one = find_moves(setup, keep=frozenset(keep), best=1)
    before = one.before.people[0]
    for move in one.moves:
        after = move.judged.people[0]
        if move.losses:
            assert not one.clean
        elif "ratio" in keep:
            old, new = before.modelling.ratio, after.modelling.ratio
            assert abs(old.key_over_fill_stops - new.key_over_fill_stops) <= KEPT_STOPS
            named = before.modelling.pattern not in ("none", "flat")
            assert not named or after.modelling.pattern == before.modelling.pattern
        else:
            for side in ("right", "left"):
                source = before.seen_catchlights(side)[0].source
                assert source in {own.source for own in after.seen_catchlights(side)}
    assert one.moves


def test_a_group_is_cleared_for_everybody(studio):
    glasses = studio.worn()
    companion = {"name": "Tom", "across_m": 0.6, "back_m": 0.1, "eye_height_m": 1.25}
    setup = studio.setup(
        [studio.light("key", (0.75, 1.9, 1.5))],
        glasses=glasses,
        camera=(0.0, 2.6, 1.25),
        sitter={"name": "Ines"},
        companions=({**companion, "glasses": glasses},),
    )
    one = find_moves(setup, best=2)
    assert one.needed
    assert one.moves
    for move in one.moves:
        after = check_setup(move.setup)
        assert after.verdict == move.verdict_after
        assert all(person.verdict == "clear" for person in after.people) == (not move.losses)


@settings(max_examples=2)
@given(
    side_m=st.floats(0.2, 0.9),
    height_m=st.floats(1.25, 1.6),
    turn_deg=st.sampled_from([-15.0, 0.0, 15.0]),
)
def test_any_single_light_gets_moves_that_hold(studio, side_m, height_m, turn_deg):
    setup = studio.setup(
        [studio.light("key", (side_m, 1.5, height_m))],
        glasses=studio.worn(),
        sitter={"turn_deg": turn_deg},
    )
    one = find_moves(setup, best=2)
    for move in one.moves:
        assert check_setup(move.setup).verdict == move.verdict_after
        assert move.clean == (not move.losses)
        single, steps = move.chain[0]
        assert within_reach(single, before=setup, after=single.after(setup, steps))


def test_judging_agrees_with_the_check(studio):
    for setup in cases(studio).values():
        report, judged = check_setup(setup), judge(setup)
        assert report.findings == judged.findings
        assert report.verdict == judged.verdict == lenses_only(setup).verdict


def test_judging_from_an_earlier_answer_changes_nothing(studio):
    setup = cases(studio)["two lights"]
    first = judge(setup)
    (light, _) = setup.lights
    ways = [*light_moves(setup, light), *camera_moves(setup), *person_moves(setup, 0)]
    for move in ways[::3]:
        after = move.after(setup, 20)
        assert judge(after, like=first).findings == check_setup(after).findings, move


def test_a_stool_shifted_and_shifted_back_is_where_it_was(studio):
    setup = cases(studio)["two lights"]
    there = shifted_person(setup, index=0, across_m=0.3, forward_m=-0.2)
    back = shifted_person(there, index=0, across_m=-0.3, forward_m=0.2)
    for old, new in zip((setup.camera, *setup.lights), (back.camera, *back.lights), strict=True):
        assert math.dist(old.place.position_m, new.place.position_m) < SMALL_M
    assert back.room.camera_left_m == pytest.approx(setup.room.camera_left_m)
    assert back.room.behind_sitter_m == pytest.approx(setup.room.behind_sitter_m)


def test_a_shifted_stool_sees_lights_and_camera_from_the_other_side(studio):
    setup = cases(studio)["two lights"]
    there = shifted_person(setup, index=0, across_m=0.3, forward_m=0.2)
    for old, new in zip((setup.camera, *setup.lights), (there.camera, *there.lights), strict=True):
        x, y, z = old.place.position_m
        assert math.dist((x - 0.3, y - 0.2, z), new.place.position_m) < SMALL_M
    assert there.room.x_max_m == pytest.approx(setup.room.x_max_m - 0.3)
    assert there.room.y_max_m == pytest.approx(setup.room.y_max_m - 0.2)


def test_feathering_turns_a_light_by_the_amount_said(studio):
    setup = cases(studio)["one softbox"]
    (light,) = setup.lights
    for move in light_moves(setup, light):
        if move.family != "feather":
            continue
        turned = move.moved_light(setup, 30)
        old, new = (
            [end - start for start, end in zip(light.place.position_m, aim, strict=True)]
            for aim in ((0.0, 0.0, setup.sitter.eye_height_m), turned.aim.position_m)
        )
        cosine = sum(a * b for a, b in zip(old, new, strict=True))
        cosine /= math.hypot(*old) * math.hypot(*new)
        tilt = math.atan2(old[2], math.hypot(old[0], old[1]))
        across = math.acos(min(max(cosine, -1.0), 1.0))
        level = move.toward in ("up", "down")
        assert math.degrees(across) == pytest.approx(15.0 * (1 if level else math.cos(tilt)), 0.05)
        if move.toward == "camera-left":
            assert new[0] > old[0]
        if move.toward == "up":
            assert new[2] > old[2]


def test_taking_the_camera_back_keeps_the_head_as_large(studio):
    setup = cases(studio)["one softbox"]
    back = next(one for one in camera_moves(setup) if one.family == "back")
    old, new = (judge(one).framing.people[0].head_mm for one in (setup, back.after(setup, 80)))
    assert new == pytest.approx(old, rel=0.03)  # the head's own depth makes it a little larger


def test_a_search_that_is_interrupted_keeps_what_it_found(studio):
    told = []

    def stop(text):
        told.append(text)
        if "pairs" in text:
            raise KeyboardInterrupt

    one = find_moves(cases(studio)["two lights"], tell=stop)
    assert told
    assert not one.complete
    assert dataclasses.is_dataclass(one)


def test_a_light_lower_than_its_head_allows_is_left_out(studio):
    setup = cases(studio)["low room"]
    (light,) = setup.lights
    up = next(one for one in light_moves(setup, light) if one.toward == "up")
    assert within_reach(up, before=setup, after=up.after(setup, 5))
    assert not within_reach(up, before=setup, after=up.after(setup, 45))


def test_a_stand_that_ends_lower_keeps_a_light_down(studio):
    low = {"kind": "stand", "highest_m": 1.7}
    light = studio.light("key", (0.63, 1.36, 1.5), stand=low)
    setup = studio.setup([light], glasses=studio.worn())
    one = find_moves(setup, best=3)
    for move in one.moves:
        after = next(own for own in move.setup.lights if own.name == "key")
        assert after.place.height_m < 1.85
    assert changed(setup, {"title": "low stand"}).title == "low stand"
