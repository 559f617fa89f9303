"""Exposure arithmetic against printed values."""

import numpy as np
import pytest

from tapemark.photometry import (
    DOME,
    FLAT,
    ambient_stops_under,
    aperture_from_exposure,
    exact_aperture,
    exposure_value,
    exposure_value_from_illuminance,
    flash_light_output,
    intensity_from_guide_number,
    nominal_aperture,
    required_flash_exposure,
    share_at_stops_under,
    stops_between,
    stops_of_pops,
)
from tapemark.studio import Camera, Place

FOOT = 0.3048
STOP = 1.0


def test_exposure_value_zero_is_2_5_lux():
    # SOURCE    [colour-hdri] doctest illuminance_to_exposure_value(2.5, 100) -> 0.0
    # ASSUMES   flat receptor, C = 250
    # PRINTED   2.5 lx, EV 0 at ISO 100
    np.testing.assert_allclose(
        exposure_value_from_illuminance(2.5, calibration=FLAT), 0.0, rtol=0, atol=1e-12
    )


def test_illuminance_for_f8_and_one_second_is_160_lux():
    # SOURCE    [colour-hdri] doctest average_illuminance(8, 1, 100) -> 160.0
    # ASSUMES   C = 250; 160 lx for 1 s is 160 lx s
    # PRINTED   160.0
    np.testing.assert_allclose(required_flash_exposure(8.0, iso=100.0), 160.0, rtol=1e-14)


def test_meter_constants_lie_in_the_ranges_of_the_standard():
    # SOURCE    [iso-2720] ranges as restated: flat 240 to 400, dome 320 to 540
    # ASSUMES   custom: 250 flat, 320 to 340 dome
    # PRINTED   the ranges; a second witness has 30 foot-candles, 322.9 lx, for the dome
    assert FLAT == 250.0
    assert 320.0 <= DOME <= 340.0
    second_witness = 30.0 / FOOT**2
    np.testing.assert_allclose(second_witness, 322.9, rtol=0, atol=0.05)  # as printed beside it
    np.testing.assert_allclose(
        stops_between(DOME, reference=second_witness), 0.0, rtol=0, atol=0.1 * STOP
    )


# SOURCE    [nominal-apertures] lists of exact and printed f-numbers
# ASSUMES   exact f-number 2^(k/6)
# PRINTED   exact, nominal; f/1.26 is 1.2 here, 1.3 in some lists
APERTURES = [
    *((1.0, 1.0), (1.122, 1.1), (1.260, 1.2), (1.414, 1.4), (1.587, 1.6), (1.782, 1.8)),
    *((2.0, 2.0), (2.245, 2.2), (2.520, 2.5), (2.828, 2.8), (3.175, 3.2), (3.564, 3.5)),
    *((4.0, 4.0), (4.490, 4.5), (5.040, 5.0), (5.657, 5.6), (6.350, 6.3), (7.127, 7.1)),
    *((8.0, 8.0), (8.980, 9.0), (10.08, 10.0), (11.31, 11.0), (12.70, 13.0), (14.25, 14.0)),
    *((16.0, 16.0), (17.96, 18.0), (20.16, 20.0), (22.63, 22.0), (25.40, 25.0)),
    *((28.51, 29.0), (32.0, 32.0)),
]


@pytest.mark.parametrize(("exact", "nominal"), APERTURES)
def test_third_stop_apertures_match_the_printed_series(exact, nominal):
    assert nominal_aperture(exact) == nominal
    np.testing.assert_allclose(exact_aperture(nominal), exact, rtol=0.5e-3)


# SOURCE    [flash-guide-numbers] 32 m at 4 m -> f/8; 80, 120, 160 ft at f/8 -> 10, 15, 20 ft
# ASSUMES   ISO 100, distance from flash to subject, one point source
# PRINTED   guide number, distance, aperture; lengths in metres here
GUIDE_NUMBERS = [
    (32.0, 4.0, 8.0),
    (80.0 * FOOT, 10.0 * FOOT, 8.0),
    (120.0 * FOOT, 15.0 * FOOT, 8.0),
    (160.0 * FOOT, 20.0 * FOOT, 8.0),
]


@pytest.mark.parametrize(("guide_number", "distance_m", "aperture"), GUIDE_NUMBERS)
def test_guide_number_gives_the_printed_aperture(guide_number, distance_m, aperture):
    intensity = intensity_from_guide_number(guide_number, iso=100.0)
    exposure = intensity / distance_m**2
    np.testing.assert_allclose(aperture_from_exposure(exposure, iso=100.0), aperture, rtol=1e-12)


def test_two_equal_units_are_one_stop_more():
    # SOURCE    [navedtra-14209] p. 144: two equal units at equal distance, halve the exposure
    # ASSUMES   exposures add
    # PRINTED   +1 stop
    np.testing.assert_allclose(
        stops_between(2.0 * 73.0, reference=73.0), 1.0 * STOP, rtol=0, atol=1e-12
    )


def test_flash_tube_of_150_watt_seconds_gives_6000_lumen_seconds():
    # SOURCE    [flash-efficacy] worked illustration
    # ASSUMES   40 lm s per J stored
    # PRINTED   150 W s -> 6000 lm s
    np.testing.assert_allclose(flash_light_output(150.0, efficacy_lm_per_w=40.0), 6000.0)


def test_working_office_light_lies_where_the_tables_put_it():
    # SOURCE    [office-light] 200 to 400 lx; [tabulated-exposure-values] offices EV 7 to 8
    # ASSUMES   C = 250; the two disagree by 0.7 stop at both ends, as printed
    # PRINTED   200 lx to 400 lx against EV 7 to 8
    low, high = exposure_value_from_illuminance(np.array([200.0, 400.0]))
    np.testing.assert_allclose([low, high], [7.0, 8.0], rtol=0, atol=0.7 * STOP)


def test_shutter_and_aperture_give_the_exposure_value_of_the_definition():
    # SOURCE    [exposure-value] EV = log2(N^2/t); EV 0 is f/1 at 1 s
    # ASSUMES   exact f-numbers
    # PRINTED   EV 0
    np.testing.assert_allclose(exposure_value(1.0, shutter_s=1.0), 0.0, rtol=0, atol=1e-12)


def test_pops_count_as_units_do():
    # SOURCE    [navedtra-14209] p. 144: two equal units at equal distance, halve the exposure
    # ASSUMES   pops of one head add up as two heads do; doubling again is one stop again
    # PRINTED   +1 stop
    np.testing.assert_allclose(
        stops_of_pops(np.array([1.0, 2.0, 4.0])), [0.0, 1.0, 2.0], rtol=0, atol=1e-12
    )


def test_customary_meter_constants_imply_a_mid_tone_of_15_7_percent():
    # SOURCE    [mid-tone] R = pi K/C
    # ASSUMES   K = 12.5 cd/m2 s against our C of a flat receptor; a perfect diffuser
    # PRINTED   15.7 %
    np.testing.assert_allclose(np.pi * 12.5 / FLAT, 0.157, rtol=0, atol=0.0005)


# SOURCE    [tabulated-exposure-values] homes EV 5 to 7, at ISO 100
# ASSUMES   C = 250, the flat receptor; the camera at f/8 and 1/160 s
# PRINTED   5 and 7
HOMES_EV = (5.0, 7.0)


def test_light_of_a_home_is_lost_beside_studio_flash():
    setting = exposure_value(8.0, shutter_s=1 / 160)
    under = ambient_stops_under(setting, scene_ev=np.array(HOMES_EV))
    assert np.all(under > 6.0)  # unseen: under 2 % of the exposure
    assert np.all(share_at_stops_under(under) < 0.02)


# SOURCE    [sync-limit] fastest full-frame sync of focal-plane shutters
# ASSUMES   our default is one that works with nearly all of them
# PRINTED   1/180 to 1/250 s
def test_default_sync_limit_is_a_usual_one():
    limit_s = Camera(place=Place(distance_m=2.0, height_m=1.2), focal_length_mm=85.0).sync_s
    assert 1 / 250 <= limit_s <= 1 / 180
