"""What holds for every order of sitters, whoever comes."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.errors import FileError, SetupError
from tapemark.planning import Appointment, HandTimes, Watch, reorder, run_order
from tapemark.planning.run_orders.controls import controls_of, re_rigging_s, setup_for
from tapemark.planning.run_orders.sitter_needs import (
    SAME_MARK_M,
    eye_marks_m,
    height_step_m,
    needs_of,
)
from tapemark.services import check_setup, demo_setup_text
from tapemark.store import read_sitters, sitters_from_text
from tapemark.store.glasses_words import SHORT_WORDS, glasses_from_words
from tapemark.studio import GLASSES_PRESETS, Glasses, Setup, setup_from_toml
from tapemark.units import parse_clock_s

SITTING_S = 480
NINE = 9 * 3600


@pytest.fixture(scope="module")
def setup() -> Setup:
    return setup_from_toml(demo_setup_text("quillmere-cured"))


PEOPLE = [
    ("Tova", "seated", 1.17, None, None, None),
    ("Aurel", "seated", 1.27, "everyday progressive", "9:30", "10:30"),
    ("Mirren", "seated", 1.18, "thin reading glasses", None, None),
    ("Jory", "standing", 1.72, None, None, None),
    ("Senna", "seated", 1.22, "large fashion frame, plano", "9:00", "9:40"),
    ("Oriel", "standing", 1.54, "cat-eye, mild short-sighted", None, None),
    ("Bram", "standing", 1.64, "half-rim office frame", "9:50", "11:00"),
]


def appointment(name, posture, eyes_m, preset, opens, closes) -> Appointment:
    return Appointment(
        name=name,
        posture=posture,
        eye_height_m=eyes_m,
        glasses=None if preset is None else Glasses(preset=preset),
        glasses_words=preset or "none",
        from_s=None if opens is None else parse_clock_s(opens),
        to_s=None if closes is None else parse_clock_s(closes),
    )


@pytest.fixture(scope="module")
def people() -> list[Appointment]:
    return [appointment(*row) for row in PEOPLE]


@pytest.fixture(scope="module")
def plan(setup, people):
    return run_order(setup, people, start_s=NINE, sitting_s=SITTING_S)


def test_everybody_comes_once_within_their_times(plan, people):
    assert sorted(turn.appointment.name for turn in plan.turns) == sorted(
        one.name for one in people
    )
    assert plan.moved == ()
    now = plan.start_s
    for turn in plan.turns:
        assert turn.start_s == now + turn.setup_s + turn.idle_s
        assert turn.end_s == turn.start_s + SITTING_S
        assert turn.appointment.from_s is None or turn.start_s >= turn.appointment.from_s
        assert turn.appointment.to_s is None or turn.end_s <= turn.appointment.to_s
        now = turn.end_s


def test_changes_told_lead_from_each_setting_to_the_next(plan):
    places = {(one.kind, one.name): index for index, one in enumerate(plan.controls)}
    stands = list(plan.begins_with)
    for turn in plan.turns:
        for change in turn.changes:
            stands[places[change.kind, change.name]] += change.amount
        np.testing.assert_allclose(stands, turn.needs.settings, atol=1e-9)


def test_heights_change_by_what_a_hand_can_set(plan):
    step_m = height_step_m(plan.setup)
    for turn in plan.turns:
        for change in turn.changes:
            if change.kind in ("camera", "height", "panel"):
                assert change.amount / step_m == pytest.approx(round(change.amount / step_m))
                assert change.text.endswith(f"{abs(round(change.amount / step_m))} cm")


def test_setting_up_takes_what_its_changes_take(plan):
    settings = [plan.begins_with, *(turn.needs.settings for turn in plan.turns)]
    taken = [
        float(re_rigging_s(np.array(before), np.array(after), controls=plan.controls))
        for before, after in itertools.pairwise(settings)
    ]
    assert taken == [turn.setup_s for turn in plan.turns]
    assert sum(taken) == plan.re_rigging_s >= plan.least_s


def test_same_list_gives_same_order(setup, people, plan):
    assert run_order(setup, people, start_s=NINE, sitting_s=SITTING_S) == plan


def test_lenses_said_to_be_clear_are_clear_in_a_check(plan):
    looked = 0
    for turn in plan.turns:
        report = check_setup(plan.setup_for(turn.appointment.name))
        assert report.verdict == turn.needs.verdict
        looked += turn.needs.sitter.glasses is not None
    assert looked >= 4


@pytest.mark.parametrize("preset", list(GLASSES_PRESETS)[::4])
def test_lights_that_show_go_as_far_as_they_must(preset):
    troubled = setup_from_toml(demo_setup_text("quillmere-troubled"))
    controls = controls_of(troubled, times=HandTimes())
    wearer = appointment("Pell", "seated", 1.2, preset, None, None)
    (needs,) = needs_of(troubled, [wearer], controls=controls)
    start = tuple(one.start for one in controls)
    worn = setup_for(troubled, needs.sitter, start, controls=controls)
    assert check_setup(worn).verdict != "clear"
    assert needs.verdict == "clear"
    moved = {
        one.name
        for one, value in zip(controls, needs.settings, strict=True)
        if one.kind in ("height", "side") and abs(value - one.start) > 1e-9
    }
    assert moved
    for name in moved:
        back = tuple(
            one.start if one.name == name else value
            for one, value in zip(controls, needs.settings, strict=True)
        )
        left = setup_for(troubled, needs.sitter, back, controls=controls)
        assert check_setup(left).verdict != "clear"


@given(st.lists(st.floats(0.9, 1.9), min_size=1, max_size=30))
def test_each_pair_of_eyes_is_served_from_a_mark_near_it(eyes_m):
    setup = setup_from_toml(demo_setup_text("quillmere-cured"))
    marks = eye_marks_m(eyes_m, setup=setup)
    for eye_m, mark_m in zip(eyes_m, marks, strict=True):
        assert abs(eye_m - mark_m) <= SAME_MARK_M + height_step_m(setup) / 2 + 1e-6
    steps = (np.array(marks) - setup.sitter.eye_height_m) / height_step_m(setup)
    np.testing.assert_allclose(steps, np.round(steps), atol=1e-6)


@given(st.lists(st.lists(st.integers(-20, 20), min_size=8, max_size=8), min_size=3, max_size=3))
def test_a_detour_never_saves_re_rigging(steps):
    setup = setup_from_toml(demo_setup_text("quillmere-cured"))
    controls = controls_of(setup, times=HandTimes())
    one, two, three = np.array(steps) / 20.0
    direct = re_rigging_s(one, three, controls=controls)
    assert direct <= re_rigging_s(one, two, controls=controls) + re_rigging_s(
        two, three, controls=controls
    )
    assert direct == re_rigging_s(three, one, controls=controls)
    assert (direct == 0) == bool((one == three).all())


def test_somebody_in_the_setup_sitters_place_needs_no_change(setup):
    same = Appointment(name="Ines", eye_height_m=1.2, glasses=setup.sitter.glasses)
    plan = run_order(setup, [same], start_s=NINE, sitting_s=SITTING_S)
    assert plan.turns[0].changes == ()
    assert plan.turns[0].start_s == NINE
    assert plan.proven


def test_standing_takes_the_stool_away_and_sets_the_camera(setup):
    tall = Appointment(name="Jory", posture="standing", eye_height_m=1.6)
    plan = run_order(setup, [tall], start_s=NINE, sitting_s=SITTING_S)
    told = {(one.kind, one.name): one.text for one in plan.turns[0].changes}
    assert told["stool", "stool"] == "stool out"
    assert told["camera", "camera"] == "camera up 40 cm"


def test_what_the_ceiling_ends_stays_below_it_and_is_said(setup):
    tall = Appointment(name="Jory", posture="standing", eye_height_m=1.7)
    plan = run_order(setup, [tall], start_s=NINE, sitting_s=SITTING_S)
    key = next(one for one in plan.setup_for("Jory").lights if one.name == "key")
    assert key.place.height_m + key.modifier.face_size_m[1] / 2 <= setup.room.height_m
    assert any("key" in note and "ceiling" in note for note in plan.turns[0].needs.notes)


# ------------------------------------------------------------------ the day goes otherwise


def test_reorder_goes_on_from_how_things_stand(plan):
    done = [turn.appointment.name for turn in plan.turns[:2]]
    rest = reorder(plan, done=done, now_s=plan.turns[1].end_s)
    assert rest.begins_with == plan.turns[1].needs.settings
    assert {turn.appointment.name for turn in rest.turns} == {
        turn.appointment.name for turn in plan.turns[2:]
    }
    assert rest.re_rigging_s == sum(turn.setup_s for turn in plan.turns[2:])
    assert rest.end_s == plan.end_s


def test_reorder_leaves_out_who_is_absent_and_waits_for_who_is_late(plan):
    late_s = parse_clock_s("10:40")
    rest = reorder(plan, done=[], now_s=NINE, absent=["Jory"], late={"Senna": late_s})
    by_name = {turn.appointment.name: turn for turn in rest.turns}
    assert "Jory" not in by_name
    assert by_name["Senna"].start_s >= late_s
    assert not by_name["Senna"].moved


def test_reorder_says_whose_time_has_passed(plan):
    rest = reorder(plan, done=["Tova"], now_s=parse_clock_s("9:40"))
    assert [turn.appointment.name for turn in rest.moved] == ["Senna"]
    assert rest.colliding == (("Senna",),)


def test_reorder_knows_nobody_else(plan):
    with pytest.raises(LookupError, match='"Nobody"'):
        reorder(plan, done=["Nobody"], now_s=NINE)


def test_stopped_search_still_gives_an_order_of_all(setup, people):
    plan = run_order(setup, people, start_s=NINE, sitting_s=SITTING_S, watch=Watch(stopped=True))
    assert plan.interrupted
    assert not plan.proven
    assert len(plan.turns) == len(people)
    assert {turn.appointment.name for turn in plan.not_clear} == {
        one.name for one in people if one.glasses is not None
    }


# ------------------------------------------------------------------ the list

LIST = """Name;Height (cm);Pose;Glasses;Appointment;Room
Tova;171;sits;none;;12
"Aurel B.";178;stands;Progressive, uncoated;9:30\N{EN DASH}10.15;12

Mirren;1,60 m;;readers;2 pm to 3 pm;
Sören;5 ft 8 in;seated;;;
"""


def test_list_is_read_with_its_units_words_and_times():
    found = sitters_from_text(LIST, name="list.csv", sitting_s=SITTING_S)
    tova, aurel, mirren, soeren = found.appointments
    assert (tova.name, tova.line, tova.body_height_m, tova.posture) == ("Tova", 2, 1.71, "seated")
    assert (aurel.name, aurel.line, aurel.posture) == ("Aurel B.", 3, "standing")
    assert aurel.glasses.coating == "none"
    assert (aurel.from_s, aurel.to_s) == (parse_clock_s("9:30"), parse_clock_s("10:15"))
    assert (mirren.line, mirren.body_height_m, mirren.posture) == (5, 1.6, None)
    assert mirren.glasses.preset == "thin reading glasses"
    assert mirren.from_s == 14 * 3600
    assert soeren.glasses is None
    assert found.notes == (
        "not used of the list: Room",
        "nothing said about the glasses of 1; taken to wear none",
    )


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_list_is_read_in_the_encodings_of_spreadsheets(tmp_path, encoding):
    path = tmp_path / "list.csv"
    path.write_bytes(LIST.replace("\n", "\r\n").encode(encoding))
    found = read_sitters(path, sitting_s=SITTING_S)
    assert [one.name for one in found.appointments] == ["Tova", "Aurel B.", "Mirren", "Sören"]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_list_is_read_with_any_usual_separator(separator):
    rows = [["number", "eye height_in", "minutes"], ["7", "47", "12"], ["8", "48.5", ""]]
    text = "\n".join(separator.join(row) for row in rows)
    one, other = sitters_from_text(text, name="list", sitting_s=SITTING_S).appointments
    assert (one.name, one.eye_height_m, one.sitting_s) == ("7", pytest.approx(47 * 0.0254), 720)
    assert (other.name, other.sitting_s) == ("8", None)


def test_all_that_is_wrong_in_a_list_is_told_at_once():
    text = (
        "name,height,glasses,from,to,posture\n"
        "Tova,172,readng,9:00,8:00,lying\n"
        "Bo,5 ft 8 in,none,10,25:00,\n"
        "bo,3 m,none,9:00,9:05,seated,extra\n"
        ",1.7 m,none,,,\n"
        "Mirren,,none,,,\n"
    )
    with pytest.raises(SetupError) as error:
        sitters_from_text(text, name="list.csv", sitting_s=SITTING_S)
    found = {(one.key, one.given) for one in error.value.problems}
    assert found == {
        ('line 2 "Tova", height', '"172"'),
        ('line 2 "Tova", glasses', '"readng"'),
        ('line 2 "Tova", to', '"8:00"'),
        ('line 2 "Tova", posture', '"lying"'),
        ('line 3 "Bo", to', '"25:00"'),
        ("line 4", '7 cells, the last "extra"'),
        ('line 4 "bo", height', '"3 m"'),
        ('line 4 "bo", to', '"9:05"'),
        ("line 4", '"bo", also in line 3'),
        ("line 5, name", "(empty)"),
        ('line 6 "Mirren", height', "(empty)"),
    }
    assert all(one.allowed and one.advice for one in error.value.problems)
    assert 'did you mean "reading"?' in str(error.value)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", 'a column "name" or "number"'),
        ("name,hieght\nTova,1.7 m\n", 'did you mean "height"?'),
        ("name,height,size\nTova,1.7 m,1.7 m\n", "each column once"),
        ("name,height\n", "1 to 300"),
        ("name,height\n" + "".join(f"P{n},1.7 m\n" for n in range(301)), "1 to 300"),
    ],
)
def test_header_and_length_of_a_list_are_checked(text, told):
    with pytest.raises(SetupError, match=told):
        sitters_from_text(text, name="list.csv", sitting_s=SITTING_S)


@given(st.text(alphabet="name,height;\n\"'#: 1729.cmin-\t\u2013x", max_size=120))
def test_any_rows_are_read_or_clearly_refused(text):
    try:
        names = [
            one.name
            for one in sitters_from_text(
                f"name,height\n{text}", name="list", sitting_s=SITTING_S
            ).appointments
        ]
    except SetupError as error:
        names = [problem.key for problem in error.problems]
    assert names
    assert all(names)


def test_what_is_no_text_is_refused(tmp_path):
    path = tmp_path / "list.csv"
    path.write_bytes(b"PK\x03\x04\x00\x00\x81\x8d")
    with pytest.raises(FileError, match="CSV"):
        read_sitters(path, sitting_s=SITTING_S)


def test_short_words_name_each_kind_of_glasses_once():
    assert set(SHORT_WORDS) == set(GLASSES_PRESETS)
    words = [word for short in SHORT_WORDS.values() for word in short]
    assert len(set(words)) == len(words)
    for preset, short in SHORT_WORDS.items():
        for word in (preset, *short):
            assert glasses_from_words(word.upper()).preset == preset
