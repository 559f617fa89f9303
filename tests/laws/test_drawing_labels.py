"""Labels keep off each other and off the drawing, whatever there is to label."""

from itertools import combinations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tapemark.drawing.labels import CELL_PT, Label, LabelSpace, within

WIDTH, HEIGHT = 480.0, 360.0

places = st.tuples(st.floats(20.0, WIDTH - 20.0), st.floats(20.0, HEIGHT - 20.0))
texts = st.text(alphabet="abcdefgh MW0123456789", min_size=1, max_size=18)


@st.composite
def labels(draw):
    lines = tuple((text, 400) for text in draw(st.lists(texts, min_size=1, max_size=3)))
    return Label(lines=lines, target=draw(places), also=tuple(draw(st.lists(places, max_size=1))))


@st.composite
def obstacles(draw):
    x, y = draw(places)
    return (x, y, x + draw(st.floats(1.0, 90.0)), y + draw(st.floats(1.0, 70.0)))


def space_with(boxes):
    space = LabelSpace(left=0.0, top=0.0, right=WIDTH, bottom=HEIGHT)
    for box in boxes:
        space.take_box(*box)
    return space


def apart(a, b):
    return a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


@given(st.lists(labels(), max_size=9), st.lists(obstacles(), max_size=8))
def test_labels_lie_apart_and_off_obstacles(wanted, boxes):
    placed, left_out = space_with(boxes).place(wanted)
    assert len(placed) + len(left_out) == len(wanted)
    for one, other in combinations(placed, 2):
        assert apart(one.box, other.box)
    for one in placed:
        assert all(apart(one.box, box) for box in boxes)
        left, top, right, bottom = one.box
        assert left >= 0
        assert top >= 0
        assert right <= WIDTH
        assert bottom <= HEIGHT


@given(st.lists(labels(), max_size=7))
def test_leaders_run_from_the_edge_of_the_label_to_what_it_names(wanted):
    placed, _ = space_with([]).place(wanted)
    for one in placed:
        left, top, right, bottom = one.box
        assert [leader[1] for leader in one.leaders] == [one.label.target, *one.label.also]
        for (x, y), _target in one.leaders:
            assert left - 2.0 <= x <= right + 2.0
            assert top - 2.0 <= y <= bottom + 2.0


@given(labels())
def test_alone_on_the_page_a_label_stands_beside_what_it_names(label):
    (placed,), _ = space_with([]).place([label])
    (x, y), (target_x, target_y) = placed.leaders[0]
    assert np.hypot(target_x - x, target_y - y) < 12.0


def test_a_label_without_room_is_left_out():
    space = space_with([(0.0, 0.0, WIDTH, HEIGHT)])
    label = Label(lines=(("key", 600),), target=(100.0, 100.0))
    assert space.place([label]) == ([], [label])


def test_a_full_page_still_takes_what_fits():
    space = space_with([(0.0, 0.0, WIDTH, HEIGHT - 60.0)])
    many = [Label(lines=(("softbox", 400),), target=(50.0 * k, 20.0)) for k in range(60)]
    placed, left_out = space.place(many)
    assert len(placed) > 10
    assert left_out
    assert all(one.box[1] >= HEIGHT - 60.0 for one in placed)


def test_areas_and_lines_are_kept_free():
    space = space_with([])
    ring = np.array([(100.0, 100.0), (200.0, 120.0), (150.0, 220.0)])
    space.take_area(ring)
    space.take_line(np.array([(300.0, 10.0), (300.0, 300.0)]))
    assert not space.is_free(140.0, 140.0, 150.0, 150.0)
    assert not space.is_free(299.0, 150.0, 301.0, 160.0)
    assert space.is_free(20.0, 20.0, 60.0, 40.0)
    placed, _ = space.place([Label(lines=(("fill", 600),), target=(150.0, 150.0))])
    left, top, right, bottom = placed[0].box
    x, y = np.arange(left, right, 1.0), np.arange(top, bottom, 1.0)
    assert not within(ring, x, y).any()


def test_the_lattice_is_finer_than_a_line_of_text():
    assert Label(lines=(("key", 400),), target=(0.0, 0.0)).height_pt > 3 * CELL_PT
