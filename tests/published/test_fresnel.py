"""Reflectance of clear surfaces against printed values."""

import numpy as np
import pytest

from tapemark.optics import brewster_angle, normal_reflectance, unpolarised_reflectance

PERCENT = 0.01
DEGREE = np.pi / 180.0


def test_reflectance_at_75_degrees_is_that_of_the_worked_problem():
    # SOURCE    [scifrefl] equation file of 1993, quoting a text-book problem; from notes
    # ASSUMES   unpolarised light on a bare surface, air before it
    # PRINTED   n 1.61, incidence 75 deg, reflectance 27.1 %
    index, incidence_deg, printed_percent = 1.61, 75.0, 27.1
    tolerance = 0.05 * PERCENT  # half a unit in the last printed digit
    reflectance = unpolarised_reflectance(
        np.cos(incidence_deg * DEGREE), index_from=1.0, index_to=index
    )
    np.testing.assert_allclose(reflectance, printed_percent * PERCENT, rtol=0, atol=tolerance)


# SOURCE    [zeiss-coating] background section; [mcmahon-ar] for the two lens materials
# ASSUMES   normal incidence, uncoated; the lens figures are the plain sum of two surfaces
# PRINTED   index [-], surfaces [-], reflectance [%], half a unit of the last digit [%]
SUMS = [
    (1.5, 1, 4.0, 0.5),  # "about 4 % per surface at n = 1.5"
    (1.498, 2, 8.0, 0.5),  # hard resin, 8 %
    (1.586, 2, 10.3, 0.05),  # polycarbonate, 10.3 %
]


@pytest.mark.parametrize(("index", "surfaces", "percent", "half_digit"), SUMS)
def test_reflectance_square_on_matches_print(index, surfaces, percent, half_digit):
    np.testing.assert_allclose(
        surfaces * normal_reflectance(index),
        percent * PERCENT,
        rtol=0,
        atol=half_digit * PERCENT,
    )


@pytest.mark.parametrize("index", [1.498, 1.5, 1.523, 1.586, 1.67, 1.74])
def test_transmission_of_a_whole_lens_is_the_printed_formula(index):
    # SOURCE    [nfos-reflections] slide 17
    # ASSUMES   no absorption, all internal reflections added without interference
    # PRINTED   T = 2n/(1 + n^2)
    reflectance = normal_reflectance(index)
    transmission = (1.0 - reflectance) / (1.0 + reflectance)  # sum of the series
    np.testing.assert_allclose(transmission, 2.0 * index / (1.0 + index**2), rtol=1e-14)


def test_a_lens_of_index_1_5_lets_about_92_percent_through():
    # SOURCE    [zeiss-coating] background section
    # ASSUMES   two uncoated surfaces at normal incidence
    # PRINTED   "only about 92 % transmitted"
    passed = (1.0 - normal_reflectance(1.5)) ** 2
    np.testing.assert_allclose(passed, 0.92, rtol=0, atol=0.5 * PERCENT)


# SOURCE    [openstax-polarization] worked example, water and glass; from memory, not verified
# ASSUMES   light in air
# PRINTED   index [-], Brewster's angle [deg]
BREWSTER = [(1.333, 53.1), (1.520, 56.7)]


@pytest.mark.parametrize(("index", "angle_deg"), BREWSTER)
def test_brewster_angle_matches_worked_example(index, angle_deg):
    tolerance = 0.05 * DEGREE  # half a unit in the last printed digit
    np.testing.assert_allclose(brewster_angle(index), angle_deg * DEGREE, rtol=0, atol=tolerance)
