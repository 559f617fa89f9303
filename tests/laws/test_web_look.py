"""The colours of the pages: legible in both themes, and one warm colour for trouble only."""

import re
from importlib.resources import files

import pytest

from tapemark.drawing.style import contrast

CSS = (files("tapemark.web") / "static" / "css" / "base.css").read_text("utf-8")
BLOCKS = [dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", block)) for block in re.findall(
    r":root[^{]*\{([^}]*)\}", CSS)]  # fmt: skip
LIGHT, DARK_AS_DEVICE, DARK_CHOSEN = BLOCKS[:3]
GROUNDS = ("paper", "sheet", "wash")
TEXT, LARGE_OR_LINES = 4.5, 3.0  # [wcag22] success criteria 1.4.3 and 1.4.11


@pytest.mark.parametrize("theme", [LIGHT, DARK_CHOSEN], ids=["light", "dark"])
@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("ink", ["ink", "soft", "warm"])
def test_text_is_legible_on_every_ground(theme, ground, ink):
    assert contrast(theme[ink], theme[ground]) >= TEXT


@pytest.mark.parametrize("theme", [LIGHT, DARK_CHOSEN], ids=["light", "dark"])
@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("line", ["edge", "focus", "lit-edge"])
def test_borders_of_what_can_be_used_and_the_focus_are_seen(theme, ground, line):
    assert contrast(theme[line], theme[ground]) >= LARGE_OR_LINES


@pytest.mark.parametrize("theme", [LIGHT, DARK_CHOSEN], ids=["light", "dark"])
def test_buttons_and_washes_are_legible(theme):
    assert contrast(theme["press-ink"], theme["press"]) >= TEXT
    assert contrast(theme["ink"], theme["warm-wash"]) >= TEXT
    assert contrast(theme["warm"], theme["warm-wash"]) >= TEXT


def test_both_ways_to_the_dark_theme_give_the_same_colors():
    assert DARK_AS_DEVICE == DARK_CHOSEN
    assert set(DARK_CHOSEN) == set(LIGHT)


def test_motion_can_be_turned_off_and_nothing_is_fetched_from_elsewhere():
    assert "prefers-reduced-motion: reduce" in CSS
    fetched = re.findall(r'url\("?([^")]*)', CSS)
    assert fetched
    assert [one for one in fetched if not one.startswith("/static/")] == []
    assert "@import" not in CSS
