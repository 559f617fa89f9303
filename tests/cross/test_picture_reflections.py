"""Reflections in a picture against those the analyses predict, on 29 setups.

The picture's layer of the glasses is traced through closed lens solids of its own (see
`rendering/lens_solids.py`) by the path tracer; of the analyses it has what the setup says and how
bright the lights are. Each reflection of at least 40 mm² on a lens is compared: where it shows,
where its middle is and how bright. Pixels are a fifth of a millimetre on the lens.

Frames are left out where it is about the lenses. With a frame of 2 mm the picture has the ends of
bridge and arms, which the analyses do not know; they then differ by a few square millimetres.
"""

import numpy as np
import pytest
from tests.cross.picture_cases import CASES, FRAMED
from tests.cross.picture_compare import compared

LEAST_OVERLAP = 0.95
#: Where light fades over the lens its end follows its level, and a level 3 % off moves it. The
#: analyses take the bare edge of a rimless lens as a line of 0.6 mm; the picture shows it clear.
LEAST_OF = {"grid": 0.90, "rimless": 0.90}
LEAST_FRAMED_OVERLAP = 0.90
MOST_APART_MM = 0.5
BRIGHTNESS_STOPS = 0.15
LEAST_MM2, LEAST_FRAMED_MM2 = 40.0, 60.0


def large(case, *, least=LEAST_MM2, framed=False):
    return {key: one for key, one in compared(case, framed=framed).items() if one.size_mm2 > least}


@pytest.mark.parametrize("case", CASES)
def test_reflections_are_where_the_picture_shows_them(case):
    found = large(case)
    assert found
    least = LEAST_OF.get(case, LEAST_OVERLAP)
    worst = {key: round(one.overlap, 3) for key, one in found.items() if one.overlap < least}
    assert worst == {}


@pytest.mark.parametrize("case", CASES)
def test_middles_of_reflections_agree(case):
    apart = [one.apart_mm for one in large(case).values()]
    np.testing.assert_allclose(apart, 0.0, atol=MOST_APART_MM)


@pytest.mark.parametrize("case", CASES)
def test_reflections_are_as_bright_as_in_the_picture(case):
    gaps = [one.gap_stops for one in large(case).values()]
    np.testing.assert_allclose(gaps, 0.0, atol=BRIGHTNESS_STOPS)


@pytest.mark.parametrize("case", FRAMED)
def test_frame_hides_about_what_the_rim_of_the_analyses_hides(case):
    found = large(case, least=LEAST_FRAMED_MM2, framed=True)
    assert min(one.overlap for one in found.values()) >= LEAST_FRAMED_OVERLAP
    np.testing.assert_allclose([one.apart_mm for one in found.values()], 0.0, atol=MOST_APART_MM)
