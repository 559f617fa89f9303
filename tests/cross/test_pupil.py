"""Pupil diameters against values computed, not published, from the published formula."""

import numpy as np
import pytest

from tapemark.optics import pupil_diameter

MM = 1e-3

# luminance [cd/m2], age [years], diameter [mm]; field 1000 deg2, two eyes
COMPUTED = [
    (10.0, 30.0, 4.39),
    (50.0, 30.0, 3.55),
    (100.0, 30.0, 3.25),
    (300.0, 30.0, 2.87),
    (1000.0, 30.0, 2.57),
    (100.0, 60.0, 2.96),
]


@pytest.mark.parametrize(("luminance_cd_m2", "age_years", "diameter_mm"), COMPUTED)
def test_pupil_matches_computed_value(luminance_cd_m2, age_years, diameter_mm):
    ours = pupil_diameter(luminance_cd_m2, age_years=age_years, field_deg2=1000.0)
    np.testing.assert_allclose(ours, diameter_mm * MM, rtol=0, atol=0.005 * MM)


def test_one_eye_counts_a_tenth():
    one = pupil_diameter(100.0, age_years=40.0, eyes=1)
    np.testing.assert_allclose(one, pupil_diameter(10.0, age_years=40.0, eyes=2), rtol=1e-14)
