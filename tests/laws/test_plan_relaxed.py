"""What must be said of a brief that cannot be met, and in which order its files come."""

import subprocess
import sys
from functools import lru_cache

from tapemark.planning.plans.relax import LARGEST_SET
from tapemark.services import demo_setup_text, plan_files
from tapemark.services.plan import PlanReport, plan_brief
from tapemark.studio import Brief, brief_from_toml, changed


@lru_cache
def greedy_brief() -> Brief:
    """The built-in brief with five wishes that its gear cannot meet."""
    brief = brief_from_toml(demo_setup_text("quillmere-brief"))
    wishes = {
        "mood": "8:1",
        "pattern": "butterfly",
        "background": "white",
        "aperture": 22.0,
        "time_s": 180.0,
        "heads": brief.heads[:1],
        "modifiers": brief.modifiers[:1],
    }
    return changed(brief, wishes)


@lru_cache
def greedy_report() -> PlanReport:
    return plan_brief(greedy_brief())


def test_more_wishes_than_are_tried_in_every_set_are_named():
    report = greedy_report()
    assert not report.plans
    assert report.instead
    first = report.instead[0]
    assert len(first.wishes) > LARGEST_SET
    assert set(first.wishes) <= set(greedy_brief().wishes)
    assert "framing" not in first.wishes  # the unchanged brief meets it, so nobody gives it up
    for wish in first.wishes:
        assert wish in first.text
    assert not [one for one in first.plan.findings if one.severity == "trouble"]
    camera = first.plan.setup.camera
    assert ("aperture" in first.wishes) == (abs(camera.aperture - 22.0) > 1e-6)


def test_setups_come_before_their_drawings():
    report = greedy_report()
    files = plan_files(report, stem="desk")
    assert set(next(files)) == {"desk-a.toml"}
    assert set(next(files)) == {"desk-a-plan.svg", "desk-a-plan.png"}
    files.close()


def test_planning_loads_no_library_for_statistics():
    code = (
        "import sys\n"
        "from tapemark.planning.plans.search import optimizer_class\n"
        "assert optimizer_class().__name__ == 'CMA'\n"
        "assert 'scipy' not in sys.modules, 'scipy'\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
