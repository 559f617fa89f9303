"""Which lights put a catchlight into each eye, and where?

The catchlight is the first reflection at the cornea.  It is followed for
points around each emitter's edge, so that place, size and outline are known.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.corneal_mirror import MirrorPoints, mirror_points
from tapemark.analysis.cover import IRIS_REFLECTANCE
from tapemark.analysis.emitter import Emitter
from tapemark.analysis.face_light import FaceLight
from tapemark.analysis.scene import Scene
from tapemark.analysis.shading import (
    OUTLINE_POINTS,
    blocked_paths,
    shining_outline,
    shining_samples,
)
from tapemark.anatomy import SIDES, Side, opening_margin, rim_crosses, rim_of
from tapemark.geometry import FloatArray, dot, normalize
from tapemark.optics import normal_reflectance
from tapemark.units import MM

CORNEA_INDEX = 1.376  # [millodot]
CORNEA_REFLECTANCE = float(normal_reflectance(CORNEA_INDEX))
#: A catchlight counts where it is at least this share of the iris's own
#: brightness (assumption, to be calibrated).
CATCHLIGHT_CONTRAST = 0.25
#: A catchlight is seen if at least this share of it is not hidden.
SEEN_SHARE = 0.15


@dataclass(frozen=True, kw_only=True, slots=True)
class Catchlight:
    """One emitter mirrored in one eye.

    Attributes
    ----------
    source : str
        Name of the emitter.
    side : str
        The sitter's own ``right`` or ``left`` eye.
    clock : float
        Place on the iris as the camera sees it: 12 up, 3 camera-right. [h]
    offset_mm : tuple of two floats
        From the centre of the iris, to camera-right and up. [mm]
    width_mm, height_mm : float
        Size as the camera sees it. [mm]
    contrast : float
        Brightness over that of the lit iris. [-]
    visible : bool
        Whether enough of it can be seen.
    hidden_by : str
        ``""``, ``lid``, ``head``, ``rim``, ``edge of the iris``,
        ``something in front`` or ``too faint``.
    outline : tuple of points
        Its outline on the cornea, world. [m]
    """

    source: str
    side: Side
    clock: float
    offset_mm: tuple[float, float]
    width_mm: float
    height_mm: float
    contrast: float
    visible: bool
    hidden_by: str
    outline: tuple[tuple[float, float, float], ...]


def clock_text(clock: float) -> str:
    """Return a place on the clock to the half hour, such as ``10:30``."""
    hour, half = divmod(round(clock * 2) % 24, 2)
    return f"{hour or 12}:{'30' if half else '00'}"


def catchlights(scene: Scene, *, light: FaceLight) -> tuple[Catchlight, ...]:
    """Return the catchlights of both eyes, right eye first.

    Parameters
    ----------
    scene : Scene
        Camera, eyes, lenses and emitters.
    light : FaceLight
        Light around the eyes, which decides what is bright enough to count.
    """
    shining = [one for one in scene.emitters if one.brightness > 0]
    if not shining:
        return ()
    outlines = np.stack([shining_outline(one) for one in shining])
    mirrored = mirror_points(scene, shining_samples(outlines))
    hidden = _hiding(scene, mirrored, shining)
    found = []
    for index in (0, 1):
        for number, emitter in enumerate(shining):
            reasons = {why: mask[index, number] for why, mask in hidden.items()}
            one = _catchlight(
                emitter,
                place=_place(scene, mirrored, (index, number)),
                received=light.at_eyes[index],
                hidden=reasons,
            )
            if one is not None:
                found.append(one)
    return tuple(found)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Place:
    """One emitter as mirrored in one cornea."""

    index: int
    target: FloatArray
    cornea: FloatArray
    gaze: FloatArray
    points: FloatArray
    offsets: FloatArray


def _place(scene: Scene, mirrored: MirrorPoints, at: tuple[int, int]) -> _Place:
    return _Place(
        index=at[0],
        target=mirrored.samples[at][0],
        cornea=scene.eyes.cornea_center[at[0]],
        gaze=scene.eyes.gaze[at[0]],
        points=mirrored.points[at],
        offsets=mirrored.offsets[at],
    )


def _catchlight(
    emitter: Emitter, *, place: _Place, received: float, hidden: dict[str, np.ndarray]
) -> Catchlight | None:
    brightness = _brightness_towards(emitter, place.target, place.cornea)
    behind = float(dot(place.target - place.cornea, place.gaze)) < 0
    if brightness <= 0 or behind or np.any(dot(place.points - place.cornea, place.gaze) < 0):
        return None
    contrast = _contrast(brightness, received)
    reason = _reason(hidden)
    if not reason and contrast < CATCHLIGHT_CONTRAST:
        reason = "too faint"
    (across, up), edge = place.offsets[0], place.offsets[-OUTLINE_POINTS:]
    return Catchlight(
        source=emitter.name,
        side=SIDES[place.index],
        clock=float(np.degrees(np.arctan2(across, up)) / 30.0 % 12.0) or 12.0,
        offset_mm=(float(across / MM), float(up / MM)),
        width_mm=float(np.ptp(edge[:, 0]) / MM),
        height_mm=float(np.ptp(edge[:, 1]) / MM),
        contrast=contrast,
        visible=not reason,
        hidden_by=reason,
        outline=tuple((float(x), float(y), float(z)) for x, y, z in place.points[-OUTLINE_POINTS:]),
    )


def _brightness_towards(emitter: Emitter, center: FloatArray, eye: FloatArray) -> float:
    direction = normalize(center - eye)
    from_front = np.asarray(dot(direction, emitter.face.axes[:, 1]) < 0)
    if emitter.lit_map is not None:
        return emitter.brightness if from_front else 0.0
    return float(emitter.brightness_at(center, direction, from_front=from_front))


def _hiding(scene: Scene, mirrored: MirrorPoints, shining: list[Emitter]) -> dict[str, np.ndarray]:
    """Return, for each reason, which inner samples it hides; axes (eye, emitter, sample)."""
    inner = slice(0, -OUTLINE_POINTS)
    points = mirrored.points[:, :, inner]
    paths = np.stack([mirrored.to_light, mirrored.to_camera])[:, :, :, inner]
    return {
        **hidden_at_eye(scene, points, paths),
        "something in front": np.stack(
            [
                blocked_paths(
                    points[:, number],
                    mirrored.samples[:, number, inner],
                    emitter=one,
                    others=scene.emitters,
                    bodies=scene.neighbours,
                )
                for number, one in enumerate(shining)
            ],
            axis=1,
        ),
    }


def hidden_at_eye(scene: Scene, points: FloatArray, paths: FloatArray) -> dict[str, np.ndarray]:
    """Return, for each reason near the eye, which mirror points it hides.

    Parameters
    ----------
    scene : Scene
        Eyes, head and glasses.
    points : (2, n, samples, 3) array
        Mirror points on right and left cornea, world. [m]
    paths : (2, 2, n, samples, 3) array
        Directions from them to the light, then to the camera.

    Returns
    -------
    dict of str to (2, n, samples) bool array
        By what hides them, as in `Catchlight`.
    """
    pose, eyes = scene.pose, scene.eyes
    local = (points - pose.origin) @ pose.axes
    rest = ((eyes.opening_center - pose.origin) @ pose.axes)[:, None, None, :]
    lid = opening_margin(
        local[..., 0] - rest[..., 0],
        local[..., 2] - rest[..., 2],
        eyes=eyes,
        outward=eyes.outward[:, None, None],
    )
    along = dot(points - eyes.cornea_center[:, None, None], eyes.gaze[:, None, None])
    radial = np.sqrt(np.maximum(eyes.cornea_radius_m**2 - along**2, 0.0))
    blocked = scene.head.blocks(local, paths @ pose.axes, clearance_m=6 * MM, steps=16)
    return {
        "edge of the iris": np.asarray(radial > eyes.iris_diameter_m / 2),
        "lid": np.asarray(lid < 0),
        "head": np.asarray(blocked.any(axis=0)),
        "rim": _on_rim(scene, points, paths),
    }


def _on_rim(scene: Scene, points: FloatArray, paths: FloatArray) -> np.ndarray:
    """Return which paths from the eyes, to the light or the camera, cross the rim."""
    lenses, glasses = scene.lenses, scene.sitter.glasses
    if lenses is None or glasses is None:
        return np.zeros(points.shape[:-1], dtype=bool)
    rim = rim_of(glasses)
    return np.stack(
        [
            rim_crosses(points[index], paths[:, index], lens=lenses, index=index, rim=rim).any(
                axis=0
            )
            for index in (0, 1)
        ]
    )


def _contrast(brightness: float, received: float) -> float:
    """Return how bright a catchlight is against the lit iris."""
    iris = IRIS_REFLECTANCE * max(received, 1e-12) / np.pi
    return float(CORNEA_REFLECTANCE * brightness / iris)


def _reason(hidden: dict[str, np.ndarray]) -> str:
    """Return what hides most of a catchlight, or nothing if enough is seen."""
    free = ~np.any(list(hidden.values()), axis=0)
    if free.mean() >= SEEN_SHARE:
        return ""
    return max(hidden, key=lambda reason: int(hidden[reason].sum()))
