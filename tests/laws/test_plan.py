"""What must hold of every plan, whatever the brief: it works, it fits, it can be repeated."""

from collections import Counter
from functools import lru_cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.errors import SetupError
from tapemark.planning import PlanSearch, WalkIns, Watch, find_options, gear_trouble
from tapemark.planning.plans.camera import choose_camera
from tapemark.planning.plans.candidates import KEY_WAYS, lay_out, rigs_of
from tapemark.planning.plans.score import Scorer
from tapemark.planning.plans.search import judged_option
from tapemark.services import PlanReport, check_setup, plan_as_plain, plan_brief
from tapemark.services.live.view import live_view, live_view_as_plain
from tapemark.studio import Brief, brief_from_toml, setup_from_mapping

ONE_FLASH = """
title = "Quillmere Library, returns desk"
framing = "head and shoulders"
aperture = "f/4"
[room]
width = "4 m"
length = "5 m"
height = "2.5 m"
[sitter]
eye_height = "1.2 m"
glasses = "strong short-sighted, small frame"
[camera]
lenses = ["85 mm"]
highest_iso = 800
[[head]]
head = "small camera flash 60 Ws"
[[modifier]]
modifier = "bare small flash"
[[modifier]]
modifier = "shoot-through umbrella 100 cm"
[[stand]]
stand = "light stand"
"""

TWO_HEADS = """
title = "Quillmere Library, reading room"
units = "us"
framing = "head and shoulders"
mood = "3:1"
pattern = "loop"
aperture = "f/8"
[room]
width = "18 ft"
length = "23 ft"
height = "9 ft"
behind_sitter = "7 ft"
[sitter]
eye_height = "47 in"
glasses = "everyday progressive"
[camera]
lenses = ["85 mm"]
highest_iso = 200
[[head]]
head = "400 Ws studio head"
count = 2
[[modifier]]
modifier = "medium softbox 60x90 cm"
[[modifier]]
modifier = "reflected umbrella 110 cm"
[[stand]]
stand = "light stand"
count = 2
[[panel]]
width = "3 ft"
height = "4 ft"
"""

BRIEFS = {"one flash": ONE_FLASH, "two heads": TWO_HEADS}


@lru_cache
def brief_of(name: str) -> Brief:
    return brief_from_toml(BRIEFS[name])


@lru_cache
def report_of(name: str) -> PlanReport:
    return plan_brief(brief_of(name), seed=1)


@pytest.fixture(params=BRIEFS)
def report(request: pytest.FixtureRequest) -> PlanReport:
    return report_of(request.param)


def test_at_least_three_different_plans(report: PlanReport) -> None:
    assert len(report.plans) == 3
    described = {
        (
            tuple(light.modifier for light in plan.lights),
            plan.pattern,
            len(plan.setup.panels),
            np.sign(plan.marks[-1].side_deg),
        )
        for plan in report.plans
    }
    assert len(described) == 3
    for plan in report.plans[1:]:
        assert any("Other than A" in reason for reason in plan.why)


def test_every_plan_passes_the_check(report: PlanReport) -> None:
    for plan in report.plans:
        checked = check_setup(plan.setup)
        assert not checked.found_trouble
        assert checked.verdict == plan.verdict
        assert plan.verdict == "clear" or plan.edge_reason
        assert [one.code for one in checked.findings] == [one.code for one in plan.findings]


def test_only_gear_that_is_there_is_used(report: PlanReport) -> None:
    brief = report.brief
    there = {f"head {one.name}": one.count for one in brief.heads}
    there |= {f"modifier {one.name}": one.count for one in brief.modifiers}
    for plan in report.plans:
        used = Counter(f"head {one.head}" for one in plan.lights)
        used.update(f"modifier {one.modifier}" for one in plan.lights)
        assert all(count <= there[name] for name, count in used.items())
        assert len(plan.lights) <= sum(one.count for one in brief.stands)
        assert len(plan.setup.panels) <= sum(one.count for one in brief.panels)


def test_everything_fits_room_and_stands(report: PlanReport) -> None:
    room = report.brief.room
    for plan in report.plans:
        for light in plan.setup.lights:
            x, y, height = light.place.position_m
            assert light.stand is not None
            assert height <= light.stand.highest_m
            assert room.x_min_m < x < room.x_max_m
            assert room.y_min_m < y < room.y_max_m
            tall = light.modifier.face_size_m[1] / 2
            assert height + 0.5 * tall < room.height_m


def test_lights_meter_the_aperture_wished_for(report: PlanReport) -> None:
    for plan in report.plans:
        over = check_setup(plan.setup).exposure.stops_over
        assert over == pytest.approx(0.0, abs=0.2)  # [stops]
        for light in plan.setup.lights:
            steps = light.power_stops / light.head.power_step_stops
            assert steps == pytest.approx(round(steps), abs=1e-6)
            assert light.head.lowest_power_stops <= light.power_stops <= 0.0


def test_fewer_lights_come_first(report: PlanReport) -> None:
    counts = [len(plan.lights) for plan in report.plans]
    assert counts[0] == 1
    assert counts == sorted(counts)


def test_marks_from_two_corners_meet_at_the_place(report: PlanReport) -> None:
    room = report.brief.room
    for plan in report.plans:
        for light, mark in zip(plan.setup.lights, plan.marks[2:], strict=False):
            x, y, _ = light.place.position_m
            a, b, width = mark.from_a_m, mark.from_b_m, room.width_m
            along = (a**2 - b**2 + width**2) / (2 * width)  # from corner A towards corner B
            np.testing.assert_allclose(room.x_max_m - along, x, atol=1e-6)
            np.testing.assert_allclose(np.sqrt(a**2 - along**2) + room.y_min_m, y, atol=1e-6)


def test_the_same_seed_gives_the_same_plans() -> None:
    again = plan_brief(brief_of("one flash"), seed=1)
    assert plan_as_plain(again) == plan_as_plain(report_of("one flash"))


def test_plans_read_back_from_their_own_data(report: PlanReport) -> None:
    for plan, plain in zip(report.plans, plan_as_plain(report)["plans"], strict=True):
        assert setup_from_mapping(plain["setup"]) == plan.setup


def test_a_search_that_is_stopped_keeps_what_it_has() -> None:
    told: list[str] = []
    watch = Watch()

    def tell(text: str) -> None:
        told.append(text)
        watch.stopped = "1 good" in text or "2 good" in text

    watch.tell = tell
    report = plan_brief(brief_of("one flash"), watch=watch)
    assert report.interrupted
    assert 1 <= len(report.plans) < 3
    assert told[0] == "Looking at ways with one light"


def test_a_search_stopped_at_once_has_nothing_and_says_so() -> None:
    report = plan_brief(brief_of("one flash"), watch=Watch(stopped=True))
    assert report.interrupted
    assert report.plans == ()
    assert report.instead == ()


@given(at=st.lists(st.floats(0.0, 1.0), min_size=12, max_size=12))
def test_keys_stand_where_their_pattern_is_looked_for(at: list[float]) -> None:
    brief = brief_of("two heads")
    for rig in rigs_of(brief, lights=2)[:4]:
        layout = lay_out(rig, at[: rig.size], brief=brief)
        x, y, z = layout.centers[0] - layout.targets[0]
        aside = rig.hand * (np.rad2deg(np.arctan2(x, y)) - rig.turn_deg)
        up = np.rad2deg(np.arctan2(z, np.hypot(x, y)))
        (least, most), (low, high) = KEY_WAYS[rig.pattern]
        assert least - 1e-6 <= aside <= most + 1e-6
        assert low - 1e-6 <= up <= high + 1e-6


@given(at=st.lists(st.floats(0.0, 1.0), min_size=6, max_size=6))
def test_a_mirrored_layout_looks_as_good(at: list[float]) -> None:
    brief, scorer = _mirror_brief()
    left, right = (
        next(
            rig
            for rig in rigs_of(brief, lights=2)
            if (rig.hand, rig.turn_deg, rig.panel_use) == (hand, 0.0, "none") and rig.fill
        )
        for hand in (1, -1)
    )
    totals = [scorer.look(lay_out(rig, at, brief=brief)).total for rig in (left, right)]
    assert totals[0] == pytest.approx(totals[1], rel=1e-6, abs=1e-6)


@lru_cache
def _mirror_brief() -> tuple[Brief, Scorer]:
    text = TWO_HEADS.replace("everyday progressive", "large fashion frame, plano")
    brief = brief_from_toml(text)
    return brief, Scorer(brief, camera=choose_camera(brief).camera)


def test_powers_in_closed_form_agree_with_the_full_judgement() -> None:
    brief = brief_of("two heads")
    choice = choose_camera(brief)
    scorer = Scorer(brief, camera=choice.camera)
    search = PlanSearch(brief=brief, seed=0, camera=choice, scorer=scorer)
    rig = next(one for one in rigs_of(brief, lights=2) if one.fill and one.panel_use == "none")
    layout = lay_out(rig, np.full(rig.size, 0.5), brief=brief)
    look = scorer.look(layout)
    found = judged_option(search, layout, look=look, powers_stops=look.powers_stops, iso=look.iso)
    assert found is not None
    set_to = [light.power_stops for light in found.setup.lights]
    np.testing.assert_allclose(set_to, look.powers_stops, atol=0.15)  # [stops]; dialled in tenths
    ratio = found.judged.people[0].modelling.ratio
    assert ratio is not None
    assert ratio.highlight_to_shadow == pytest.approx(3.0, abs=0.2)


def test_plans_for_strangers_serve_at_least_as_many() -> None:
    brief = brief_of("one flash")
    walk_ins = WalkIns.drawn(seed=3)
    for_them = plan_brief(brief, seed=1, walk_ins=walk_ins)
    shares = [plan.share_clear for plan in for_them.plans]
    assert shares == sorted(shares, key=lambda one: -(one or 0.0))
    plain = max(walk_ins.share(plan.setup) for plan in report_of("one flash").plans)
    assert (shares[0] or 0.0) >= plain - 1e-9
    assert not any(check_setup(plan.setup).found_trouble for plan in for_them.plans)


def test_nothing_is_found_where_nothing_goes_together() -> None:
    text = ONE_FLASH.replace("bare small flash", "LED panel 30x30 cm").replace(
        "shoot-through umbrella 100 cm", "large softbox 90x120 cm"
    )
    found = find_options(brief_from_toml(text))
    assert found.options == []


@pytest.mark.parametrize(
    ("heads", "modifiers", "parts"),
    [
        (
            ["small camera flash 60 Ws"],
            ["large softbox 90x120 cm", "LED panel 30x30 cm"],
            (
                '"small camera flash 60 Ws" takes umbrellas, other modifiers up to 0.65 m',
                '"large softbox 90x120 cm" is too large for it',
                '"LED panel 30x30 cm" is the bare face of an LED panel',
                'write fits = ["small camera flash 60 Ws"] under one that does fit',
            ),
        ),
        (
            ["400 Ws studio head", "continuous LED panel"],
            ["bare small flash"],
            (
                '"400 Ws studio head" takes softboxes, umbrellas and dishes',
                '"bare small flash" is the bare face of a small camera flash',
                '"continuous LED panel" takes no modifier but its own bare face',
            ),
        ),
        (
            ["continuous LED panel"],
            ["medium softbox 60x90 cm", "reflected umbrella 110 cm"],
            ('"medium softbox 60x90 cm" does not go on it; "reflected umbrella 110 cm" does not',),
        ),
    ],
)
def test_gear_that_does_not_go_together_is_told_before_anything_is_searched(
    heads: list[str], modifiers: list[str], parts: tuple[str, ...]
) -> None:
    gear = [f'[[head]]\nhead = "{one}"\n' for one in heads]
    gear += [f'[[modifier]]\nmodifier = "{one}"\n' for one in modifiers]
    watch = Watch(tell=lambda text: pytest.fail(f"searched: {text}"))
    report = plan_brief(
        brief_from_toml(ONE_FLASH.partition("[[head]]")[0] + "".join(gear)), watch=watch
    )
    assert (report.plans, report.instead) == ((), ())
    for part in parts:
        assert part in report.unfit
    assert plan_as_plain(report)["nearest"] == report.unfit


def test_a_modifier_goes_on_the_heads_it_is_listed_for() -> None:
    text = ONE_FLASH.replace("shoot-through umbrella 100 cm", "large softbox 90x120 cm").replace(
        'modifier = "bare small flash"', 'modifier = "LED panel 30x30 cm"'
    )
    fits = 'fits = ["small camera flash 60 Ws"]\n[[stand]]'
    assert gear_trouble(brief_from_toml(text))
    assert not gear_trouble(brief_from_toml(text.replace("[[stand]]", fits)))


@pytest.mark.parametrize(
    ("was", "typed", "key", "advice"),
    [
        ('mood = "3:1"', 'mood = "evn"', "mood", 'did you mean "even"?'),
        ('mood = "3:1"', "mood = 3", "mood", 'write mood = "..."'),
        ('"85 mm"', "85", "camera.lenses[1]", 'write "85 mm"'),
        ("highest_iso = 200", "highest_iso = 50", "camera.highest_iso", "swap them"),
        ('"medium softbox 60x90 cm"', '"medium sofbox 60x90 cm"', "modifier[1]", "did you mean"),
        ('eye_height = "47 in"', 'eye_height = "12 in"', "sitter.eye_height", "measure"),
        (
            "count = 2\n[[modifier]]",
            'name = "x"\n[[head]]\nname = "x"\nhead = "400 Ws studio head"\n[[modifier]]',
            "head[2] name",
            "another name",
        ),
    ],
)
def test_a_wrong_brief_says_what_to_write(was: str, typed: str, key: str, advice: str) -> None:
    assert was in TWO_HEADS
    with pytest.raises(SetupError) as caught:
        brief_from_toml(TWO_HEADS.replace(was, typed, 1))
    (problem,) = caught.value.problems
    assert problem.key.startswith(key)
    assert advice in problem.advice


def test_the_ratio_of_a_plan_is_what_a_check_and_the_set_screen_tell(report: PlanReport) -> None:
    for plan in report.plans:
        told = live_view_as_plain(live_view(plan.setup, detail="drag", wants={"numbers"}))
        ratio = told["exposure"]["ratio"]
        checked = check_setup(plan.setup).modelling.told
        assert ratio is not None
        assert checked is not None
        assert (ratio["text"], ratio["convention"]) == (checked.text, checked.convention)
        assert plan.ratio in (ratio["text"], ratio["text"].replace(".0:", ":"))  # "2.0:1" is "2:1"
