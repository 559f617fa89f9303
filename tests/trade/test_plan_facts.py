"""What every photographer would plan: common practice, no published source."""

from functools import lru_cache

import pytest

from tapemark.services import PlanReport, plan_brief
from tapemark.studio import brief_from_toml

ROOM = """
[room]
width = "4.5 m"
length = "6 m"
height = "2.7 m"
behind_sitter = "2.2 m"
[sitter]
eye_height = "1.2 m"
glasses = "heavy acetate rectangular"
[camera]
lenses = ["85 mm"]
"""
SOFTBOX = """
[[head]]
head = "400 Ws studio head"
[[modifier]]
modifier = "medium softbox 60x90 cm"
[[stand]]
stand = "light stand"
"""
SMALL_FLASH = """
[[head]]
head = "small camera flash 60 Ws"
[[modifier]]
modifier = "shoot-through umbrella 100 cm"
[[stand]]
stand = "light stand"
"""
WHITE_KIT = """
[[head]]
head = "400 Ws studio head"
count = 3
[[modifier]]
modifier = "reflected umbrella 110 cm"
[[modifier]]
modifier = "reflector dish 18 cm"
count = 2
[[stand]]
stand = "light stand"
count = 3
[backdrop]
reflectance = "white"
"""


@lru_cache
def planned(wishes: str, gear: str, *, room: str = ROOM, count: int = 1) -> PlanReport:
    return plan_brief(brief_from_toml(f"{wishes}\n{room}\n{gear}"), count=count)


def test_one_softbox_does_a_plain_portrait() -> None:
    report = planned('aperture = "f/8"', SOFTBOX)
    assert len(report.plans[0].lights) == 1
    assert report.plans[0].verdict == "clear"


def test_the_key_stands_above_the_eyes_and_to_a_side() -> None:
    plan = planned('aperture = "f/8"\npattern = "loop"', SOFTBOX).plans[0]
    key = next(mark for mark in plan.marks if mark.name == "key")
    assert key.height_m > 1.5
    assert 15.0 < abs(key.side_deg) < 60.0


def test_a_clean_white_background_takes_lights_of_its_own() -> None:
    report = planned('aperture = "f/8"\nbackground = "white"\nmood = "classic"', WHITE_KIT)
    plan = report.plans[0]
    assert any(light.name.startswith("background") for light in plan.lights)
    levels = [one.code for one in plan.findings if one.code.startswith("background-")]
    assert not {"background-grey", "background-uneven", "background-overblown"} & set(levels)


def test_the_background_is_built_first_and_each_light_is_shot_alone() -> None:
    report = planned('aperture = "f/8"\nbackground = "white"\nmood = "classic"', WHITE_KIT)
    plan = report.plans[0]
    steps = " ".join(plan.build)
    assert steps.index("Background") < steps.index("Key:")
    alone = [shot for shot in plan.test_shots if "alone" in shot]
    assert len(alone) == len(plan.lights)
    assert plan.test_shots[-1].startswith("All together")


def test_a_small_flash_in_an_umbrella_has_not_the_light_for_f16() -> None:
    report = planned('aperture = "f/16"', SMALL_FLASH)
    assert report.plans == ()
    assert [one.wishes for one in report.instead] == [("aperture",)]
    wider = report.instead[0].plan.setup.camera.aperture
    assert 4.0 <= wider <= 11.0
    assert report.instead[0].plan.lights[0].power_stops == pytest.approx(0.0)


def test_a_low_ceiling_has_no_room_for_a_butterfly() -> None:
    low = ROOM.replace('height = "2.7 m"', 'height = "2.1 m"')
    report = planned('pattern = "butterfly"', SOFTBOX, room=low)
    assert report.plans == ()
    assert report.instead[0].wishes == ("pattern",)


def test_black_cloth_without_a_light_behind_does_not_come_out_white() -> None:
    gear = f'{SOFTBOX}\n[backdrop]\nreflectance = "black"\n'
    report = planned('background = "white"', gear)
    assert report.plans == ()
    assert report.instead[0].wishes == ("background",)


def test_too_little_time_means_too_much_gear() -> None:
    report = planned('time = "5 min"', SOFTBOX)
    assert report.plans == ()
    assert report.instead[0].wishes == ("time",)
