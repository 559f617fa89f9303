r"""Where is a light mirrored on the cornea, seen through the lens or without?

            light          camera         n halves the angle between the
               \     n     /              two paths at the mirror point
                \    |    /
             ____\___|___/____  cornea

The mirror point of a far light lies where the normal halves the angle.  Lens
and near light change the angle by little, so that a few corrections settle it.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.lens_view import lens_optics
from tapemark.analysis.scene import Scene
from tapemark.anatomy import LensStack, lens_margin
from tapemark.geometry import (
    FloatArray,
    dot,
    normalize,
    stacked,
    to_local,
    to_world,
    turn_to_local,
    turn_to_world,
)
from tapemark.optics import leave_from_eye

#: Corrections end when the paths turn by less than this on average; a catchlight then moves
#: by less than 0.01 mm. Paths at the very edge of a lens may jump to and fro. [-]
SETTLED = 3e-4
MOST_STEPS = 8
LENS_DISTANCE_M = 0.02  # cornea to lens along a slanting path (assumption)


@dataclass(frozen=True, kw_only=True, eq=False)
class MirrorPoints:
    """Mirror points on the corneas; axes (eye, emitter, sample)."""

    samples: FloatArray
    points: FloatArray
    to_camera: FloatArray
    to_light: FloatArray
    offsets: FloatArray


def mirror_points(scene: Scene, samples: FloatArray) -> MirrorPoints:
    """Return where each sample is mirrored on each cornea, and the paths that leave it."""
    cornea = scene.eyes.cornea_center[:, None, None, :]
    radius = scene.eyes.cornea_radius_m
    own = stacked([samples, np.broadcast_to(scene.camera, samples.shape)])  # light, camera
    targets = np.broadcast_to(own[:, None], (2, 2, *samples.shape))
    paths = normalize(targets - cornea)
    for _ in range(MOST_STEPS):
        points = cornea + radius * normalize(paths[0] + paths[1])
        before, paths = paths, _aim_through(scene, points, targets, paths)
        if np.abs(paths - before).mean() < SETTLED:
            break
    points = cornea + radius * normalize(paths[0] + paths[1])
    return MirrorPoints(
        samples=targets[0],
        points=points,
        to_light=paths[0],
        to_camera=paths[1],
        offsets=_as_seen(scene, points),
    )


def _aim_through(
    scene: Scene, points: FloatArray, targets: FloatArray, guess: FloatArray
) -> FloatArray:
    """Return better directions from points on the corneas to targets beyond the lenses."""
    straight = normalize(targets - points)
    if scene.lenses is None:
        return straight
    lenses = scene.lenses
    origin, axes = lenses.optical_origin[:, None, None, :], lenses.optical_axes[:, None, None]
    out = leave_from_eye(
        to_local(points, origin=origin, axes=axes),
        turn_to_local(guess, axes=axes),
        lens=lens_optics(lenses, trailing=2),
    )
    left_at = to_world(out.origins, origin=origin, axes=axes)
    left_along = turn_to_world(out.directions, axes=axes)
    boxed = to_local(
        left_at,
        origin=lenses.boxed_origin[:, None, None, :],
        axes=lenses.boxed_axes[:, None, None],
    )
    miss = normalize(targets - left_at) - left_along
    bent = normalize(guess + _gain(lenses) * miss)
    with np.errstate(invalid="ignore"):
        inside = lens_margin(boxed[..., 0], boxed[..., 2], lens=lenses) > 0
    return np.where((inside & np.isfinite(bent[..., 0]))[..., None], bent, straight)


def _gain(lenses: LensStack) -> FloatArray:
    """Return how far to turn at the eye to turn by 1 beyond the lens, (2, 1, 1, 1).

    Turning by 1 at the cornea moves the ray along the lens by their distance, where the
    lens (thin, power F) turns it by F more for each metre.
    """
    mean_back = (lenses.back_curvature_a + lenses.back_curvature_b) / 2
    power = (lenses.index - 1.0) * (lenses.front_curvature - mean_back)
    return np.asarray(1.0 / (1.0 - LENS_DISTANCE_M * power))[:, None, None, None]


def _as_seen(scene: Scene, points: FloatArray) -> FloatArray:
    """Return places relative to the iris centre as the camera sees them: right, up [m]."""
    iris = scene.eyes.iris_center[:, None, None, :]
    view = iris - scene.camera
    distance = np.sqrt(dot(view, view))
    view = view / distance[..., None]
    right = normalize(np.cross(view, (0.0, 0.0, 1.0)))
    up = np.cross(right, view)
    ray = points - scene.camera
    ray = ray * (distance / dot(ray, view))[..., None]
    return np.stack([dot(ray, right), dot(ray, up)], axis=-1)
