"""Area-source factors against printed values and printed rules."""

import numpy as np
import pytest

from tapemark.photometry import disc_on_axis_factor, patch_illuminance, rectangle_parallel_factor

PERCENT = 0.01


def test_rectangle_factor_matches_drysdale():
    # SOURCE    [drysdale] 2nd ed. p. 59, as quoted in a public program
    # ASSUMES   receiver parallel, opposite a corner; W H/S^2 = 0.6 and W/H = 0.8
    # PRINTED   0.106
    distance_m = 2.0
    width_m = np.sqrt(0.6 * 0.8) * distance_m
    height_m = np.sqrt(0.6 / 0.8) * distance_m
    factor = rectangle_parallel_factor(width_m, height_m=height_m, distance_m=distance_m)
    np.testing.assert_allclose(factor, 0.106, rtol=0, atol=0.0005)


def test_endless_sheet_gives_pi_times_luminance():
    # SOURCE    [disc-exercise] "irradiance at the surface is pi L"
    # ASSUMES   a surface right at the sheet
    # PRINTED   E = pi L, that is F = 1
    np.testing.assert_allclose(disc_on_axis_factor(1.0, distance_m=1e-9), 1.0, rtol=1e-12)


@pytest.mark.parametrize("multiple", [5.0, 6.0, 10.0])
def test_five_times_rule_holds_for_a_disc_within_one_percent(multiple):
    # SOURCE    [ies-five-times] definition 9.1.1
    # ASSUMES   an evenly bright disc, on axis; the largest dimension is the diameter
    # PRINTED   within 1 % at 5 times the maximum dimension or more
    radius_m = 0.45
    distance_m = multiple * 2.0 * radius_m
    true = np.pi * disc_on_axis_factor(radius_m, distance_m=distance_m)
    inverse_square = patch_illuminance(
        np.pi * radius_m**2, distance_m=distance_m, cos_emitted=1.0, cos_received=1.0
    )
    assert 0.0 < 1.0 - true / inverse_square <= 1.0 * PERCENT


@pytest.mark.parametrize(("width_m", "height_m"), [(0.6, 0.9), (0.9, 0.9), (0.3, 1.8)])
def test_five_times_rule_holds_for_a_rectangle_within_one_percent(width_m, height_m):
    # SOURCE    [ies-five-times] definition 9.1.1
    # ASSUMES   an evenly bright rectangle, opposite its centre; the largest dimension taken
    #           is the diagonal (with the longer side a square misses by 1.3 %)
    # PRINTED   within 1 % at 5 times the maximum dimension
    distance_m = 5.0 * np.hypot(width_m, height_m)
    quarter = rectangle_parallel_factor(
        0.5 * width_m, height_m=0.5 * height_m, distance_m=distance_m
    )
    inverse_square = patch_illuminance(
        width_m * height_m, distance_m=distance_m, cos_emitted=1.0, cos_received=1.0
    )
    assert 0.0 < 1.0 - 4.0 * np.pi * quarter / inverse_square <= 1.0 * PERCENT


def test_five_radii_are_not_enough():
    # SOURCE    [rule-of-five] exercise for fig. 26.30, and [disc-exercise] part d
    # ASSUMES   the first counts radii, not diameters; the second claims 1 % beyond 4 radii
    # PRINTED   5 radii; 1 % at 4 radii. Both are wrong as rules for 1 %: the error is 3.8 %
    #           and 5.9 %. The printed claims stand; this pins why we do not follow them.
    error_at_5 = 1.0 - disc_on_axis_factor(1.0, distance_m=5.0) * 25.0
    error_at_4 = 1.0 - disc_on_axis_factor(1.0, distance_m=4.0) * 16.0
    np.testing.assert_allclose([error_at_5, error_at_4], [0.038, 0.059], rtol=0, atol=0.0005)
