"""Which light is the key, from where does it come, and how far is it over the fill?

Each light is metered alone, square on, at the middle of the face, as one does
who sets a lighting ratio.  Directions are those of the face, not of the
camera: the pattern follows the nose.

                 nose (0°)
        left -      |      + right        azimuth: positive to the
        (-90°) -----o----- (+90°)         sitter's own right; seen
                                          from above
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.emitter import Emitter
from tapemark.analysis.face_light import FaceLight
from tapemark.analysis.scene import Scene
from tapemark.geometry import FloatArray, normalize
from tapemark.photometry import (
    highlight_to_shadow_ratio,
    key_over_fill_stops,
    source_ratio,
)
from tapemark.units import MM

#: The middle of the face: over the bridge of the nose, in front of the skin. [m]
MIDDLE_M = (0.0, 25.0 * MM, -15.0 * MM)
#: A light behind the plane of the face models it less and less, and past this angle behind it
#: not at all (assumption): it is a rim or hair light then.
PAST_SIDE = float(np.sin(np.deg2rad(20.0)))
#: A light that gives less than this share of the key is no fill. [-]
LEAST_FILL = 0.02


@dataclass(frozen=True, kw_only=True, slots=True)
class FaceRatio:
    """Lighting ratio as set: each light metered alone, square on.

    Attributes
    ----------
    fill : str
        The strongest light beside the key; ``room lamps`` for the room's own.
    highlight_to_shadow : float
        (key + fill) : fill, all other lights counted as fill. [-]
    key_over_fill_stops : float
        The same as key against fill. [stops]
    key_to_fill : float
        key : fill, the film set's convention. [-]
    """

    fill: str
    highlight_to_shadow: float
    key_over_fill_stops: float
    key_to_fill: float


@dataclass(frozen=True, kw_only=True, eq=False)
class KeyLight:
    """The key of a scene.

    Attributes
    ----------
    emitter : Emitter
        What sends its light to the face: the light itself or its bounce.
    name : str
        Its name.
    direction : (3,) array
        Unit vector from the face to the middle of its light, head frame. [-]
    azimuth_deg : float
        From the nose; positive to the sitter's own right. [deg]
    elevation_deg : float
        Over the face's own level. [deg]
    exposure_lx_s : float
        What a flat receptor turned to it gets, its bounces included. [lx·s]
    ratio : FaceRatio or None
        None without any fill.
    """

    emitter: Emitter
    name: str
    direction: FloatArray
    azimuth_deg: float
    elevation_deg: float
    exposure_lx_s: float
    ratio: FaceRatio | None


def key_light(scene: Scene, *, light: FaceLight) -> KeyLight | None:
    """Return the key of a scene, or None where no light reaches the face.

    Parameters
    ----------
    scene : Scene
        Sitter and emitters.
    light : FaceLight
        Which share of each emitter the face sees.

    Notes
    -----
    The key is what gives most light square on at the face. A light behind the
    plane of the face counts less, and 20 degrees behind it only where nothing
    else lights the face. What a
    ceiling or wall sends back of one light counts with that light; a panel
    counts by itself, for it is a fill.
    """
    directions = np.array([direction_to(scene, one) for one in scene.emitters]).reshape(-1, 3)
    square_on = _square_on(scene, directions, light)
    in_front = np.clip((directions[:, 1] + PAST_SIDE) / PAST_SIDE, 0.0, 1.0)
    if (square_on * in_front).any():
        square_on = square_on * in_front
    if not square_on.any():
        return None
    best = int(np.argmax(square_on))
    key = scene.emitters[best]
    groups: dict[str, float] = {}
    for emitter, amount in zip(scene.emitters, square_on, strict=True):
        groups[_group(emitter)] = groups.get(_group(emitter), 0.0) + float(amount)
    own = groups.pop(_group(key))
    lamps = scene.setup.room.ambient_lx * scene.setup.camera.shutter_s
    if lamps > 0:
        groups["room lamps"] = lamps
    azimuth, elevation = direction_angles(directions[best])
    return KeyLight(
        emitter=key,
        name=key.name,
        direction=directions[best],
        azimuth_deg=azimuth,
        elevation_deg=elevation,
        exposure_lx_s=own,
        ratio=_ratio(own, groups),
    )


def direction_angles(direction: FloatArray) -> tuple[float, float]:
    """Return azimuth and elevation of a direction (3,) of the head frame [deg]."""
    x, y, z = direction
    return (
        float(np.degrees(np.arctan2(x, y))),
        float(np.degrees(np.arctan2(z, np.hypot(x, y)))),
    )


def direction_to(scene: Scene, emitter: Emitter) -> FloatArray:
    """Return the unit vector from the face to where an emitter shines, head frame (3,)."""
    span = (emitter.shining_middle() - scene.pose.origin) @ scene.pose.axes
    return np.asarray(normalize(span - np.array(MIDDLE_M)))


def _square_on(scene: Scene, directions: FloatArray, light: FaceLight) -> FloatArray:
    """Return what a receptor turned to each emitter gets [lx·s]; the head hides nothing."""
    place = scene.pose.origin + scene.pose.axes @ np.array(MIDDLE_M)
    towards = directions @ scene.pose.axes.T
    found = [
        float(emitter.exposure_at(place[None], normal=to_it[None])[0]) * share
        for emitter, to_it, share in zip(scene.emitters, towards, light.free_shares, strict=True)
    ]
    return np.array(found)


def _group(emitter: Emitter) -> str:
    """Return the light that an emitter's light counts with."""
    bounced = emitter.kind in ("ceiling", "wall", "floor") and len(emitter.fed_by) == 1
    return emitter.fed_by[0] if bounced else emitter.name


def _ratio(key: float, others: dict[str, float]) -> FaceRatio | None:
    fill = sum(others.values())
    if fill < LEAST_FILL * key:
        return None
    ratio = float(highlight_to_shadow_ratio(key, fill=fill))
    return FaceRatio(
        fill=max(others, key=lambda name: others[name]),
        highlight_to_shadow=ratio,
        key_over_fill_stops=float(key_over_fill_stops(ratio)),
        key_to_fill=float(source_ratio(key, fill=fill)),
    )
