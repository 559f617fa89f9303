"""Do the eyes of many wearers live: does each show at least one catchlight?

The question of `catchlights`, for many eyes at once and only as far as it needs an answer: the
brightest lights are looked for first, and an eye that has a catchlight is not looked at again.
"""

import numpy as np

from tapemark.analysis import Emitter
from tapemark.analysis.catchlights import CATCHLIGHT_CONTRAST, CORNEA_REFLECTANCE, SEEN_SHARE
from tapemark.analysis.corneal_mirror import LENS_DISTANCE_M
from tapemark.analysis.cover import IRIS_REFLECTANCE
from tapemark.analysis.shading import (
    OUTLINE_POINTS,
    blocked_paths,
    shining_outline,
    shining_samples,
)
from tapemark.anatomy import head_surface
from tapemark.anatomy.eye import OPENING_SHIFT
from tapemark.geometry import (
    FloatArray,
    almond_margin,
    dot,
    normalize,
    stacked,
    to_local,
    turn_to_local,
    turn_to_world,
)
from tapemark.optics import leave_from_eye
from tapemark.planning.walk_ins.wearer_faces import WearerFaces
from tapemark.planning.walk_ins.wearer_outlines import outline_edge
from tapemark.studio import FaceMeasures
from tapemark.units import MM

STEPS = 3  # of correction of the path through the middle of a light
EVERY = 2  # of the samples between the middle of a light and its edge
HEAD_CLEARANCE_M = 6 * MM


def live_eyes(
    faces: WearerFaces,
    sending: tuple[Emitter, ...],
    *,
    received: FloatArray,
    camera: FloatArray,
) -> np.ndarray:
    """Return which eyes show a catchlight, (L,) bool.

    Parameters
    ----------
    faces : WearerFaces
        Eyes and lenses.
    sending : tuple of Emitter
        What sends light.
    received : (L,) array
        Light around each eye. [lx·s]
    camera : (3,) array
        Entrance pupil of the camera. [m]
    """
    live = np.zeros(len(faces.outward), dtype=bool)
    for emitter in sorted(sending, key=lambda one: -one.brightness):
        if emitter.brightness <= 0 and emitter.back_brightness <= 0:
            continue
        samples = _samples(emitter)
        eyes = np.flatnonzero(~live)
        ones = {"middle": samples[0], "received": received[eyes]}
        eyes = eyes[_bright_enough(faces, eyes, emitter, **ones)]
        if eyes.size:
            live[eyes] = _seen(faces, eyes, emitter, samples, sending=sending, camera=camera)
    return live


def _samples(emitter: Emitter) -> FloatArray:
    """Return the middle of what shines and points half-way to its edge, (S, 3) [m]."""
    every = shining_samples(shining_outline(emitter)[None])[0]
    return np.concatenate([every[:1], every[1:-OUTLINE_POINTS:EVERY]])


def _bright_enough(
    faces: WearerFaces,
    eyes: np.ndarray,
    emitter: Emitter,
    *,
    middle: FloatArray,
    received: FloatArray,
) -> np.ndarray:
    """Return in which eyes an emitter would be bright enough to count, were it seen."""
    towards = normalize(middle - faces.cornea_center[eyes])
    from_front = dot(towards, emitter.face.axes[:, 1]) < 0
    if emitter.lit_map is not None:
        bright = np.where(from_front, emitter.brightness, 0.0)
    else:
        places = np.broadcast_to(middle, towards.shape)
        bright = emitter.brightness_at(places, towards, from_front=from_front)
    iris = IRIS_REFLECTANCE * np.maximum(received, 1e-12) / np.pi
    ahead = dot(towards, faces.gaze[eyes]) >= 0
    return np.asarray(ahead & (CORNEA_REFLECTANCE * bright >= CATCHLIGHT_CONTRAST * iris))


def _seen(
    faces: WearerFaces,
    eyes: np.ndarray,
    emitter: Emitter,
    samples: FloatArray,
    *,
    sending: tuple[Emitter, ...],
    camera: FloatArray,
) -> np.ndarray:
    """Return in which eyes enough of an emitter's catchlight is seen, (eyes,) bool."""
    points, to_light, to_camera = _mirrored(faces, eyes, samples, camera)
    off = points - faces.cornea_center[eyes]
    along = dot(off, faces.gaze[eyes])
    radial = np.sqrt(np.maximum(faces.cornea_radius[eyes] ** 2 - along**2, 0.0))
    hidden = (radial > faces.iris_radius[eyes]) | (_lid_margin(faces, eyes, points) < 0)
    hidden |= blocked_paths(points, samples[:, None, :], emitter=emitter, others=sending)
    for path in (to_light, to_camera):
        path = np.broadcast_to(path, points.shape)
        hidden |= _on_rim(faces, eyes, points, path)
        hidden |= _in_head(faces, eyes, points, path)
    return np.asarray(((~hidden).mean(axis=0) >= SEEN_SHARE) & ~(along < 0).any(axis=0))


def _mirrored(
    faces: WearerFaces, eyes: np.ndarray, samples: FloatArray, camera: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return mirror points (S, eyes, 3) [m] and the paths from there to light and camera [-].

    The path to the camera is that from the mirror point of the middle: a catchlight is so small
    that the others differ from it by nothing that matters.
    """
    cornea, radius = faces.cornea_center[eyes], faces.cornea_radius[eyes, None]
    targets = stacked([np.broadcast_to(one, cornea.shape) for one in (samples[0], camera)])
    paths = normalize(targets - cornea)
    for _ in range(STEPS):
        points = cornea + radius * normalize(paths[0] + paths[1])
        paths = _aimed(faces, eyes, points, targets=targets, guess=paths)
    turned = paths[0] - normalize(samples[0] - points)
    to_light = normalize(normalize(samples[:, None, :] - points) + turned)
    points = cornea + radius * normalize(to_light + paths[1])
    return points, to_light, paths[1]


def _aimed(
    faces: WearerFaces,
    eyes: np.ndarray,
    points: FloatArray,
    *,
    targets: FloatArray,
    guess: FloatArray,
) -> FloatArray:
    """Return better directions from points on the corneas to targets beyond the lenses."""
    straight = normalize(targets - points)
    place = {"origin": faces.optical_origin[eyes], "axes": faces.optical_axes[eyes]}
    lens = faces.optics(eyes)
    start = np.broadcast_to(to_local(points, **place), guess.shape)
    out = leave_from_eye(start, turn_to_local(guess, axes=place["axes"]), lens=lens)
    left_at = turn_to_world(out.origins, axes=place["axes"]) + place["origin"]
    left_along = turn_to_world(out.directions, axes=place["axes"])
    mean_back = (lens.back_curvature_a + lens.back_curvature_b) / 2
    power = (lens.index - 1.0) * (lens.front_curvature - mean_back)
    gain = 1.0 / (1.0 - LENS_DISTANCE_M * power)
    bent = normalize(guess + gain[:, None] * (normalize(targets - left_at) - left_along))
    boxed = to_local(left_at, origin=faces.boxed_origin[eyes], axes=faces.boxed_axes[eyes])
    inside = _edge_margin(faces, eyes, boxed) > 0
    return np.where((inside & np.isfinite(bent[..., 0]))[..., None], bent, straight)


def _edge_margin(faces: WearerFaces, eyes: np.ndarray, boxed: FloatArray) -> FloatArray:
    half = faces.half_width[eyes], faces.half_height[eyes]
    return outline_edge(boxed[..., 0], boxed[..., 2], half=half, outline=faces.outline[eyes])[2]


def _lid_margin(faces: WearerFaces, eyes: np.ndarray, points: FloatArray) -> FloatArray:
    """Return how far inside the eye opening points lie [m]."""
    head = faces.head_axes[eyes // 2]
    local = to_local(points, origin=faces.opening_center[eyes], axes=head)
    width = faces.opening_width[eyes]
    place = np.stack(
        [
            local[..., 0] * faces.outward[eyes] + OPENING_SHIFT * width,
            local[..., 2] - faces.corner_height[eyes],
        ],
        axis=-1,
    )
    return almond_margin(
        place,
        half_width=width / 2,
        upper_height=faces.upper_lid[eyes],
        lower_height=faces.opening_height[eyes] / 2,
    )


def _on_rim(
    faces: WearerFaces, eyes: np.ndarray, points: FloatArray, paths: FloatArray
) -> np.ndarray:
    """Return which paths from the eyes cross the rim, as in `rim_crosses`."""
    axes = faces.boxed_axes[eyes]
    start = to_local(points, origin=faces.boxed_origin[eyes], axes=axes)
    along = turn_to_local(paths, axes=axes)
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = -start[..., 1] / along[..., 1]
    place = start + reach[..., None] * along
    radius = np.where(place[..., 2] > 0, faces.upper_tube[eyes], faces.lower_tube[eyes])
    margin = _edge_margin(faces, eyes, place)
    return np.asarray((reach > 0) & (np.abs(margin + 0.5 * radius) < radius))


def _in_head(
    faces: WearerFaces, eyes: np.ndarray, points: FloatArray, paths: FloatArray
) -> np.ndarray:
    """Return which paths from the eyes run into the head: an average one, stretched to fit."""
    head, scale = faces.head_axes[eyes // 2], faces.head_scale[eyes // 2]
    starts = to_local(points, origin=faces.head_origin[eyes // 2], axes=head) / scale
    along = normalize(turn_to_local(paths, axes=head) / scale)
    return head_surface(FaceMeasures()).hides(starts, along, clearance_m=HEAD_CLEARANCE_M)
