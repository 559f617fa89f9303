"""Kernels in float64 against the same formulas in 60 decimal digits.

Cases where digits cancel: rays that only graze a surface, surfaces that are almost flat, and
rays that start many radii away.
"""

from decimal import Decimal, localcontext

import numpy as np
import pytest

from tapemark.optics import (
    fresnel_reflectance,
    intersect_spherical,
    intersect_toric,
    refract,
    spherical_normal,
)

DIGITS = 60


def exact_direction(start, aim):
    """Return the float64 unit vector from start to aim, and itself as decimals."""
    line = np.subtract(aim, start)
    unit = line / np.sqrt(line @ line)
    return unit, [Decimal(float(component)) for component in unit]


def exact_crossing(start, direction, curvature):
    """Return the distance to the crossing nearest the vertex plane, textbook quadratic.

    The float64 direction is not of unit length to 60 digits, so its length is carried along.
    """
    with localcontext() as context:
        context.prec = DIGITS
        o = [Decimal(float(component)) for component in start]
        c = Decimal(float(curvature))
        a = c * sum(d * d for d in direction)
        b = c * sum(p * d for p, d in zip(o, direction, strict=True)) + direction[1]
        constant = c * sum(p * p for p in o) + 2 * o[1]
        root = (b * b - a * constant).sqrt()
        choices = [(-b - root) / a, (-b + root) / a]
        return float(min(choices, key=lambda t: abs(o[1] + t * direction[1])))


CASES = [
    # name, start [m], aim [m], curvature [1/m], tolerance [m]
    ("square on", (0.01, 2.0, 0.02), (0.012, 0.0, 0.015), 8.0, 1e-15),
    ("far away", (-9.0, 40.0, 3.0), (0.012, 0.0, 0.015), 17.0, 2e-14),
    ("almost flat", (0.3, 1.5, -0.2), (0.02, 0.0, 0.01), 1e-9, 1e-15),
    ("steep cornea", (0.5, 0.8, 0.4), (0.001, 0.0, -0.002), 128.2, 1e-15),
    ("hollow", (0.1, 0.9, 0.2), (0.02, 0.0, -0.01), -11.0, 1e-15),
    ("from behind", (0.004, -0.5, 0.1), (0.02, 0.0, -0.01), 13.6, 1e-15),
    # 0.1 micrometre below the top of the dome: half the digits go, as they must
    ("grazing", (1.0, -1.00e-7, 0.0), (0.0, -0.99e-7, 0.0), 8.0, 1e-11),
]


@pytest.mark.parametrize(
    ("start", "aim", "curvature", "tolerance_m"),
    [case[1:] for case in CASES],
    ids=[case[0] for case in CASES],
)
def test_sphere_is_met_where_60_digits_say(start, aim, curvature, tolerance_m):
    unit, decimals = exact_direction(start, aim)
    expected = exact_crossing(start, decimals, curvature)
    ours = intersect_spherical(np.array(start), unit, curvature=curvature)
    np.testing.assert_allclose(ours, expected, rtol=0, atol=tolerance_m)


def test_toric_of_equal_curvatures_is_met_where_60_digits_say():
    start, aim = (0.3, 1.7, -0.2), (0.024, 0.0, 0.017)
    unit, decimals = exact_direction(start, aim)
    ours = intersect_toric(
        np.array(start), unit, curvature_a=12.0, curvature_b=12.0, axis_angle=0.7
    )
    np.testing.assert_allclose(ours, exact_crossing(start, decimals, 12.0), rtol=0, atol=1e-15)


@pytest.mark.parametrize("tilt", [1e-9, 1e-6, 1e-3, 0.3, 1.2, 1.57, 1.5707963])
def test_refraction_by_vectors_has_the_digits_of_snell(tilt):
    index = 1.6
    direction = np.array([np.sin(tilt), -np.cos(tilt), 0.0])
    bent = refract(direction, normal=np.array([0.0, 1.0, 0.0]), index_from=1.0, index_to=index)
    with localcontext() as context:
        context.prec = DIGITS
        sine = Decimal(float(direction[0])) / Decimal(float(index))
        cosine = (1 - sine * sine).sqrt()
    np.testing.assert_allclose(bent[:2], [float(sine), -float(cosine)], rtol=4e-16, atol=0)


@pytest.mark.parametrize("cosine", [1e-12, 1e-8, 1e-4, 0.1, 0.999999, 1.0])
def test_fresnel_at_grazing_and_normal_incidence_has_its_digits(cosine):
    index = 1.498
    with localcontext() as context:
        context.prec = DIGITS
        c, n = Decimal(cosine), Decimal(float(index))
        t = (1 - (1 - c * c) / (n * n)).sqrt()
        exact = [((c - n * t) / (c + n * t)) ** 2, ((n * c - t) / (n * c + t)) ** 2]
        lost = [float(1 - value) for value in exact]
    ours = fresnel_reflectance(cosine, index_from=1.0, index_to=index)
    np.testing.assert_allclose(ours, [float(value) for value in exact], rtol=1e-14)
    # what is let through, to two roundings of a number near 1
    np.testing.assert_allclose(1.0 - np.array(ours), lost, rtol=0, atol=5e-16)


def test_normal_of_a_traced_point_has_unit_length():
    start = np.array([0.3, 2.0, -0.4])
    aims = np.random.default_rng(3).uniform(-0.02, 0.02, (500, 3)) * (1.0, 0.0, 1.0)
    lines = aims - start
    rays = lines / np.sqrt(np.sum(lines * lines, axis=-1))[:, None]
    points = start + intersect_spherical(start, rays, curvature=17.0)[:, None] * rays
    normals = spherical_normal(points, curvature=17.0)
    np.testing.assert_allclose(np.sum(normals * normals, axis=-1), 1.0, rtol=0, atol=4e-14)
