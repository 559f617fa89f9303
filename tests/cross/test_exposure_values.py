"""Exposure and flash figures that are computed by closed forms elsewhere, not published."""

import numpy as np
import pytest

from tapemark.photometry import (
    DOME,
    FLAT,
    aperture_from_exposure,
    bare_tube_intensity,
    bounced_exposure,
    exact_aperture,
    exposure_value,
    face_luminance,
    flash_light_output,
    guide_number_m,
    illuminance_from_exposure_value,
    rectangle_parallel_factor,
    required_flash_exposure,
    stops_between,
)


def test_illuminance_doubles_with_each_exposure_value():
    values = np.array([0.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 12.0, 15.0, 16.0])
    lux = [2.5, 20.0, 40.0, 80.0, 160.0, 320.0, 640.0, 10240.0, 81920.0, 163840.0]
    np.testing.assert_allclose(illuminance_from_exposure_value(values), lux, rtol=1e-14)
    np.testing.assert_allclose(
        illuminance_from_exposure_value(values, calibration=DOME), 1.32 * np.array(lux), rtol=1e-14
    )


# nominal aperture, lx s for a flat receptor and for a dome at ISO 100, half a digit
REQUIRED = [
    *((2.8, 20.0, 26.4, 0.05), (4.0, 40.0, 52.8, 0.05), (5.6, 80.0, 105.6, 0.05)),
    *((8.0, 160.0, 211.2, 0.05), (11.0, 320.0, 422.4, 0.05), (16.0, 640.0, 844.8, 0.05)),
]


@pytest.mark.parametrize(("nominal", "flat", "dome", "half_digit"), REQUIRED)
def test_required_flash_exposure_at_exact_stops(nominal, flat, dome, half_digit):
    n = exact_aperture(nominal)
    np.testing.assert_allclose(
        [
            required_flash_exposure(n, iso=100.0, calibration=FLAT),
            required_flash_exposure(n, iso=100.0, calibration=DOME),
        ],
        [flat, dome],
        rtol=0,
        atol=half_digit,
    )


# f-number taken as printed, flat, dome [lx s], half a digit
AS_PRINTED = [(2.8, 19.6, 25.9, 0.05), (5.6, 78.4, 103.5, 0.05), (11.0, 303.0, 399.0, 0.5)]


@pytest.mark.parametrize(("aperture", "flat", "dome", "half_digit"), AS_PRINTED)
def test_required_flash_exposure_at_printed_numbers(aperture, flat, dome, half_digit):
    np.testing.assert_allclose(
        [
            required_flash_exposure(aperture, iso=100.0, calibration=FLAT),
            required_flash_exposure(aperture, iso=100.0, calibration=DOME),
        ],
        [flat, dome],
        rtol=0,
        atol=1.01 * half_digit,
    )


def test_flat_and_dome_constants_differ_by_0_4_stop():
    np.testing.assert_allclose(stops_between(DOME, reference=FLAT), 0.40, rtol=0, atol=0.005)


def test_usual_studio_setting_is_exposure_value_13_32():
    np.testing.assert_allclose(exposure_value(8.0, shutter_s=1 / 160), 13.32, rtol=0, atol=0.005)


def test_bare_tube_of_400_joules():
    light = flash_light_output(400.0, efficacy_lm_per_w=40.0)
    intensity = bare_tube_intensity(light)
    boosted = bare_tube_intensity(light, axial_gain=5.0)
    np.testing.assert_allclose(light, 16_000.0)
    np.testing.assert_allclose(intensity, 1273.0, rtol=0, atol=0.5)
    np.testing.assert_allclose(
        guide_number_m(np.array([intensity, boosted]), iso=100.0), [22.6, 50.5], rtol=0, atol=0.05
    )


# candela-seconds, guide number at ISO 100 [m]
INTENSITIES = [(1000.0, 20.0), (2000.0, 28.3), (4000.0, 40.0), (8000.0, 56.6)]


@pytest.mark.parametrize(("intensity", "guide_number"), INTENSITIES)
def test_guide_number_from_candela_seconds(intensity, guide_number):
    np.testing.assert_allclose(
        guide_number_m(intensity, iso=100.0), guide_number, rtol=0, atol=0.05
    )


# distance [m], lx s, f-number of a 0.6 x 0.9 m softbox, 400 J, 40 lm s/J, 45 % leaving it
SOFTBOX = [(0.75, 3045.0, 35.0), (1.0, 1923.0, 28.0), (1.5, 938.0, 19.0), (2.0, 546.0, 14.8)]


@pytest.mark.parametrize(("distance_m", "exposure", "aperture"), SOFTBOX)
def test_softbox_on_axis(distance_m, exposure, aperture):
    luminance = face_luminance(16_000.0, efficiency=0.45, area_m2=0.6 * 0.9)
    factor = 4.0 * rectangle_parallel_factor(0.3, height_m=0.45, distance_m=distance_m)
    light = np.pi * luminance * factor
    np.testing.assert_allclose(light, exposure, rtol=0, atol=0.6)
    np.testing.assert_allclose(
        aperture_from_exposure(light, iso=100.0),
        aperture,
        rtol=0,
        atol=0.5 if aperture > 15 else 0.05,
    )


def test_bounced_small_flash():
    light = flash_light_output(60.0, efficacy_lm_per_w=40.0)
    straight = bounced_exposure(light, reflectance=0.8, distance_m=2.0)
    slanted = bounced_exposure(
        light, reflectance=0.8, distance_m=2.5, cos_emitted=np.sqrt(0.5), cos_received=np.sqrt(0.5)
    )
    np.testing.assert_allclose([straight, slanted], [153.0, 49.0], rtol=0, atol=0.5)
    np.testing.assert_allclose(
        aperture_from_exposure(np.array([straight, slanted]), iso=100.0),
        [7.8, 4.4],
        rtol=0,
        atol=0.05,
    )
