"""Fresnel's equations in our form against the sine and tangent form, and against a table.

The table is computed, not published: by that other form, with one value also by another
program (0.0891867 at 60 degrees, index 1.5). No printed table of reflectance against angle was
found.
"""

import numpy as np
import pytest

from tapemark.optics import (
    brewster_angle,
    fresnel_reflectance,
    normal_reflectance,
    unpolarised_reflectance,
)

DEGREE = np.pi / 180.0

# incidence [deg], R_s, R_p, unpolarised, all for index 1.5 [-]
TABLE = [
    (0.0, 0.04000, 0.04000, 0.04000),
    (15.0, 0.04384, 0.03633, 0.04008),
    (30.0, 0.05780, 0.02525, 0.04152),
    (45.0, 0.09201, 0.00847, 0.05024),
    (60.0, 0.17657, 0.00180, 0.08919),
    (75.0, 0.39936, 0.10677, 0.25306),
    (85.0, 0.73235, 0.49325, 0.61280),
]
# incidence [deg], unpolarised for index 1.586, 1.67, 1.74 [-]
HIGHER = [
    (0.0, 0.05135, 0.06297, 0.07294),
    (45.0, 0.06242, 0.07455, 0.08475),
    (60.0, 0.10305, 0.11590, 0.12615),
    (75.0, 0.26749, 0.27889, 0.28687),
]
# index [-]; one surface, whole lens 2R/(1 + R), back seen through front [%]; Brewster [deg]
MATERIALS = [
    (1.498, 3.97, 7.64, 3.66, 56.3),
    (1.500, 4.00, 7.69, 3.69, 56.3),
    (1.523, 4.30, 8.24, 3.94, 56.7),
    (1.586, 5.13, 9.77, 4.62, 57.8),
    (1.600, 5.33, 10.11, 4.77, 58.0),
    (1.670, 6.30, 11.85, 5.53, 59.1),
    (1.740, 7.29, 13.60, 6.27, 60.1),
]
TABLE_DIGIT = 0.5e-5


@pytest.mark.parametrize(("incidence_deg", "across", "within", "mean"), TABLE)
def test_table_for_index_1_5(incidence_deg, across, within, mean):
    cosine = np.cos(incidence_deg * DEGREE)
    ours = (
        *fresnel_reflectance(cosine, index_from=1.0, index_to=1.5),
        unpolarised_reflectance(cosine, index_from=1.0, index_to=1.5),
    )
    np.testing.assert_allclose(ours, (across, within, mean), rtol=0, atol=1.01 * TABLE_DIGIT)


@pytest.mark.parametrize(("incidence_deg", *"abc"), HIGHER)
def test_table_for_higher_indices(incidence_deg, a, b, c):
    ours = unpolarised_reflectance(
        np.cos(incidence_deg * DEGREE), index_from=1.0, index_to=np.array([1.586, 1.67, 1.74])
    )
    np.testing.assert_allclose(ours, (a, b, c), rtol=0, atol=1.01 * TABLE_DIGIT)


@pytest.mark.parametrize(("index", "surface", "lens", "back", "brewster_deg"), MATERIALS)
def test_table_of_materials(index, surface, lens, back, brewster_deg):
    r = normal_reflectance(index)
    ours = 100.0 * np.array([r, 2.0 * r / (1.0 + r), r * (1.0 - r) ** 2])
    np.testing.assert_allclose(ours, (surface, lens, back), rtol=0, atol=0.0051)
    np.testing.assert_allclose(brewster_angle(index) / DEGREE, brewster_deg, rtol=0, atol=0.05)


@pytest.mark.parametrize("index", [1.05, 1.376, 1.498, 1.6, 1.74])
def test_sine_and_tangent_form(index):
    # SOURCE    [springer-fresnel]; the form fails at 0 and is not ours
    incidence = np.linspace(0.01, 1.56, 300)
    refracted = np.arcsin(np.sin(incidence) / index)
    difference, total = incidence - refracted, incidence + refracted
    across, within = fresnel_reflectance(np.cos(incidence), index_from=1.0, index_to=index)
    np.testing.assert_allclose(
        across, (np.sin(difference) / np.sin(total)) ** 2, rtol=1e-11, atol=0
    )
    np.testing.assert_allclose(
        within, (np.tan(difference) / np.tan(total)) ** 2, rtol=1e-9, atol=1e-15
    )


def test_value_of_another_program():
    ours = unpolarised_reflectance(0.5, index_from=1.0, index_to=1.5)
    np.testing.assert_allclose(ours, 0.0891867, rtol=0, atol=0.5e-7)


@pytest.mark.parametrize("index", [1.376, 1.5, 1.74])
def test_parallel_light_vanishes_at_brewster_angle_and_nowhere_else(index):
    angles = np.linspace(0.0, 1.57, 200_001)
    _, within = fresnel_reflectance(np.cos(angles), index_from=1.0, index_to=index)
    found = angles[np.argmin(within)]
    np.testing.assert_allclose(found, brewster_angle(index), rtol=0, atol=angles[1])
    assert np.count_nonzero(within < 1e-8) < 200
