"""How many stops under the key's reading is each place of a face, and where does the key not reach?

The skin is asked on a grid that wraps around the face from ear to ear, closer
where the nose throws its shadow.  Everything is told against the key metered
square on at the face, as one meters who sets a lighting ratio.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.face_light import FaceLight
from tapemark.analysis.face_points import LIFT_M, face_scale
from tapemark.analysis.key_light import KeyLight, key_light
from tapemark.analysis.light_at_places import FAINT, hidden_patches, light_at_places, weighted_share
from tapemark.analysis.scene import Scene
from tapemark.analysis.sheen import LEAST_AROUND, film_brightness
from tapemark.analysis.source_patches import (
    COARSE_PAIRS,
    ROUGH_PAIRS,
    SourcePatches,
    patch_light,
    source_patches,
)
from tapemark.anatomy import HeadSurface
from tapemark.geometry import FloatArray, dot, normalize, to_world, turn_to_world
from tapemark.photometry import FLAT, aperture_from_exposure, stops_between
from tapemark.units import MM

DARKEST_STOPS = -8.0  # what gets less is told as this
#: Eyes lie in their sockets: so much of a path's start is not looked for in the head.
SOCKET_M = 12.0 * MM
#: Places turned farther from the camera than this are left out: cosine. [-]
TURNED_AWAY = -0.25
#: Rows from the chin to under the hair: millimetres of the reference head, closer over the nose.
_ROWS_MM = (
    *np.linspace(-111.0, -66.0, 9),
    *np.linspace(-63.0, 0.0, 22),
    *np.linspace(5.0, 90.0, 15),
)
#: Columns around the head, from the nose: even steps across the nose, wider ones to the ears.
_COLUMNS_DEG = (*np.arange(0.0, 34.0, 2.3), *np.linspace(37.0, 90.0, 11), 100.0, 110.0, 120.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class FaceZones:
    """Light over a face; rows from the chin up, columns from the sitter's left to the right.

    Attributes
    ----------
    key : str
        The light that models the face.
    key_exposure_lx_s : float
        The key alone, metered square on at the face: zero stops. [lx·s]
    key_aperture : float
        The same as an f-number, flat receptor. [-]
    points : (rows, columns, 3) array
        The skin, world. [m]
    stops : (rows, columns) array
        All light on the skin over the key's reading, not under
        `DARKEST_STOPS`; NaN where the camera does not see the skin. [stops]
    key_seen : (rows, columns) array
        Share of the key that the place looks at, over the skin's own horizon
        and past everything in between, 0 to 1; NaN as above. [-]
    shine_stops : (rows, columns) array
        Skin with its highlights over the same skin without; NaN as above. [stops]
    eye_stops : tuple of float or None
        Light on the right and the left iris against the key's reading, shade
        of the brow taken off; None in the dark. [stops]
    eye_exposures_lx_s : tuple of two floats
        The same as luminous exposure. [lx·s]
    """

    key: str
    key_exposure_lx_s: float
    key_aperture: float
    points: FloatArray
    stops: FloatArray
    key_seen: FloatArray
    shine_stops: FloatArray
    eye_stops: tuple[float | None, float | None]
    eye_exposures_lx_s: tuple[float, float]


def face_zones(scene: Scene, *, light: FaceLight) -> FaceZones | None:
    """Return the light over the face of a scene; None where no light models it.

    Parameters
    ----------
    scene : Scene
        Sitter, camera and emitters.
    light : FaceLight
        Which share of each emitter the face sees.

    Notes
    -----
    Where an emitter gives less than a hundredth of the light, its shadows are
    not looked for. Rims and hair throw no shadow here.
    """
    key = key_light(scene, light=light)
    if key is None:
        return None
    grid = face_grid(scene.head)
    points = to_world(grid, origin=scene.pose.origin, axes=scene.pose.axes)
    normals = turn_to_world(_normals(grid), axes=scene.pose.axes)
    facing = dot(normals, normalize(scene.camera - points))
    kept = np.flatnonzero((facing > TURNED_AWAY) & np.isfinite(points).all(axis=-1))
    skin = _Skin(
        points=points.reshape(-1, 3)[kept] + LIFT_M * normals.reshape(-1, 3)[kept],
        normals=normals.reshape(-1, 3)[kept],
    )
    fields = np.full((3, points.shape[0] * points.shape[1]), np.nan)
    fields[:, kept] = _fields(scene, key, skin)
    stops, key_seen, shine = fields.reshape(3, *points.shape[:2])
    eyes = _at_eyes(scene)
    return FaceZones(
        key=key.name,
        key_exposure_lx_s=key.exposure_lx_s,
        key_aperture=float(
            aperture_from_exposure(key.exposure_lx_s, iso=scene.setup.camera.iso, calibration=FLAT)
        ),
        points=points,
        stops=stops,
        key_seen=key_seen,
        shine_stops=shine,
        eye_stops=(_stops(eyes[0], key), _stops(eyes[1], key)),
        eye_exposures_lx_s=eyes,
    )


def face_grid(head: HeadSurface) -> FloatArray:
    """Return places on the skin from chin to hair and from ear to ear, head frame [m]."""
    _, tall = face_scale(head)
    sections = head.mesh(rows=241, columns=3)
    z = np.array(_ROWS_MM) * tall * MM
    half = np.interp(z, sections[:, 0, 2], sections[:, 2, 0])[:, None]
    side = np.array(_COLUMNS_DEG)
    angle = np.deg2rad(np.concatenate([-side[:0:-1], side]))
    x = half * np.sin(angle) * 0.9995
    up = np.broadcast_to(z[:, None], x.shape)
    ahead = np.broadcast_to(np.abs(angle) <= np.pi / 2, x.shape)
    y = np.where(ahead, head.front_depth(x, up), head.rear_depth(x, up))
    return np.stack([x, y, up], axis=-1)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Skin:
    """Places just over the skin and the way it faces, world, (n, 3) each."""

    points: FloatArray
    normals: FloatArray


def _fields(scene: Scene, key: KeyLight, skin: _Skin) -> FloatArray:
    """Return stops, share of the key seen and shine at each place, (3, n)."""
    towards_camera = normalize(scene.camera - skin.points)
    found = np.array(
        [one.exposure_at(skin.points, normal=skin.normals) for one in scene.emitters]
    ).reshape(len(scene.emitters), -1)
    telling = found > FAINT * found.sum(axis=0)
    shine, key_seen = np.zeros((2, len(skin.points)))
    for index, emitter in enumerate(scene.emitters):
        is_key = emitter is key.emitter
        lit = np.flatnonzero(found[index] > 0)
        if not (telling[index].any() or is_key) or not len(lit):
            continue
        patches = source_patches(emitter, pairs=COARSE_PAIRS if is_key else ROUGH_PAIRS)
        places, normals = skin.points[lit], skin.normals[lit]
        light = patch_light(emitter, patches, places=places, normals=normals)
        free = ~hidden_patches(scene, emitter, patches, places=places)
        share = weighted_share(light, free)
        found[index, lit] *= share
        own = _Skin(points=places, normals=normals)
        shine[lit] += _shine(patches, light * free, own, towards_camera=towards_camera[lit])
        if is_key:
            above = dot(patches.points - places[:, None], normals[:, None]) > 0
            key_seen[lit] = weighted_share(
                np.broadcast_to(patches.intensities, above.shape), above & free
            )
    lamps = scene.setup.room.ambient_lx * scene.setup.camera.shutter_s
    total = found.sum(axis=0) + lamps
    body = total * scene.sitter.skin_reflectance / np.pi
    around = np.maximum(body, LEAST_AROUND * body.mean())
    floor = key.exposure_lx_s * 2.0**DARKEST_STOPS
    stops = stops_between(np.maximum(total, floor), reference=key.exposure_lx_s)
    return np.stack([stops, key_seen, np.log2(1.0 + shine / np.maximum(around, 1e-12))])


def _shine(
    patches: SourcePatches, light: FloatArray, skin: _Skin, *, towards_camera: FloatArray
) -> FloatArray:
    """Return what the film on the skin mirrors of one emitter, (n,) [cd·s/m²]."""
    brightness = film_brightness(
        light,
        towards_light=normalize(patches.points - skin.points[:, None, :]),
        towards_camera=towards_camera[:, None, :],
        normal=skin.normals[:, None, :],
    )
    return np.asarray(brightness.sum(axis=-1))


def _at_eyes(scene: Scene) -> tuple[float, float]:
    """Return the light on right and left iris with the head's own shade [lx·s]."""
    eyes = scene.eyes
    light = light_at_places(scene, eyes.iris_center, normals=eyes.gaze, clearance_m=SOCKET_M)
    lamps = scene.setup.room.ambient_lx * scene.setup.camera.shutter_s
    right, left = light.sum(axis=0) + lamps
    return float(right), float(left)


def _stops(amount: float, key: KeyLight) -> float | None:
    if amount <= 0:
        return None
    return float(stops_between(amount, reference=key.exposure_lx_s))


def _normals(grid: FloatArray) -> FloatArray:
    """Return the way a grid from chin up and from the sitter's left faces, outwards [-]."""
    across, up = np.gradient(grid, axis=1), np.gradient(grid, axis=0)
    return np.asarray(normalize(np.cross(up, across)))
