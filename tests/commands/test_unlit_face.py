"""Setups whose lights miss the face: every command says so plainly, and none fails."""

import json
from pathlib import Path
from typing import Any

import pytest

from tapemark.services import sheet_of
from tapemark.services.check import check_setup
from tapemark.services.live.view import live_view, live_view_as_plain
from tapemark.studio import setup_from_toml

SETUP = """
room = {{ width = "5.4 m", length = "7 m", height = "2.75 m", behind_sitter = "2 m" }}
sitter = {{ name = "A", eye_height = "1.20 m", glasses = {{ preset = "thin reading glasses" }} }}
camera = {{ place = {{ distance = "2 m", height = "1.20 m" }}, focal_length = "85 mm" }}
[[light]]
name = "key"
head = "400 Ws studio head"
power = "1/8"
{light}
"""
BEHIND = """
modifier = "medium softbox 60x90 cm"
place = { distance = "1.5 m", side = "150 deg camera-left", height = "1.6 m" }
aim = "face"
"""
UPWARDS = """
modifier = "reflector dish 18 cm"
place = { distance = "1 m", side = "30 deg camera-left", height = "1.8 m" }
aim = { distance = "0.5 m", height = "2.75 m" }
"""
OFF = f"{BEHIND.replace('150 deg', '25 deg')}\non = false\n"
SAID = "No light reaches the face."


@pytest.fixture(params=[BEHIND, UPWARDS, OFF], ids=["behind", "at the ceiling", "off"])
def unlit(request: Any, tmp_path: Path) -> Path:
    """Write a setup whose only light misses the face."""
    path = tmp_path / "unlit.toml"
    path.write_text(SETUP.format(light=request.param), encoding="utf-8")
    return path


def test_a_check_says_that_no_light_reaches_the_face(run: Any, unlit: Path) -> None:
    answer = run("check", unlit)
    assert answer.code == 1
    assert answer.err == ""
    assert SAID in answer.out
    assert "together" not in answer.out
    plain = json.loads(run("check", unlit, "--json").out)
    assert plain["exposure"]["aperture"] is None
    assert plain["exposure"]["room_estimate"]["share"] is None


def test_what_the_room_alone_may_give_is_told_without_a_share(run: Any, tmp_path: Path) -> None:
    path = tmp_path / "upwards.toml"
    path.write_text(SETUP.format(light=UPWARDS), encoding="utf-8")
    told = next(line for line in run("check", path).out.splitlines() if "with the room" in line)
    assert told.endswith("an estimate, all of it thrown back by the room")


def test_app_and_sheet_have_numbers_without_light(unlit: Path) -> None:
    setup = setup_from_toml(unlit.read_text(encoding="utf-8"))
    for detail in ("drag", "full"):
        plain = live_view_as_plain(live_view(setup, detail=detail))
        assert plain["exposure"]["together"] is None
        assert plain["exposure"]["stops"] is None
        json.dumps(plain, allow_nan=False)
    page = sheet_of(check_setup(setup))
    assert page.together == ""
    assert SAID in [one.text for one in page.cautions]
    assert not any("Meter all together" in step for step in page.test)
    assert any("no light at the face" in step for step in page.test)


def test_walk_ins_are_not_ready_in_the_dark(run: Any, unlit: Path) -> None:
    told = " ".join(run("walkins", unlit, "--count", "60", "--no-moves").out.split())
    ready = round(float(told.partition("READY ")[2].partition(" %")[0]))
    assert ready < 50  # the dish itself shows in the eyes of some
    assert f"about {ready} can sit down and be photographed as is" in told
    assert f"{100 - ready} are clear but have no catchlight in both eyes" in told
    assert f"about {ready} of 100 people are fine" in told


def test_clear_lenses_do_not_hide_other_troubles(run: Any, unlit: Path) -> None:
    answer = run("moves", unlit)
    assert answer.code == 0
    assert "All lenses are clear: no light has to move for them." in answer.out
    told = " ".join(answer.out.split())
    assert "But check finds: No catchlight in the right eye." in told
    assert SAID in told
