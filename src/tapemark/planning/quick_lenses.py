"""A first, quick look at the lenses: from many cameras at once, or with a light in many places.

The same rays as in a check on a coarser lattice, each emitter looked for by itself and edges not
resolved.  It finds where a verdict changes to about a step of a search; a check decides.

A head that turns or shifts is looked at from a camera that goes the other way around it; the
rays are then turned back into the room, where the lights stand still.
"""

from dataclasses import dataclass, replace

import numpy as np

from tapemark.analysis import Emitter, FaceLight, Scene, lattice_for, view_lenses
from tapemark.analysis.cover import (
    IRIS_REFLECTANCE,
    PUPIL_REFLECTANCE,
    SCLERA_REFLECTANCE,
    THRESHOLD_CONTRAST,
    eye_share,
)
from tapemark.analysis.glare import CLEAR_LENS_COVER, CLEAR_VEIL
from tapemark.analysis.lens_view import SURFACES, LensView
from tapemark.anatomy import HeadPose, LensStack
from tapemark.geometry import FloatArray

#: Lattice points inside a lens outline: for one camera, and for each of many.
CLOSE_POINTS, MANY_POINTS = 600, 200


@dataclass(frozen=True, kw_only=True, eq=False)
class QuickView:
    """Reflected rays of a lens pair from several cameras, in the room.

    Attributes
    ----------
    count : int
        How many cameras.
    at : (n,) int array
        Cell of each ray that gets out, in (surface, lens, row, column) order.
    origins, directions : (n, 3) arrays
        Of those rays, world. [m], [-]
    least : (n,) array
        Least brightness that shows. [cd·s/m²]
    whole, eye : (lens, row, column) arrays
        Size of each cell to the camera, and of its part over the eye. [sr]
    free : (surface, lens, row, column) array
        Share of each cell from which rays get out. [-]
    """

    count: int
    at: np.ndarray
    origins: FloatArray
    directions: FloatArray
    least: FloatArray
    whole: FloatArray
    eye: FloatArray
    free: FloatArray

    def shown(self, emitter: Emitter) -> np.ndarray:
        """Return which of the rays see an emitter bright enough to show, (n,) bool."""
        hits = emitter.face.hits(self.origins, self.directions)
        met = np.flatnonzero(~np.isnan(hits.distance))
        seen = np.zeros(len(self.at), dtype=bool)
        if len(met):
            rays = self.directions[met]
            bright = emitter.brightness_at(
                self.origins[met] + hits.distance[met, None] * rays,
                rays,
                from_front=hits.from_front[met],
            )
            seen[met] = bright > self.least[met]
        return seen

    def excess(self, seen: np.ndarray) -> FloatArray:
        """Return how far the worse lens is from clear for each camera, (count,).

        Parameters
        ----------
        seen : (n,) bool array
            Which of the rays see anything that shows.
        """
        covered = np.zeros(self.free.size)
        covered[self.at[seen]] = self.free.reshape(-1)[self.at[seen]]
        share = covered.reshape(self.free.shape).max(axis=0)
        both = [
            _over(size, share, limit=limit)
            for size, limit in ((self.whole, CLEAR_LENS_COVER), (self.eye, CLEAR_VEIL))
        ]
        return np.asarray(np.maximum(*both).reshape(self.count, 2).max(axis=1))


def _over(size: FloatArray, share: FloatArray, *, limit: float) -> FloatArray:
    whole = size.sum(axis=(1, 2))
    return np.asarray((size * share).sum(axis=(1, 2)) / np.where(whole > 0, whole, 1.0) / limit)


def quick_view(
    scene: Scene, *, light: FaceLight, cameras: FloatArray, poses: tuple[HeadPose, ...]
) -> QuickView:
    """Return a quick look at one person's lenses from several cameras.

    Parameters
    ----------
    scene : Scene
        About somebody who wears glasses.
    light : FaceLight
        Light around the eyes; taken to stay.
    cameras : (k, 3) array
        Entrance pupils, world. [m]
    poses : tuple of k HeadPose
        The head as each of them sees it.
    """
    assert scene.lenses is not None
    base, count = scene.pose, len(poses)
    around = np.array(
        [
            base.origin + base.axes @ (one.axes.T @ (camera - one.origin))
            for camera, one in zip(cameras, poses, strict=True)
        ]
    )
    stack = _tiled(scene.lenses, count)
    moved = replace(scene, camera=np.repeat(around, 2, axis=0)[:, None, None, :])
    points = CLOSE_POINTS if count == 1 else MANY_POINTS
    columns, rows = lattice_for(stack, points=points)
    view = view_lenses(moved, stack, columns=columns, rows=rows)
    least = _least(view, light=light, scene=scene)
    free = np.stack([view.reflected[surface].free for surface in SURFACES])
    at = np.flatnonzero(np.isfinite(least) & (free > 0.0) & (view.solid_angle > 0.0))
    origins, directions = _in_room(view, at, base=base, poses=poses)
    return QuickView(
        count=count,
        at=at,
        origins=origins,
        directions=directions,
        least=least.reshape(-1)[at],
        whole=view.solid_angle,
        eye=view.solid_angle * eye_share(view),
        free=free,
    )


def _tiled(lenses: LensStack, count: int) -> LensStack:
    """Return a lens pair over and over."""

    def tiled(own: FloatArray) -> FloatArray:
        return np.tile(own, (count,) + (1,) * (own.ndim - 1))

    return replace(
        lenses,
        outward=tiled(lenses.outward),
        optical_origin=tiled(lenses.optical_origin),
        optical_axes=tiled(lenses.optical_axes),
        boxed_origin=tiled(lenses.boxed_origin),
        boxed_axes=tiled(lenses.boxed_axes),
        front_curvature=tiled(lenses.front_curvature),
        back_curvature_a=tiled(lenses.back_curvature_a),
        back_curvature_b=tiled(lenses.back_curvature_b),
        back_axis=tiled(lenses.back_axis),
        thickness_m=tiled(lenses.thickness_m),
        index=tiled(lenses.index),
    )


def _least(view: LensView, *, light: FaceLight, scene: Scene) -> FloatArray:
    """Return the least brightness of what shows in each cell; inf where no ray gets out."""
    sitter, eye = scene.sitter, view.opening > 0
    tint = 1.0 if sitter.glasses is None else sitter.glasses.tint_transmission
    kind = np.where(eye, SCLERA_REFLECTANCE, sitter.skin_reflectance)
    kind = np.where(eye & (view.iris > 0), IRIS_REFLECTANCE, kind)
    kind = np.where(eye & (view.pupil > 0), PUPIL_REFLECTANCE, kind)
    received = np.tile(np.asarray(light.at_eyes), len(kind) // 2) / np.pi
    behind = kind * (np.nan_to_num(view.through_weight) * tint) ** 2 * received[:, None, None]
    weight = np.stack([view.reflected[surface].weight for surface in SURFACES])
    weight[1] *= tint**2
    out = weight > 0.0
    return np.where(out, THRESHOLD_CONTRAST * behind / np.where(out, weight, 1.0), np.inf)


def _in_room(
    view: LensView, at: np.ndarray, *, base: HeadPose, poses: tuple[HeadPose, ...]
) -> tuple[FloatArray, FloatArray]:
    """Return origins and directions of the rays that get out, with each head as it is held."""
    origins, directions = (
        np.stack([getattr(view.reflected[surface], field) for surface in SURFACES])
        for field in ("origins", "directions")
    )
    if len(poses) > 1 or poses[0] is not base:
        turns = np.repeat([one.axes @ base.axes.T for one in poses], 2, axis=0)
        marks = np.repeat([one.origin for one in poses], 2, axis=0)[:, None, None, :]
        turned = np.swapaxes(turns, 1, 2)[:, None]
        origins = marks + (origins - base.origin) @ turned
        directions = directions @ turned
    return origins.reshape(-1, 3)[at], directions.reshape(-1, 3)[at]
