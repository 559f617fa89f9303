"""The shadow of a rim on a lens front: against the distance from a straight ray to the tube.

SOURCE    plane geometry: a ray, a circle, the round section of a lens front; no outside source
"""

import numpy as np
import pytest

from tapemark.anatomy import rim_clearance
from tapemark.units import MM

EDGE_M = 24.0 * MM  # from the middle of the lens
ATOL_M = 0.02 * MM  # the front bends a little over the way that the law takes as straight


def depth_m(x, curvature):
    """Return how deep a round front lies, forwards positive."""
    return (np.sqrt(1.0 - (curvature * x) ** 2) - 1.0) / curvature if curvature else 0.0 * x


def passed_at_m(start, curvature, slope, radius_m):
    """Return how near half a straight line comes to the middle of the tube."""
    middle = EDGE_M + 0.5 * radius_m
    to_middle = np.stack(
        [middle - start, depth_m(middle, curvature) - depth_m(start, curvature)], axis=-1
    )
    along = np.array([slope, 1.0]) / np.hypot(slope, 1.0)
    ahead = np.maximum(to_middle @ along, 0.0)
    return np.linalg.norm(to_middle - ahead[..., None] * along, axis=-1)


@pytest.mark.parametrize("base_curve_d", [0.0, 4.0, 8.0, 10.0])
@pytest.mark.parametrize("slope", [-0.8, -0.2, 0.0, 0.3, 0.7, 1.2])
@pytest.mark.parametrize("radius_mm", [0.3, 1.0, 2.0])
def test_a_ray_that_grazes_the_rim_starts_just_clear_of_it(base_curve_d, slope, radius_mm):
    curvature, radius_m = base_curve_d / 0.530, radius_mm * MM
    start = EDGE_M - np.linspace(-0.4, 8.0, 20001) * MM
    near = passed_at_m(start, curvature, slope, radius_m)
    grazing = start[np.argmin(np.abs(near - radius_m))]
    fall = curvature * grazing / np.sqrt(1.0 - (curvature * grazing) ** 2)
    clear = rim_clearance(
        np.array(EDGE_M - grazing),
        np.array(slope),
        np.array(1.0),
        tube_radius_m=radius_m,
        fall=fall,
    )
    np.testing.assert_allclose(clear, 0.0, atol=ATOL_M * radius_mm)


def test_a_flat_front_falls_nowhere():
    given = {"margin": np.array(0.001), "towards_edge": np.array(0.5), "forward": np.array(1.0)}
    flat = rim_clearance(**given, tube_radius_m=0.001)
    assert flat == rim_clearance(**given, tube_radius_m=0.001, fall=0.0)
    assert rim_clearance(**given, tube_radius_m=0.001, fall=0.4) > flat + 0.1 * MM
