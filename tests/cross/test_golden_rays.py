"""Our sequential trace of a lens against other people's, ray by ray.

Two authorities, both traced without any of our code: the numbers printed beside the
reference lens ([golden-rays]) and authorities/golden_rays.json, written by the
general-purpose tracer optiland through scripts/golden_rays.py.

Their frame: z along the arriving light, y up, millimetres, a radius positive if its centre
lies at greater z. Ours: y towards where the light came from, z up, metres, a curvature
positive if domed towards +y. So x = x', y = -z', z = y', and curvature = 1/radius.
"""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from tapemark.geometry import normalize
from tapemark.optics import (
    LensOptics,
    back_curvature,
    back_surface_power_d,
    front_curvature,
    front_power_d,
    intersect_spherical,
    intersect_toric,
    leave_from_eye,
    reflect,
    refract,
    spherical_normal,
    toric_normal,
    trace_lens,
)

MM = 1e-3
AUTHORITY = Path(__file__).parents[2] / "authorities" / "golden_rays.json"
LENSES = json.loads(AUTHORITY.read_text(encoding="utf-8"))["lenses"]
POSITION_TOLERANCE_M = 1e-12  # the worst gap is 1.1e-14 m
DIRECTION_TOLERANCE = 1e-11  # the worst gap is 4.3e-13

# SOURCE    [golden-rays] the reference lens, traced there by three programs that agree
# ASSUMES   n 1.498, R1 132.5, t 1.5, R2 73.53061562792615 (back vertex power -3.00)
# PRINTED   directions to 8 decimals, point in mm to 8 decimals, their frame
REFERENCE_START = (3.0, 40.0, -200.0)
REFERENCE_AIM = (8.0, -6.0, 0.0)
REFERENCE_HIT = (8.00956253, -6.08797530, 0.38250129)
REFERENCE_DIRECTIONS = {
    "front_reflection": (0.14038171, -0.31227049, -0.93956379),
    "transmission": (0.05016682, -0.24549550, 0.96809878),
    "back_reflection": (0.27598698, -0.42323912, -0.86295992),
}
PRINTED_DIGIT = 0.5e-8  # half a unit in the last printed decimal


def to_ours(vector):
    """Return a vector of their frame in the components of ours."""
    x, y, z = np.moveaxis(np.asarray(vector, dtype=float), -1, 0)
    return np.stack((x, -z, y), axis=-1)


def tilt(lens):
    """Return the rotation of a lens in their frame: about x first, then about y."""
    a, b = math.radians(lens["tilt_x_deg"]), math.radians(lens["tilt_y_deg"])
    about_x = [[1, 0, 0], [0, math.cos(a), -math.sin(a)], [0, math.sin(a), math.cos(a)]]
    about_y = [[math.cos(b), 0, math.sin(b)], [0, 1, 0], [-math.sin(b), 0, math.cos(b)]]
    return np.array(about_y) @ np.array(about_x)


def trace_by_kernels(lens, *, starts, aims):
    """Return our points and leaving directions on the three paths, in our lens frame."""
    n, back_y = float(lens["index"]), -lens["thickness"] * MM
    front = {"curvature": 1.0 / (float(lens["front_radius"]) * MM)}
    back = {
        "curvature_a": 1.0 / (lens["radius_along"] * MM),
        "curvature_b": 1.0 / (lens["radius_across"] * MM),
        "axis_angle": math.radians(lens["axis_deg"]),
        "vertex_y": back_y,
    }
    ray = normalize(aims - starts)
    hit = starts + intersect_spherical(starts, ray, **front)[..., None] * ray
    normal = spherical_normal(hit, **front)
    inside = refract(ray, normal=normal, index_from=1.0, index_to=n)
    behind = hit + intersect_toric(hit, inside, **back)[..., None] * inside
    back_normal = toric_normal(behind, **back)
    returned = reflect(inside, normal=back_normal)
    exit_point = behind + intersect_spherical(behind, returned, **front)[..., None] * returned
    exit_normal = spherical_normal(exit_point, **front)
    return {
        "front_reflection": ([hit], reflect(ray, normal=normal)),
        "transmission": (
            [hit, behind],
            refract(inside, normal=back_normal, index_from=n, index_to=1.0),
        ),
        "back_reflection": (
            [hit, behind, exit_point],
            refract(returned, normal=exit_normal, index_from=n, index_to=1.0),
        ),
    }


def test_reference_lens_has_the_printed_back_radius():
    power = back_surface_power_d(
        -3.0,
        front_power_d=front_power_d(4.0, index=1.498),
        center_thickness_m=1.5 * MM,
        index=1.498,
    )
    np.testing.assert_allclose(
        1.0 / back_curvature(power, index=1.498), 73.53061562792615 * MM, rtol=1e-14
    )
    np.testing.assert_allclose(front_curvature(4.0), 1.0 / (132.5 * MM), rtol=1e-14)


@pytest.mark.parametrize("path", list(REFERENCE_DIRECTIONS))
def test_reference_ray_leaves_as_printed(path):
    points, direction = trace_by_kernels(
        LENSES[0],
        starts=to_ours(REFERENCE_START) * MM,
        aims=to_ours(REFERENCE_AIM) * MM,
    )[path]
    np.testing.assert_allclose(
        direction, to_ours(REFERENCE_DIRECTIONS[path]), rtol=0, atol=PRINTED_DIGIT
    )
    np.testing.assert_allclose(
        points[0], to_ours(REFERENCE_HIT) * MM, rtol=0, atol=PRINTED_DIGIT * MM
    )


@pytest.mark.parametrize("path", ["front_reflection", "transmission", "back_reflection"])
@pytest.mark.parametrize("lens", LENSES, ids=[lens["name"] for lens in LENSES])
def test_rays_agree_with_the_general_tracer(lens, path):
    turn = tilt(lens)
    starts = np.array([ray["start"] for ray in lens["rays"]])
    aims = np.array([ray["aim"] for ray in lens["rays"]])
    points, direction = trace_by_kernels(
        lens, starts=to_ours(starts @ turn) * MM, aims=to_ours(aims @ turn) * MM
    )[path]
    expected = np.array([ray[path]["points"] for ray in lens["rays"]], dtype=float)  # null: NaN
    leaving = np.array([ray[path]["direction"] for ray in lens["rays"]], dtype=float)
    np.testing.assert_allclose(
        np.stack(points, axis=1), to_ours(expected @ turn) * MM, rtol=0, atol=POSITION_TOLERANCE_M
    )
    np.testing.assert_allclose(direction, to_ours(leaving @ turn), rtol=0, atol=DIRECTION_TOLERANCE)


def optics_of(lens):
    """Return a lens of the file as our lens trace takes it."""
    return LensOptics(
        front_curvature=np.float64(1.0 / (float(lens["front_radius"]) * MM)),
        back_curvature_a=np.float64(1.0 / (lens["radius_along"] * MM)),
        back_curvature_b=np.float64(1.0 / (lens["radius_across"] * MM)),
        back_axis=np.float64(math.radians(lens["axis_deg"])),
        thickness_m=np.float64(lens["thickness"] * MM),
        index=np.float64(lens["index"]),
        coating_reflectance=None,
    )


@pytest.mark.parametrize("lens", LENSES, ids=[lens["name"] for lens in LENSES])
def test_lens_trace_agrees_with_the_general_tracer(lens):
    turn = tilt(lens)
    expected = {
        path: [
            to_ours(np.array([pick(ray[path]) for ray in lens["rays"]], dtype=float) @ turn)
            for pick in (lambda found: found["points"][-1], lambda found: found["direction"])
        ]
        for path in ("front_reflection", "transmission", "back_reflection")
    }
    cameras = to_ours(np.array([ray["start"] for ray in lens["rays"]]) @ turn) * MM
    paths = trace_lens(cameras, expected["front_reflection"][0] * MM, lens=optics_of(lens))
    for path, traced in zip(expected, (paths.front, paths.through, paths.back), strict=True):
        points, direction = expected[path]
        np.testing.assert_allclose(
            traced.directions, direction, rtol=0, atol=DIRECTION_TOLERANCE, err_msg=path
        )
        np.testing.assert_allclose(
            traced.origins, points * MM, rtol=0, atol=POSITION_TOLERANCE_M, err_msg=path
        )


@pytest.mark.parametrize("lens", LENSES, ids=[lens["name"] for lens in LENSES])
def test_rays_from_the_eye_retrace_those_of_the_general_tracer(lens):
    turn = tilt(lens)
    through = [ray for ray in lens["rays"] if ray["transmission"]["direction"][0] is not None]
    behind, leaving, start, hit = (
        to_ours(np.array(vectors) @ turn)
        for vectors in (
            [ray["transmission"]["points"][1] for ray in through],
            [ray["transmission"]["direction"] for ray in through],
            [ray["start"] for ray in through],
            [ray["transmission"]["points"][0] for ray in through],
        )
    )
    eye = behind * MM + 12.0 * MM * leaving
    traced = leave_from_eye(eye, -leaving, lens=optics_of(lens))
    np.testing.assert_allclose(
        traced.directions, normalize(start - hit), rtol=0, atol=DIRECTION_TOLERANCE
    )
    np.testing.assert_allclose(traced.origins, hit * MM, rtol=0, atol=POSITION_TOLERANCE_M)


def test_the_file_says_how_it_was_made():
    record = json.loads(AUTHORITY.read_text(encoding="utf-8"))
    assert record["versions"]["optiland"] == "0.6.3"
    rays = [ray for lens in record["lenses"] for ray in lens["rays"]]
    lost = [ray for ray in rays if ray["back_reflection"]["direction"][0] is None]
    assert len(rays) == 77
    assert len(lost) == 13
