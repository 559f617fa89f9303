"""A rig sheet with many lights: no line from a name crosses another's.

Both are held against plain plane geometry: two straight pieces share a point or they do not.
"""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapemark.drawing.labels import Label, LabelSpace, crossed
from tapemark.drawing.paper import rig_elevation, rig_plan
from tapemark.services.check import check_setup
from tapemark.services.editing.edits import apply_edits
from tapemark.services.library.new_setups import demo_setups
from tapemark.services.paper.sheet import sheet_of

ROOMY = apply_edits(
    next(iter(demo_setups())).setup,
    [{"set": "room.behind_sitter", "value": "2.6 m"}, {"set": "room.length", "value": "7.6 m"}],
)
MORE = (
    ("hair", "1.2 m", "150 deg camera-left", "2.1 m", "face"),
    ("rim left", "1.6 m", "120 deg camera-left", "1.7 m", "face"),
    ("rim right", "1.6 m", "120 deg camera-right", "1.7 m", "face"),
    ("background left", "1.3 m", "125 deg camera-left", "1.2 m", "backdrop"),
    ("background right", "1.3 m", "125 deg camera-right", "1.2 m", "backdrop"),
    ("kicker", "1.4 m", "100 deg camera-right", "1.1 m", "face"),
)


def eight_lights():
    edits = []
    for name, distance, side, height, aim in MORE:
        place = {"distance": distance, "side": side, "height": height}
        edits.append({"add": "light", "body": {"name": name, "place": place, "aim": aim}})
    return apply_edits(ROOMY, edits)


def meets(one, other):
    """Whether two pieces have a point in common, by solving for where their lines meet."""
    (ax, ay), (bx, by) = one
    (cx, cy), (dx, dy) = other
    det = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx)
    if abs(det) < 1e-9:
        return False
    s = ((cx - ax) * (dy - cy) - (cy - ay) * (dx - cx)) / det
    t = ((cx - ax) * (by - ay) - (cy - ay) * (bx - ax)) / det
    return 1e-9 < s < 1 - 1e-9 and 1e-9 < t < 1 - 1e-9


POINT = st.tuples(st.integers(0, 40), st.integers(0, 40)).map(lambda p: (float(p[0]), float(p[1])))


@given(POINT, POINT, POINT, POINT)
def test_crossing_is_what_geometry_says(a, b, c, d):
    assert crossed((a, b), (c, d)) == meets((a, b), (c, d))


@settings(max_examples=15, deadline=None)
@given(st.lists(st.tuples(st.floats(60, 240), st.floats(60, 240)), min_size=2, max_size=9))
def test_where_crossing_is_not_allowed_no_leaders_cross(targets):
    space = LabelSpace(left=0.0, top=0.0, right=300.0, bottom=300.0)
    space.take_box(60.0, 60.0, 240.0, 240.0)
    labels = [Label(lines=((f"light {k}", 400),), target=at) for k, at in enumerate(targets)]
    placed, left_out = space.place(labels, crossing=False)
    assert len(placed) + len(left_out) == len(labels)
    for one, other in itertools.combinations(placed, 2):
        for a, b in itertools.product(one.leaders, other.leaders):
            assert not meets(a, b)


@pytest.mark.parametrize("module", [rig_plan, rig_elevation], ids=["plan", "elevation"])
def test_eight_lights_are_named_without_crossing(module, monkeypatch):
    report = check_setup(eight_lights())
    drawn = []  # the elevation's labels are drawn by the plan's module, too
    monkeypatch.setattr(rig_plan, "draw_labels", lambda _, placed: drawn.extend(placed))
    draw = getattr(module, module.__name__.rpartition(".")[2])
    draw(report.scene, sheet_of(report), size_pt=(260.0, 230.0))
    named = {one.label.lines[0][0].split(" ")[0] for one in drawn}
    assert {"3", "4", "5", "6", "7", "8", "9", "10"} <= named
    for one, other in itertools.combinations(drawn, 2):
        for a, b in itertools.product(one.leaders, other.leaders):
            assert not meets(a, b), (one.label.lines, other.label.lines)
