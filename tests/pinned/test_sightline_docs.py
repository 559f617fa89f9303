"""The table of the handbook's start in docs/sightline-map.md is what the map says today."""

import runpy
from pathlib import Path

import pytest

from tapemark.studio import GLASSES_PRESETS

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def script():
    return runpy.run_path(str(ROOT / "scripts" / "sightline_presets.py"))


def test_the_table_in_the_document_is_current(script):
    document = (ROOT / "docs" / "sightline-map.md").read_text("utf-8")
    shown = document.split(script["BEGIN"])[1].split(script["END"])[0].strip()
    assert shown == script["table"]()


def test_the_handbook_start_is_sensible_for_every_preset(script):
    # A published start should be open or within a hand's breadth of it: tests/trade has the rest.
    rows = script["table"]().splitlines()[2:]
    assert len(rows) == len(GLASSES_PRESETS)
    assert sum("| open |" in row or "| open;" in row for row in rows) >= len(rows) - 2
    assert not [row for row in rows if "over the eye" in row]
