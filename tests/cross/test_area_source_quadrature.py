"""Area-source closed forms and the polygon formula against sums over small patches.

The test values of the rectangle factors and the table of stops are computed, not published.
"""

import numpy as np
import pytest

from tapemark.geometry import disc_points, normalize
from tapemark.photometry import (
    disc_on_axis_factor,
    patch_illuminance,
    polygon_illuminance,
    rectangle_parallel_factor,
    rectangle_perpendicular_factor,
)

STOP = 1.0
# width, height, distance [m], F parallel, F perpendicular with the normal along height, width
FACTORS = [
    (1.0, 1.0, 1.0, 0.138532, 0.055734, 0.055734),
    (0.3, 0.45, 1.0, 0.036052, 0.007629, 0.005261),
    (0.6, 0.9, 1.2, 0.078392, 0.025344, 0.018304),
    (2.0, 1.0, 0.5, 0.220778, 0.135488, 0.158775),
]


def rectangle(width_m, height_m, *, y=0.0):
    """Return a rectangle in the plane of x and z with one corner on the y axis."""
    return np.array([[0, y, 0], [width_m, y, 0], [width_m, y, height_m], [0, y, height_m]])


def patch_sum(width_m, height_m, *, point, normal, count=400):
    """Return E/L by adding up small patches of a rectangle in the plane y = 0."""
    x = (np.arange(count) + 0.5) * width_m / count
    z = (np.arange(count) + 0.5) * height_m / count
    grid = np.stack(np.broadcast_arrays(x[:, None], 0.0, z[None, :]), axis=-1)
    line = grid - point
    distance = np.sqrt(np.sum(line * line, axis=-1))
    return np.sum(
        patch_illuminance(
            width_m * height_m / count**2,
            distance_m=distance,
            cos_emitted=np.abs(line[..., 1]) / distance,
            cos_received=line @ normal / distance,
        )
    )


@pytest.mark.parametrize(("w", "h", "s", "parallel", "along_h", "along_w"), FACTORS)
def test_rectangle_factors_match_computed_values(w, h, s, parallel, along_h, along_w):
    ours = (
        rectangle_parallel_factor(w, height_m=h, distance_m=s),
        rectangle_perpendicular_factor(w, height_m=h, distance_m=s),
        rectangle_perpendicular_factor(h, height_m=w, distance_m=s),
    )
    np.testing.assert_allclose(ours, (parallel, along_h, along_w), rtol=0, atol=0.51e-6)


@pytest.mark.parametrize(("w", "h", "s", "parallel", "along_h", "along_w"), FACTORS)
def test_polygon_formula_gives_the_rectangle_factors(w, h, s, parallel, along_h, along_w):
    normals = np.array([[0.0, -1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])
    ours = polygon_illuminance(rectangle(w, h), point=np.array([0.0, s, 0.0]), normal=normals)
    closed = (
        rectangle_parallel_factor(w, height_m=h, distance_m=s),
        rectangle_perpendicular_factor(w, height_m=h, distance_m=s),
        rectangle_perpendicular_factor(h, height_m=w, distance_m=s),
    )
    np.testing.assert_allclose(ours, np.pi * np.array(closed), rtol=1e-12)
    np.testing.assert_allclose(ours / np.pi, (parallel, along_h, along_w), rtol=0, atol=0.51e-6)


@pytest.mark.parametrize(
    ("point", "normal"),
    [
        ((0.2, 1.0, 0.3), (0.0, -1.0, 0.0)),
        ((-0.8, 1.3, 2.1), (0.3, -1.0, -0.5)),
        ((0.3, 0.7, 0.2), (1.0, -0.2, 0.1)),  # horizon cuts the face
        ((0.3, 0.7, 0.2), (-1.0, -0.1, 1.0)),
        ((1.5, 0.4, 0.5), (-1.0, 0.05, 0.0)),
        ((0.3, 0.7, 0.2), (0.0, 1.0, 0.0)),  # face below the horizon
    ],
)
def test_polygon_formula_agrees_with_patches(point, normal):
    place, facing = np.array(point), normalize(np.array(normal))
    exact = polygon_illuminance(rectangle(0.6, 0.9), point=place, normal=facing)
    summed = patch_sum(0.6, 0.9, point=place, normal=facing)
    np.testing.assert_allclose(exact, summed, rtol=2e-4, atol=1e-12)


def test_polygon_with_many_corners_is_a_disc():
    outline = disc_points(64, diameter=0.9)
    corners = np.stack((outline[:, 0], np.zeros(64), outline[:, 1]), axis=-1)
    ours = polygon_illuminance(corners, point=(0.0, 0.8, 0.0), normal=(0.0, -1.0, 0.0))
    disc = np.pi * disc_on_axis_factor(0.45, distance_m=0.8)
    np.testing.assert_allclose(ours, disc, rtol=0.002)
    assert ours < disc


# distance in radii [-], stops below plain inverse square
DISC_STOPS = [
    *((1, 1.00, 0.005), (2, 0.32, 0.005), (3, 0.15, 0.005), (4, 0.087, 0.0006)),
    *((5, 0.057, 0.0006), (6, 0.040, 0.0006), (8, 0.022, 0.0006), (10, 0.014, 0.0006)),
]


@pytest.mark.parametrize(("radii", "stops", "half_digit"), DISC_STOPS)
def test_disc_falls_short_of_inverse_square(radii, stops, half_digit):
    shortfall = -np.log2(disc_on_axis_factor(0.3, distance_m=radii * 0.3) * radii**2)
    np.testing.assert_allclose(shortfall, stops * STOP, rtol=0, atol=half_digit)


# distance [m], stops below plain inverse square of a 0.6 x 0.9 m box, opposite its centre
BOX_STOPS = [
    *((0.5, 0.80, 0.005), (0.75, 0.42, 0.005), (1.0, 0.25, 0.005), (1.5, 0.12, 0.005)),
    *((2.0, 0.07, 0.005), (3.0, 0.03, 0.005), (4.5, 0.014, 0.0006)),
]


@pytest.mark.parametrize(("distance_m", "stops", "half_digit"), BOX_STOPS)
def test_box_falls_short_of_inverse_square(distance_m, stops, half_digit):
    factor = 4.0 * rectangle_parallel_factor(0.3, height_m=0.45, distance_m=distance_m)
    shortfall = -np.log2(np.pi * factor * distance_m**2 / (0.6 * 0.9))
    np.testing.assert_allclose(shortfall, stops * STOP, rtol=0, atol=half_digit)
