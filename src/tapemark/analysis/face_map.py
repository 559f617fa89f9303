"""How does light lie over the whole face, place by place?  For drawing."""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.face_points import SkinPlaces, skin_at
from tapemark.analysis.light_at_places import seen_share
from tapemark.analysis.scene import Scene
from tapemark.geometry import FloatArray
from tapemark.units import MM

COLUMNS, ROWS = 41, 55
HALF_WIDTH_M = 72.0 * MM
LOWEST_M, HIGHEST_M = -112.0 * MM, 88.0 * MM


@dataclass(frozen=True, kw_only=True, eq=False)
class FaceLightMap:
    """Light over the face; rows from chin to forehead, columns from the sitter's left.

    Attributes
    ----------
    x, z : (columns,), (rows,) arrays
        Side and height of the places in the head frame. [m]
    points, normals : (rows, columns, 3) arrays
        The skin in the world [m] and the way it faces [-]; NaN beside the face.
    exposures : (emitters, rows, columns) array
        Light of each emitter with all shadows; NaN beside the face. [lx·s]
    seen_shares : (emitters, rows, columns) array
        Share of each emitter's light that nothing hides, 0 where the skin
        faces away from it; NaN beside the face. [-]
    names : tuple of str
        The emitters.
    """

    x: FloatArray
    z: FloatArray
    points: FloatArray
    normals: FloatArray
    exposures: FloatArray
    seen_shares: FloatArray
    names: tuple[str, ...]


def face_light_map(scene: Scene, *, rows: int = ROWS, columns: int = COLUMNS) -> FaceLightMap:
    """Return the light over the face of a scene, on a lattice as seen from the front."""
    x = np.linspace(-HALF_WIDTH_M, HALF_WIDTH_M, columns)
    z = np.linspace(LOWEST_M, HIGHEST_M, rows)
    across, up = np.meshgrid(x, z)
    skin = skin_at(scene.head, across.ravel(), up.ravel())
    kept = np.flatnonzero(np.isfinite(skin.normals).all(axis=-1))
    shown = SkinPlaces(points=skin.points[kept], normals=skin.normals[kept]).in_world(scene.pose)
    shares = np.full((len(scene.emitters), rows * columns), np.nan)
    exposures = shares.copy()
    for index, emitter in enumerate(scene.emitters):
        light = emitter.exposure_at(shown.points, normal=shown.normals)
        share = np.zeros(len(kept))
        lit = np.flatnonzero(light > 0)
        if len(lit):
            share[lit] = seen_share(
                scene, emitter, places=shown.points[lit], normals=shown.normals[lit]
            )
        shares[index, kept], exposures[index, kept] = share, light * share
    whole = skin.in_world(scene.pose)
    shape = (len(scene.emitters), rows, columns)
    return FaceLightMap(
        x=x,
        z=z,
        points=whole.points.reshape(rows, columns, 3),
        normals=whole.normals.reshape(rows, columns, 3),
        exposures=exposures.reshape(shape),
        seen_shares=shares.reshape(shape),
        names=tuple(one.name for one in scene.emitters),
    )
