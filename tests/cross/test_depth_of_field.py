"""Depth of field and image size against rays traced through a thin lens.

A thin lens bends a ray that meets it at height h by the slope -h/f and nothing else: the
tracer knows neither the equation of conjugates nor that of the hyperfocal distance.
"""

import numpy as np
import pytest

from tapemark.optics import (
    blur_circle,
    depth_of_field_limits,
    field_size,
    hyperfocal_distance,
    image_distance,
    magnification,
)

MM = 1e-3
CIRCLE_M = 0.03 * MM

# Focal length [mm], f-number, focused at [m]
CASES = [
    (85.0, 2.8, 1.5),
    (85.0, 8.0, 2.0),
    (50.0, 4.0, 3.048),
    (135.0, 5.6, 2.4),
    (35.0, 11.0, 1.2),
]


def traced(height_m, distance_m, *, at_m, focal_m, sensor_m):
    """Height at the sensor of a ray from an object point that meets the lens at a height."""
    slope = (at_m - height_m) / distance_m - at_m / focal_m
    return at_m + slope * sensor_m


def sharp_plane(distance_m, *, focal_m):
    """Where rays from a point on the axis through the middle and the edge of the lens meet."""
    low, high = focal_m, 5.0 * focal_m
    for _ in range(80):
        middle = (low + high) / 2
        over = traced(0.0, distance_m, at_m=0.01, focal_m=focal_m, sensor_m=middle) > 0
        low, high = (middle, high) if over else (low, middle)
    return low


def traced_blur(distance_m, *, focused_at_m, focal_m, f_number):
    sensor = sharp_plane(focused_at_m, focal_m=focal_m)
    half = focal_m / f_number / 2
    edges = [
        traced(0.0, distance_m, at_m=at, focal_m=focal_m, sensor_m=sensor) for at in (half, -half)
    ]
    return abs(edges[0] - edges[1])


def traced_limit(*, focused_at_m, focal_m, f_number, towards_m):
    """Where, between the focus and a place, the blur grows to the circle of confusion."""
    sharp, soft = focused_at_m, towards_m
    for _ in range(80):
        middle = (sharp + soft) / 2
        blur = traced_blur(middle, focused_at_m=focused_at_m, focal_m=focal_m, f_number=f_number)
        sharp, soft = (middle, soft) if blur < CIRCLE_M else (sharp, middle)
    return sharp


@pytest.mark.parametrize(("focal_mm", "f_number", "at_m"), CASES)
def test_limits_are_where_traced_rays_spread_to_the_circle(focal_mm, f_number, at_m):
    focal = focal_mm * MM
    reach = hyperfocal_distance(focal, f_number=f_number, circle_m=CIRCLE_M)
    limits = depth_of_field_limits(at_m, focal_length_m=focal, hyperfocal_m=reach)
    expected = [
        traced_limit(focused_at_m=at_m, focal_m=focal, f_number=f_number, towards_m=end)
        for end in (0.3 * at_m, 1000.0)
    ]
    np.testing.assert_allclose(limits, expected, rtol=1e-9)


@pytest.mark.parametrize(("focal_mm", "f_number", "at_m"), CASES)
@pytest.mark.parametrize("share", [0.7, 0.98, 1.03, 1.8])
def test_blur_is_the_spread_of_traced_rays(focal_mm, f_number, at_m, share):
    lens = {"focused_at_m": at_m, "f_number": f_number}
    blur = blur_circle(share * at_m, focal_length_m=focal_mm * MM, **lens)
    expected = traced_blur(share * at_m, focal_m=focal_mm * MM, **lens)
    np.testing.assert_allclose(blur, expected, rtol=1e-9)


@pytest.mark.parametrize(("focal_mm", "f_number", "at_m"), CASES)
def test_frame_takes_in_what_traced_rays_bring_to_its_edges(focal_mm, f_number, at_m):
    focal, sensor = focal_mm * MM, sharp_plane(at_m, focal_m=focal_mm * MM)
    np.testing.assert_allclose(image_distance(at_m, focal_length_m=focal), sensor, rtol=1e-12)
    image = traced(0.1, at_m, at_m=0.5 * focal / f_number, focal_m=focal, sensor_m=sensor)
    np.testing.assert_allclose(-image / 0.1, magnification(at_m, focal_length_m=focal), rtol=1e-9)
    taken_in = field_size(at_m, focal_length_m=focal, side_m=36.0 * MM)
    edge = traced(taken_in / 2, at_m, at_m=0.0, focal_m=focal, sensor_m=sensor)
    np.testing.assert_allclose(edge, -18.0 * MM, rtol=1e-9)
