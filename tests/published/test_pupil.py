"""Pupil diameter against what the literature prints beside the formula.

The formula's own values are not printed in the sources seen; computed ones are in
tests/cross/test_pupil.py.
"""

import numpy as np
import pytest

from tapemark.optics import pupil_diameter

MM = 1e-3

# SOURCE    [winn-1994] abstract: slope of diameter against age at the lowest and at the
#           highest level. The levels, 9 and 4400 cd/m2, and the field, 10 degrees across seen
#           by one eye, are from memory, not verified
# ASSUMES   field 78.5 deg2, one eye; the formula was fitted to these data among others
# PRINTED   luminance [cd/m2], slope [mm/year]
SLOPES = [(9.0, -0.043), (4400.0, -0.015)]


@pytest.mark.parametrize(("luminance_cd_m2", "slope_mm_per_year"), SLOPES)
def test_pupil_shrinks_with_age_as_measured(luminance_cd_m2, slope_mm_per_year):
    old, young = (
        pupil_diameter(luminance_cd_m2, age_years=age, field_deg2=78.5, eyes=1)
        for age in (70.0, 20.0)
    )
    # 0.002 mm/year: the spread between the unified formula and this one study
    np.testing.assert_allclose(
        (old - young) / 50.0, slope_mm_per_year * MM, rtol=0, atol=0.002 * MM
    )


@pytest.mark.parametrize("age_years", [20.0, 40.0, 60.0])
def test_outdoor_pupil_lies_in_the_measured_range(age_years):
    # SOURCE    [outdoor-pupil] abstract: at 1473 cd/m2, mean 2.39, range 1.44 to 3.03 mm
    # ASSUMES   a field of 1000 deg2; ages of the people not seen
    # PRINTED   the range
    diameter = pupil_diameter(1473.0, age_years=age_years)
    assert 1.44 * MM < diameter < 3.03 * MM
