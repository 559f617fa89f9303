"""A first, quick look at the lenses: from many cameras at once, or with a light in many places.

The same rays as in a check on a coarser lattice, each emitter looked for by itself and edges not
resolved.  It finds where a verdict changes to about a step of a search; a check decides.

A head that turns or shifts is looked at from a camera that goes the other way around it; the
rays are then turned back into the room, where the lights stand still.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

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
PLAY_M = 1e-6  # so that rounding leaves out no ray that meets the edge of a face


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
        seen = np.zeros(len(self.at), dtype=bool)
        near = self._near(emitter)
        hits = emitter.face.hits(self.origins[near], self.directions[near])
        kept = np.flatnonzero(~np.isnan(hits.distance))
        if len(kept):
            met = near[kept]
            rays = self.directions[met]
            bright = emitter.brightness_at(
                self.origins[met] + hits.distance[kept, None] * rays,
                rays,
                from_front=hits.from_front[kept],
            )
            seen[met] = bright > self.least[met]
        return seen

    def _near(self, emitter: Emitter) -> np.ndarray:
        """Return the numbers of the rays that come as near to an emitter as its face reaches."""
        center = emitter.face.center
        before, origins2 = self._own_products
        along = self.directions @ center - before
        away2 = origins2 - 2.0 * (self.origins @ center) + center @ center - along * along
        reach = emitter.face.reach_m + PLAY_M
        return np.flatnonzero((away2 < reach * reach) & (along > -reach))

    def excess(self, seen: np.ndarray) -> FloatArray:
        """Return how far the worse lens is from clear for each camera, (count,).

        Parameters
        ----------
        seen : (n,) bool array
            Which of the rays see anything that shows.
        """
        covered = np.zeros(self.free.size)
        covered[self.at[seen]] = self._free_at[seen]
        front, back = covered.reshape(2, -1)
        share = np.maximum(front, back).reshape(2 * self.count, -1)
        both = [np.einsum("lc,lc->l", size, share) for size in self._over_limit]
        return np.asarray(np.maximum(*both).reshape(self.count, 2).max(axis=1))

    def only(self, cameras: np.ndarray) -> "tuple[QuickView, np.ndarray]":
        """Return the same from some of the cameras, by their numbers, and which rays it has."""
        cells = self.whole[0].size
        lens = self.at // cells % (2 * self.count)
        number = np.full(self.count, -1)
        number[cameras] = np.arange(len(cameras))
        kept = np.flatnonzero(number[lens // 2] >= 0)
        at, own = self.at[kept], lens[kept]
        surface = at // (cells * 2 * self.count)
        anew = 2 * number[own // 2] + own % 2
        lenses = (2 * cameras[:, None] + (0, 1)).ravel()
        view = replace(
            self,
            count=len(cameras),
            at=(surface * 2 * len(cameras) + anew) * cells + at % cells,
            origins=self.origins[kept],
            directions=self.directions[kept],
            least=self.least[kept],
            whole=self.whole[lenses],
            eye=self.eye[lenses],
            free=self.free[:, lenses],
        )
        return view, kept

    @cached_property
    def _own_products(self) -> tuple[FloatArray, FloatArray]:
        """Return how far along its direction each ray begins, and how far from the middle, squared.

        Both from the origin of the room: [m], [m²].
        """
        along = np.einsum("nk,nk->n", self.origins, self.directions)
        return along, np.einsum("nk,nk->n", self.origins, self.origins)

    @cached_property
    def _free_at(self) -> FloatArray:
        return np.asarray(self.free.reshape(-1)[self.at])

    @cached_property
    def _over_limit(self) -> tuple[FloatArray, FloatArray]:
        """Size of each cell over what a lens may show of lens and of eye, (lens, cell)."""
        whole, eye = (
            size.reshape(len(size), -1)
            / np.where((all_of := size.sum(axis=(1, 2))) > 0, all_of, 1.0)[:, None]
            / limit
            for size, limit in ((self.whole, CLEAR_LENS_COVER), (self.eye, CLEAR_VEIL))
        )
        return whole, eye


def joined(views: Sequence[QuickView]) -> QuickView:
    """Return views of several people as one, their cameras one after the other."""
    rows, columns = (max(one.whole.shape[axis] for one in views) for axis in (1, 2))
    lenses = 2 * sum(one.count for one in views)
    whole, eye = (np.zeros((lenses, rows, columns)) for _ in (0, 1))
    free = np.zeros((len(SURFACES), lenses, rows, columns))
    at, first = [], 0
    for one in views:
        own = slice(first, first + 2 * one.count)
        place = (own, slice(one.whole.shape[1]), slice(one.whole.shape[2]))
        whole[place], eye[place], free[:, *place] = one.whole, one.eye, one.free
        surface, lens, row, column = np.unravel_index(one.at, one.free.shape)
        at.append(np.ravel_multi_index((surface, lens + first, row, column), free.shape))
        first = own.stop
    return QuickView(
        count=lenses // 2,
        at=np.concatenate(at),
        origins=np.concatenate([one.origins for one in views]),
        directions=np.concatenate([one.directions for one in views]),
        least=np.concatenate([one.least for one in views]),
        whole=whole,
        eye=eye,
        free=free,
    )


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
