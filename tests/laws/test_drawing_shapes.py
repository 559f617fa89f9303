"""What the drawings' shapes are made with: plates, outlines, curves, views and text widths."""

import struct

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.drawing.brush import (
    brush_stroke,
    closed_curve,
    cut_to_convex,
    hull,
    smooth_curve,
)
from tapemark.drawing.page import largest_scale
from tapemark.drawing.plate import EMPTY, Surface, lay_plate
from tapemark.drawing.png import font_files
from tapemark.drawing.projection import POINT_M, ParallelView, camera_view, view_direction
from tapemark.drawing.style import INK, PAPER, WARM, contrast, luminance, mixed
from tapemark.drawing.svg import path_data
from tapemark.drawing.text_width import text_width
from tapemark.drawing.trace import blurred, rounded, shape_outlines
from tapemark.units import FOOT, INCH

VIEW = camera_view(
    np.array([0.0, 2.0, 1.0]),
    target=np.array([0.0, 0.0, 1.0]),
    focal_length_mm=50.0,
    frame_mm=(24.0, 36.0),
)
BOX = (-0.2, -0.2, 0.2, 0.2)


def area(ring):
    x, y = ring[:, 0], ring[:, 1]
    return abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2


def square(half_m, *, y_m, kind, tone=0.5):
    """A square facing the camera, y metres towards it from the sitter's mark."""
    steps = np.linspace(-half_m, half_m, 12)
    x, z = np.meshgrid(steps, steps)
    points = np.stack([x, np.full_like(x, y_m), z + 1.0], axis=-1)
    return Surface(points=points, tone=np.full(x.shape, tone), kind=kind)


def plate_of(*surfaces):
    return lay_plate(list(surfaces), view=VIEW, box=BOX, pitch=0.002)


def test_nearer_hides_farther_whatever_the_order():
    near, far = square(0.1, y_m=0.5, kind=1), square(0.3, y_m=0.0, kind=0)
    first, second = plate_of(near, far), plate_of(far, near)
    np.testing.assert_array_equal(first.kind, second.kind)
    middle = tuple(size // 2 for size in first.kind.shape)
    assert first.kind[middle] == 1
    assert first.depth[middle] == pytest.approx(1.5)
    assert first.kind[2, 2] == EMPTY


def test_a_square_covers_as_much_of_the_plate_as_perspective_says():
    plate = plate_of(square(0.2, y_m=0.0, kind=0))
    covered = (plate.kind == 0).sum() * plate.pitch**2
    assert covered == pytest.approx((0.4 / 2.0) ** 2, rel=0.03)


def test_traced_outline_has_the_area_of_what_is_shown():
    plate = plate_of(square(0.2, y_m=0.0, kind=0))
    (ring,) = shape_outlines(plate, plate.kind == 0)
    assert area(ring) == pytest.approx((plate.kind == 0).sum() * plate.pitch**2, rel=0.03)


def test_missing_points_leave_a_hole():
    surface = square(0.2, y_m=0.0, kind=0)
    surface.points[5:7, 5:7] = np.nan
    plate = plate_of(surface)
    middle = tuple(size // 2 for size in plate.kind.shape)
    assert plate.kind[middle] == EMPTY


@given(st.floats(0.5, 4.0))
def test_evening_out_keeps_the_sum(radius):
    field = np.zeros((40, 50))
    field[20, 25] = 1.0
    assert blurred(field, radius).sum() == pytest.approx(1.0, abs=1e-9)


@given(st.floats(8.0, 60.0))
def test_rounding_an_outline_keeps_its_size(radius):
    turn = np.linspace(0, 2 * np.pi, 200, endpoint=False)
    ring = radius * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    smooth = rounded(ring, step=1.0, radius=4.0)
    assert area(smooth) == pytest.approx(np.pi * radius**2, rel=0.01)


def test_a_curve_passes_through_its_knots():
    knots = np.array([(0.0, 0.0), (1.0, 2.0), (3.0, 1.0), (4.0, 4.0)])
    curve = smooth_curve(knots, count=2000)
    gaps = [np.linalg.norm(curve - knot, axis=1).min() for knot in knots]
    np.testing.assert_allclose(gaps, 0.0, atol=0.005)


def test_a_closed_curve_goes_once_around():
    knots = np.array([(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)])
    ring = closed_curve(knots, count=80)
    assert area(ring) == pytest.approx(np.pi, rel=0.15)


def test_a_stroke_is_as_wide_as_asked():
    line = np.stack([np.linspace(0, 100, 50), np.zeros(50)], axis=-1)
    stroke = brush_stroke(line, [2.0, 6.0, 2.0])
    assert np.ptp(stroke[:, 1]) == pytest.approx(6.0, rel=0.03)
    assert area(stroke) == pytest.approx(100 * 4.0, rel=0.02)


@given(st.floats(-0.9, 0.9), st.floats(-0.9, 0.9))
def test_cutting_two_squares_leaves_their_overlap(dx, dy):
    one = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
    moved = one + np.array([dx, dy])
    left = cut_to_convex(moved, one)
    expected = (1 - abs(dx)) * (1 - abs(dy))
    assert area(left) == pytest.approx(expected, abs=1e-9)
    turned = cut_to_convex(moved, one[::-1])
    assert area(turned) == pytest.approx(expected, abs=1e-9)


def test_cutting_apart_shapes_leaves_nothing():
    one = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
    assert len(cut_to_convex(one + 5.0, one)) == 0


@given(st.lists(st.tuples(st.floats(-9, 9), st.floats(-9, 9)), min_size=3, max_size=30))
def test_a_hull_holds_all_its_points(points):
    given_points = np.array(points)
    ring = hull(given_points)
    grown = hull(np.concatenate([ring, given_points]))
    assert area(grown) == pytest.approx(area(ring), abs=1e-9)


def test_parallel_views_put_camera_left_and_up_where_they_belong():
    plan = ParallelView(view_from="above", points_per_m=100.0, at_origin=(10.0, 20.0))
    np.testing.assert_allclose(plan(np.array([1.0, 2.0, 3.0])), (-90.0, 220.0))
    side = ParallelView(view_from="camera-left", points_per_m=100.0, at_origin=(10.0, 20.0))
    np.testing.assert_allclose(side(np.array([1.0, 2.0, 3.0])), (210.0, -280.0))
    for view, towards in (
        ("above", (0, 0, 1)),
        ("camera-left", (1, 0, 0)),
        ("camera-right", (-1, 0, 0)),
    ):
        np.testing.assert_allclose(view_direction(view), towards, atol=1e-15)


def test_a_pinhole_shows_camera_left_on_the_left_and_up_above():
    at = VIEW(np.array([(0.2, 0.0, 1.1), (0.0, 3.0, 1.0)]))
    np.testing.assert_allclose(at[0], (-0.1, -0.05), atol=1e-12)
    assert np.isnan(at[1]).all()  # behind the camera


@given(st.floats(0.5, 60.0), st.floats(0.5, 60.0), st.sampled_from(["metric", "us"]))
def test_the_scale_is_a_usual_one_that_fits(width_m, height_m, system):
    scale = largest_scale(width_m, height_m, room_pt=(500.0, 400.0), system=system)
    assert width_m * scale.points_per_m <= 500.0 + 1e-6
    assert height_m * scale.points_per_m <= 400.0 + 1e-6
    if system == "us" and scale.text.endswith("1 ft"):
        top, _, bottom = scale.text.split(" in")[0].partition("/")
        inches = float(top) / float(bottom or 1)
        assert scale.points_per_m == pytest.approx(inches * INCH / FOOT / POINT_M)
    else:
        assert scale.points_per_m == pytest.approx(
            1 / (float(scale.text.removeprefix("1:")) * POINT_M), rel=0.06
        )


def test_trouble_and_calm_can_be_told_apart_without_colour():
    assert contrast(WARM, PAPER) >= 4.5
    assert contrast(INK, PAPER) >= 4.5
    assert contrast(INK, WARM) >= 2.0  # darkness alone


def test_luminance_and_contrast_at_the_ends():
    assert luminance("#ffffff") == pytest.approx(1.0)
    assert luminance("#000000") == 0.0
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert mixed("#000000", "#ffffff", share=0.5) == "#808080"


def test_path_data_breaks_at_a_gap_and_drops_repeats():
    outline = np.array([(0.0, 0.0), (0.0, 0.0), (1.5, 0.25), (np.nan, 0.0), (3.0, 3.0), (4.0, 3.0)])
    assert path_data([outline], closed=False) == "M0 0l1.5 .25M3 3l1 0"
    assert path_data([np.zeros((4, 2))], closed=True) == ""


def advances(path):
    """Advance width of every character of a TrueType file, in thousandths of the size."""
    with open(path, "rb") as file:
        data = file.read()
    count = struct.unpack(">H", data[4:6])[0]
    tables = {}
    for k in range(count):
        tag, _sum, start, _length = struct.unpack(">4sIII", data[12 + 16 * k : 28 + 16 * k])
        tables[tag] = start
    (unit,) = struct.unpack(">H", data[tables[b"head"] + 18 : tables[b"head"] + 20])
    (long_metrics,) = struct.unpack(">H", data[tables[b"hhea"] + 34 : tables[b"hhea"] + 36])
    widths = [
        struct.unpack(">H", data[tables[b"hmtx"] + 4 * k : tables[b"hmtx"] + 4 * k + 2])[0]
        for k in range(long_metrics)
    ]
    glyphs = glyph_numbers(data, tables[b"cmap"])
    return {
        letter: 1000 * widths[min(glyph, long_metrics - 1)] / unit
        for letter, glyph in glyphs.items()
    }


def glyph_numbers(data, start):
    """Glyph of each character, from the format 4 table of a font's character map."""
    (count,) = struct.unpack(">H", data[start + 2 : start + 4])
    for k in range(count):
        (offset,) = struct.unpack(">I", data[start + 8 + 8 * k : start + 12 + 8 * k])
        if struct.unpack(">H", data[start + offset : start + offset + 2])[0] == 4:
            return format_four(data, start + offset)
    raise AssertionError("no format 4 table")


def format_four(data, at):
    size = struct.unpack(">H", data[at + 6 : at + 8])[0] // 2

    def column(number):
        first = at + 14 + 2 * size * number + (2 if number else 0)
        return struct.unpack(f">{size}H", data[first : first + 2 * size])

    glyphs = {}
    for k, (end, start, delta, reach) in enumerate(
        zip(*(column(n) for n in range(4)), strict=True)
    ):
        for code in range(start, min(end, 0xFFFE) + 1):
            glyph = code + delta
            if reach:
                place = at + 16 + 2 * (3 * size + k) + reach + 2 * (code - start)
                (found,) = struct.unpack(">H", data[place : place + 2])
                glyph = found + delta if found else 0
            if glyph & 0xFFFF:
                glyphs[chr(code)] = glyph & 0xFFFF
    return glyphs


@pytest.mark.parametrize(("file", "weight"), [(0, 400), (1, 600)])
def test_text_widths_are_those_of_the_font_file(file, weight):
    from_file = advances(font_files()[file])
    for (
        letter
    ) in "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 .,:;-–()/'°%×éüñÅø":
        ours = text_width(letter, size_pt=1000.0, weight=weight)
        assert ours == pytest.approx(from_file[letter], abs=2.5), letter
