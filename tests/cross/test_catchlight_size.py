"""Size and depth of a catchlight: closed form against traced rays.

The sizes of the table are computed, not published.
"""

import numpy as np
import pytest

from tapemark.geometry import normalize
from tapemark.optics import (
    catchlight_size,
    intersect_spherical,
    purkinje_image_depth,
    reflect,
    spherical_normal,
)

MM = 1e-3
CORNEA_M = 7.8 * MM

# width of the light [mm], distance [m], catchlight [mm]
TABLE = [(600.0, 1.2, 1.94), (900.0, 1.5, 2.33), (300.0, 2.0, 0.58)]


@pytest.mark.parametrize(("width_mm", "distance_m", "catchlight_mm"), TABLE)
def test_table_of_catchlights(width_mm, distance_m, catchlight_mm):
    size = catchlight_size(width_mm * MM, distance_m=distance_m, corneal_radius_m=CORNEA_M)
    np.testing.assert_allclose(size / MM, catchlight_mm, rtol=0, atol=0.005)
    depth = purkinje_image_depth(CORNEA_M, distance_m=distance_m)
    np.testing.assert_allclose(depth / MM, 3.89, rtol=0, atol=0.006)


@pytest.mark.parametrize("distance_m", [0.3, 1.2, 3.0])
def test_image_of_a_small_light_is_where_its_reflected_rays_meet(distance_m):
    light = np.array([1.0 * MM, distance_m, 0.0])
    aims = np.array([[0.01, 0.0, 0.0], [-0.01, 0.0, 0.0]]) * MM
    rays = normalize(aims - light)
    hits = light + intersect_spherical(light, rays, curvature=1.0 / CORNEA_M)[:, None] * rays
    leaving = reflect(rays, normal=spherical_normal(hits, curvature=1.0 / CORNEA_M))
    slopes = leaving[:, 0] / leaving[:, 1]
    depth = (hits[1, 0] - hits[0, 0] - slopes[1] * hits[1, 1] + slopes[0] * hits[0, 1]) / (
        slopes[0] - slopes[1]
    )
    offset = hits[0, 0] + slopes[0] * (depth - hits[0, 1])
    np.testing.assert_allclose(
        -depth, purkinje_image_depth(CORNEA_M, distance_m=distance_m), rtol=2e-5
    )
    np.testing.assert_allclose(
        offset,
        catchlight_size(1.0 * MM, distance_m=distance_m, corneal_radius_m=CORNEA_M),
        rtol=2e-5,
    )
