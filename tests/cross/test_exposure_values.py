"""Exposure and flash figures that are computed by closed forms elsewhere, not published."""

import numpy as np
import pytest

from tapemark.analysis import emitters
from tapemark.geometry import dot
from tapemark.photometry import (
    DOME,
    FLAT,
    ambient_stops_under,
    aperture_from_exposure,
    bare_tube_intensity,
    beam_exponent,
    beam_intensity,
    beam_light,
    bounced_exposure,
    disc_on_axis_factor,
    dome_share,
    exact_aperture,
    exposure_value,
    face_luminance,
    flash_light_output,
    guide_number_at,
    guide_number_m,
    honeycomb_share,
    illuminance_from_exposure_value,
    intensity_from_guide_number,
    mixed_exposure,
    rectangle_parallel_factor,
    required_flash_exposure,
    room_exposure,
    room_lift,
    share_at_stops_under,
    shutter_for_stops_under,
    stops_between,
)
from tapemark.studio import Camera, Head, Light, Modifier, Place, Room, Setup, Sitter


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


# EV at ISO 100 of home light, stops under f/8 at 1/160 s, share of the exposure
AMBIENT = [(5.0, 8.3, 0.003), (7.0, 6.3, 0.013), (8.0, 5.3, 0.025), (11.0, 2.3, 0.20)]


@pytest.mark.parametrize(("scene_ev", "under", "share"), AMBIENT)
def test_ambient_share_beside_a_studio_setting(scene_ev, under, share):
    setting = exposure_value(8.0, shutter_s=1 / 160)
    stops = ambient_stops_under(setting, scene_ev=scene_ev)
    np.testing.assert_allclose(stops, under, rtol=0, atol=0.05)
    np.testing.assert_allclose(share_at_stops_under(stops), share, rtol=0.05)
    illuminance = illuminance_from_exposure_value(scene_ev)
    flash = required_flash_exposure(8.0, iso=100.0)
    back = shutter_for_stops_under(stops, flash_lx_s=flash, illuminance_lx=illuminance)
    np.testing.assert_allclose(back, 1 / 160, rtol=1e-12)
    mixed = mixed_exposure(flash, illuminance_lx=illuminance, shutter_s=1 / 160)
    np.testing.assert_allclose(mixed / flash - 1.0, share_at_stops_under(stops), rtol=1e-12)


# Candela-seconds and guide number in feet at ISO 100 for GN = sqrt(k BCPS S) with k = 0.05, a
# constant of makers that is from memory; it stands for C = 215.
CANDELA_IN_FEET = [(1000.0, 71.0), (2000.0, 100.0), (4000.0, 141.0), (8000.0, 200.0)]


@pytest.mark.parametrize(("intensity", "feet"), CANDELA_IN_FEET)
def test_makers_constant_is_our_equation_with_another_c(intensity, feet):
    foot = 0.3048
    c = 1.0 / foot**2 / 0.05
    np.testing.assert_allclose(c, 215.0, rtol=0, atol=0.5)
    metres = guide_number_m(intensity, iso=100.0, calibration=c)
    np.testing.assert_allclose(metres / foot, feet, rtol=0, atol=0.5)
    optimistic = 2.0 * np.log2(metres / guide_number_m(intensity, iso=100.0))
    np.testing.assert_allclose(optimistic, 0.22, rtol=0, atol=0.005)


# power, share of the guide number at full power
POWERS = [(0.0, 1.0), (-1.0, 0.707), (-2.0, 0.5), (-3.0, 0.354), (-4.0, 0.25), (-5.0, 0.177)]


@pytest.mark.parametrize(("power_stops", "share"), POWERS)
def test_guide_number_falls_with_the_root_of_the_power(power_stops, share):
    scaled = guide_number_at(1.0, from_iso=100.0, to_iso=100.0, power_stops=power_stops)
    np.testing.assert_allclose(scaled, share, rtol=0, atol=0.0005)
    intensity = intensity_from_guide_number(1.0, iso=100.0) * 2.0**power_stops
    np.testing.assert_allclose(guide_number_m(intensity, iso=100.0), scaled, rtol=1e-12)


def test_dome_shows_the_light_its_lit_half():
    steps = (np.arange(400) + 0.5) / 400
    polar, around = np.meshgrid(np.arccos(steps), 2.0 * np.pi * steps, indexing="ij")
    outward = np.stack(
        [np.sin(polar) * np.cos(around), np.sin(polar) * np.sin(around), np.cos(polar)], axis=-1
    )
    for turned in (0.0, 0.4, 1.2, 2.0, 3.0):
        light = np.array([np.sin(turned), 0.0, np.cos(turned)])
        seen = np.maximum(outward @ light, 0.0).mean() * 2.0 * np.pi  # of a ball of radius 1
        np.testing.assert_allclose(seen / np.pi, dome_share(np.cos(turned)), rtol=0, atol=1e-3)


def test_honeycomb_passes_what_both_ends_of_a_cell_leave_open():
    # Rays at an angle into a slot of width 1 and depth d: those that reach the far end.
    depth, places = 2.5, (np.arange(20_000) + 0.5) / 20_000
    acceptance = 2.0 * np.arctan(1.0 / depth)
    for angle in (0.0, 0.1, 0.2, 0.3, 0.38, 0.5):
        ends = places + depth * np.tan(angle)
        np.testing.assert_allclose(
            honeycomb_share(np.cos(angle), acceptance=acceptance),
            np.mean(ends <= 1.0),
            rtol=0,
            atol=1e-4,
        )


@pytest.mark.parametrize("beam_deg", [50.0, 65.0, 90.0, 120.0])
def test_beam_holds_all_its_light_and_half_its_intensity_at_the_edge(beam_deg):
    exponent = beam_exponent(np.deg2rad(beam_deg))
    on_axis = beam_intensity(5000.0, exponent=exponent)
    np.testing.assert_allclose(np.cos(np.deg2rad(beam_deg / 2)) ** exponent, 0.5, rtol=1e-12)
    angle = (np.arange(20_000) + 0.5) / 20_000 * np.pi / 2
    ring = 2.0 * np.pi * np.sin(angle) * np.cos(angle) ** exponent
    total = on_axis * ring.sum() * (angle[1] - angle[0])
    np.testing.assert_allclose(total, 5000.0, rtol=1e-6)
    np.testing.assert_allclose(beam_light(on_axis, exponent=exponent), 5000.0, rtol=1e-12)


def test_bounce_after_bounce_adds_up_to_the_estimate():
    reflectance, light, surface = 0.45, 900.0, 120.0
    total, sent = 0.0, light
    for _ in range(200):
        sent *= reflectance
        total += sent / surface
    np.testing.assert_allclose(
        room_exposure(light, reflectance=reflectance, surface_m2=surface), total, rtol=1e-12
    )
    np.testing.assert_allclose(total / (light * reflectance / surface), room_lift(reflectance))


# ------------------------------------------------- the same figures through a described light


def head_on(modifier, **head):
    light = Light(
        name="key",
        head=Head(**head),
        modifier=Modifier(**modifier),
        place=Place(distance_m=3.0, height_m=1.2),
    )
    setup = Setup(
        room=Room(width_m=8.0, length_m=9.0, height_m=3.0),
        sitter=Sitter(eye_height_m=1.2),
        camera=Camera(place=Place(distance_m=2.0, height_m=1.2), focal_length_mm=85.0),
        lights=(light,),
    )
    (source,) = emitters(setup)
    return source


def received(source, distance_m):
    """On the axis, turned to the light, at distances (n,) [lx s]."""
    out = source.face.axes[:, 1]
    return source.exposure_at(source.face.center + np.multiply.outer(distance_m, out), normal=-out)


def test_softbox_that_is_described_is_the_softbox_that_is_worked_out():
    source = head_on(
        {"kind": "softbox", "width_m": 0.6, "height_m": 0.9}, kind="flash", energy_j=400.0
    )
    distances, exposures, apertures = (np.array(column) for column in zip(*SOFTBOX, strict=True))
    light = received(source, distances)
    np.testing.assert_allclose(light, exposures, rtol=0, atol=0.6)
    np.testing.assert_allclose(
        aperture_from_exposure(light[-1], iso=100.0), apertures[-1], rtol=0, atol=0.05
    )


@pytest.mark.parametrize("kind", ["octagonal box", "reflected umbrella"])
def test_round_lights_follow_the_disc_near_and_far(kind):
    source = head_on({"kind": kind, "diameter_m": 1.0}, kind="flash", energy_j=400.0)
    distances = np.array([0.3, 0.5, 1.0, 2.0, 5.0])
    radius = np.sqrt(source.face.area_m2 / np.pi)  # of the disc of the same area
    disc = np.pi * source.brightness * disc_on_axis_factor(radius, distance_m=distances)
    np.testing.assert_allclose(received(source, distances), disc, rtol=2e-3)


@pytest.mark.parametrize(
    "shaped",
    [
        {"kind": "beauty dish", "diameter_m": 0.55},
        {"kind": "beauty dish", "diameter_m": 0.55, "grid_deg": 30.0},
        {"kind": "softbox", "width_m": 0.6, "height_m": 0.9, "grid_deg": 40.0},
    ],
)
def test_narrow_beams_agree_with_a_sum_over_many_small_places(shaped):
    source = head_on(shaped, kind="flash", energy_j=400.0)
    face, out = source.face, source.face.axes[:, 1]
    steps = (np.arange(160) + 0.5) / 160 - 0.5
    across, up = np.meshgrid(steps * face.width_m, steps * face.height_m)
    inside = face.margin(np.stack([across, up], axis=-1)) >= 0
    places = (
        face.center
        + across[inside][:, None] * face.axes[:, 0]
        + up[inside][:, None] * face.axes[:, 2]
    )
    cell = face.area_m2 / inside.sum()
    for distance_m, aside_m in ((0.7, 0.0), (1.2, 0.3), (2.5, -0.5)):
        at = face.center + distance_m * out + aside_m * face.axes[:, 0]
        span = at - places
        size = np.sqrt(dot(span, span))
        leaving = span / size[:, None]
        bright = source.brightness * source.relative_brightness(leaving)
        small = bright * dot(leaving, out) * dot(leaving, out) / size**2 * cell
        np.testing.assert_allclose(
            source.exposure_at(at, normal=-out), small.sum(), rtol=0.03, atol=1e-6
        )
