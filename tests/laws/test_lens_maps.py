"""What is made of the network's maps: outlines, pupils, patches. The maps here are drawn by us."""

import numpy as np
import pytest

from tapemark.photo.glare import lens_glare_seen
from tapemark.photo.lens_net import LensMaps, lens_maps
from tapemark.photo.lens_outlines import lens_likeness, lenses_seen
from tapemark.photo.lens_regions import Outline
from tapemark.photo.pupil_peaks import pupil_peaks
from tapemark.photo.strip import COLUMNS, PUPILS_APART_MM, ROWS, eye_strip, lattice_mm

RIGHT = Outline(-33.0, 3.0, 24.0, 19.0, 3.4)
LEFT = Outline(32.0, 2.0, 22.5, 18.0, 3.4)
A_PIXEL_MM, HALF_A_PIXEL_MM = 0.5, 0.25
EMPTY = np.zeros((ROWS, COLUMNS))


def drawn(right: Outline, left: Outline, **more: np.ndarray) -> LensMaps:
    """Return the maps of somebody with such lenses."""
    planes = {name: EMPTY for name in LensMaps._fields}
    planes |= {"right": right.within() * 1.0, "left": left.within() * 1.0}
    return LensMaps(**(planes | more))


def spot(across_mm: float, down_mm: float, *, high: float = 1.0) -> np.ndarray:
    across, down = lattice_mm()
    return high * np.exp(-0.5 * ((across - across_mm) ** 2 + (down - down_mm) ** 2) / 1.6**2)


@pytest.mark.parametrize("exponent", [2.0, 2.6, 3.4, 5.0])
@pytest.mark.parametrize("height", [15.0, 21.0])
def test_an_outline_is_the_one_its_pixels_were_drawn_with(exponent, height):
    right = RIGHT._replace(exponent=exponent, half_height=height)
    left = LEFT._replace(exponent=exponent, half_height=height)
    for found, true in zip(lenses_seen(drawn(right, left)), (right, left), strict=True):
        np.testing.assert_allclose(found[:4], true[:4], atol=A_PIXEL_MM)
        both, either = found.within() & true.within(), found.within() | true.within()
        assert both.sum() / either.sum() > 0.97


def test_patches_beside_a_lens_do_not_move_it():
    maps = drawn(RIGHT, LEFT)
    maps.right[5:15, 5:15] = 1.0
    assert lenses_seen(maps) == lenses_seen(drawn(RIGHT, LEFT))


def test_one_lens_is_no_pair():
    assert lenses_seen(drawn(RIGHT, LEFT)._replace(left=EMPTY)) is None
    tiny = LEFT._replace(half_width=6.0, half_height=6.0)
    assert lenses_seen(drawn(RIGHT, tiny)) is None


def test_likeness_is_of_what_fits_the_outline_and_of_nothing_else():
    maps = drawn(RIGHT, LEFT)
    assert lens_likeness(maps, (RIGHT, LEFT)) == pytest.approx(1.0)
    maps.left[:40, :160] = 1.0  # as much again, elsewhere
    share = LEFT.within().sum() / (LEFT.within().sum() + 40 * 160)
    assert lens_likeness(maps, (RIGHT, LEFT)) == pytest.approx(share)
    assert lens_likeness(drawn(RIGHT, LEFT)._replace(left=EMPTY), (RIGHT, LEFT)) == pytest.approx(
        0.0
    )


@pytest.mark.parametrize(("across", "down"), [(-31.5, 0.0), (-24.3, 5.1), (-40.2, -7.7)])
def test_a_pupil_is_where_its_peak_is(across, down):
    left = spot(30.0, 1.0, high=0.4)
    found = pupil_peaks(drawn(RIGHT, LEFT, right_pupil=spot(across, down), left_pupil=left))
    np.testing.assert_allclose(found.right, (across, down), atol=HALF_A_PIXEL_MM)
    np.testing.assert_allclose(found.left, (30.0, 1.0), atol=HALF_A_PIXEL_MM)
    assert found.sure == pytest.approx((1.0, 0.4), abs=0.03)


def test_a_peak_too_far_from_where_the_pupil_was_thought_is_none():
    far = drawn(RIGHT, LEFT, right_pupil=spot(-31.5 + 9.0, 0.0))
    assert pupil_peaks(far, reach_mm=2.0).sure[0] < 0.01
    assert pupil_peaks(far, reach_mm=12.0).sure[0] > 0.95


def test_every_patch_of_glare_has_a_number_and_crumbs_have_none():
    likely = np.zeros((ROWS, COLUMNS))
    row, column = 90, 94  # within the right lens, at strip scale
    likely[row : row + 8, column : column + 6] = 0.9
    likely[row - 30 : row - 20, column : column + 10] = 0.51
    likely[row + 20, column] = 1.0  # a quarter of a square millimetre
    likely[row : row + 8, column + 20 : column + 28] = 0.49  # likelier not
    seen = lens_glare_seen(likely, RIGHT, pupil_mm=(-PUPILS_APART_MM / 2, 0.0))
    sizes = sorted(int((seen.parts == one).sum()) for one in range(1, seen.parts.max() + 1))
    assert sizes == [48, 100]
    assert (seen.glare == (seen.parts > 0)).all()
    assert not (seen.opening & ~seen.lens).any()


def test_glare_outside_the_lens_is_none_of_it():
    seen = lens_glare_seen(np.ones((ROWS, COLUMNS)), RIGHT, pupil_mm=(-31.5, 0.0))
    assert seen.glare.sum() == seen.lens.sum()
    assert (seen.parts[seen.lens] == 1).all()


@pytest.mark.parametrize("times", [1.6, 4.3, 9.7])
def test_a_strip_shows_the_place_it_says_however_large_the_face_is(times):
    """Every pixel of the picture says where it is; means of whole steps keep that."""
    rows, columns = 1200, 1500
    down, across = np.mgrid[:rows, :columns]
    pixels = np.stack([across // 6, down // 5, across * 0], axis=-1).astype(np.uint8)
    apart = PUPILS_APART_MM * times / 2
    right, left = (760.0 - apart / 2, 590.0), (760.0 + apart / 2, 604.0)
    strip = eye_strip(pixels, right=right, left=left)
    at = strip.in_photo(np.array([[x, y] for x in (-40.0, 0.0, 40.0) for y in (-20.0, 0.0, 20.0)]))
    for (x, y), (column, row) in zip(at, _strip_pixels(), strict=True):
        inside = 40 < x < columns - 40 and 40 < y < rows - 40
        if inside:
            red, green, _ = strip.pixels[row, column].astype(float)
            tolerance = 1.0 + 0.5 + times / 6  # rounding down, rounding, the pixel's own width
            assert abs(red - x / 6) < tolerance
            assert abs(green - y / 5) < tolerance
    assert any(40 < x < columns - 40 and 40 < y < rows - 40 for x, y in at)


def _strip_pixels() -> list[tuple[int, int]]:
    return [
        (round((x + 80.0) * 2.0), round((y + 42.0) * 2.0))
        for x in (-40.0, 0.0, 40.0)
        for y in (-20.0, 0.0, 20.0)
    ]


def test_the_network_says_the_same_twice_and_nothing_but_shares():
    pixels = np.random.default_rng(3).integers(0, 255, (300, 400, 3), dtype=np.uint8)
    strip = eye_strip(pixels, right=(150.0, 140.0), left=(250.0, 141.0))
    first, second = lens_maps(strip), lens_maps(strip)
    for one, two in zip(first, second, strict=True):
        assert one.shape == (ROWS, COLUMNS)
        assert 0.0 <= one.min() <= one.max() <= 1.0
        np.testing.assert_array_equal(one, two)
