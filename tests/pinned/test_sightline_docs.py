"""The table of the handbook's start in docs/sightline-map.md is what the map says today."""

import re
import runpy
from pathlib import Path

import numpy as np
import pytest

from tapemark.analysis import build_scene, checked_view
from tapemark.services import check_setup
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


def test_what_is_said_of_the_short_sighted_holds(script):
    document = " ".join((ROOT / "docs" / "sightline-map.md").read_text("utf-8").split())
    said = re.search(r"field (\d+)° wide .* mirrors (\d+)°.*with ([\d.]+) % of a lens", document)
    wide, narrow, share = (float(one) for one in said.groups())
    setup = script["handbook_start"]("strong short-sighted, small frame")
    view = checked_view(build_scene(setup))
    for surface, degrees in (("back", wide), ("front", narrow)):
        ways = view.reflected[surface].directions[0][view.solid_angle[0] > 0]
        sides = np.rad2deg(np.arctan2(ways[:, 0], ways[:, 1]))
        assert np.nanmax(sides) - np.nanmin(sides) == pytest.approx(degrees, abs=0.5)
    shown = max(check_setup(setup).lenses, key=lambda lens: lens.lens_cover)
    assert [one.surface for one in shown.reflections] == ["back"]
    assert 100 * shown.lens_cover == pytest.approx(share, abs=0.005)
    for preset, glasses in GLASSES_PRESETS.items():
        if "short-sighted" in preset:
            lenses = check_setup(script["handbook_start"](preset)).lenses
            assert {one.surface for lens in lenses for one in lens.reflections} == {"back"}, glasses
