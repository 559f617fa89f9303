"""Where does the camera see what lies behind a spectacle lens?

A lens shifts and scales what is behind it: eyes look smaller through a minus
lens, and the edge of the face jumps at its rim.  The camera's rays are traced
through the real surfaces, as in the analysis.
"""

import numpy as np

from tapemark.analysis import Scene
from tapemark.analysis.lens_view import lens_optics
from tapemark.anatomy import edge_outline, lens_margin
from tapemark.drawing.plate import EMPTY, Plate
from tapemark.drawing.projection import CameraView
from tapemark.geometry import FloatArray, normalize, to_local, to_world
from tapemark.optics import LensOptics, front_point, intersect_spherical, trace_lens

_STEPS = 8  # of the search for the ray through a lens to a point
_EDGE_POINTS = 160
_AROUND = 10  # lattice steps painted beyond a lens, so that no edge of the plate shows


class LensSight:
    """The camera's view through one lens.

    Parameters
    ----------
    scene : Scene
        A scene with lenses.
    view : CameraView
        Its camera.
    index : int
        0 for the sitter's right lens, 1 for the left.
    """

    def __init__(self, scene: Scene, *, view: CameraView, index: int) -> None:
        assert scene.lenses is not None
        self._scene, self._lenses, self._view, self._index = scene, scene.lenses, view, index
        self._origin = scene.lenses.optical_origin[index]
        self._axes = scene.lenses.optical_axes[index]
        self._camera = to_local(scene.camera, origin=self._origin, axes=self._axes)
        self._optics = _one(lens_optics(scene.lenses, trailing=0), index)
        self.edge = edge_outline(scene.lenses, index=index, count=_EDGE_POINTS)

    def outline(self) -> FloatArray:
        """Return the edge of the lens in the picture, (n, 2) [-]."""
        return self._view(self.edge)

    def apparent(self, points: FloatArray) -> FloatArray:
        """Return where points behind the lens seem to be.

        Parameters
        ----------
        points : (n, 3) array
            World points. [m]

        Returns
        -------
        (n, 2) array
            Picture places: through the lens where the ray passes inside its
            edge, else straight. [-]
        """
        target = to_local(points, origin=self._origin, axes=self._axes)
        towards = normalize(target - self._camera)
        share = -self._camera[1] / towards[:, 1]
        place = (self._camera + share[:, None] * towards)[:, [0, 2]]
        for _ in range(_STEPS):
            origins, directions, at_front = self._through(place)
            reach = (target[:, 1] - origins[:, 1]) / directions[:, 1]
            met = origins + reach[:, None] * directions
            place = place + np.nan_to_num((target - met)[:, [0, 2]])
        world = to_world(at_front, origin=self._origin, axes=self._axes)
        through = self._inside(world) & (target[:, 1] < 0)
        return np.where(through[:, None], self._view(world), self._view(points))

    def plate(self, plate: Plate) -> Plate | None:
        """Return the part of a plate around the lens, as it looks through the lens.

        None where the lens lies outside the plate.
        """
        step = (self.outline() - (plate.left, plate.top)) / plate.pitch
        low = np.floor(step.min(axis=0)).astype(int) - _AROUND
        high = np.ceil(step.max(axis=0)).astype(int) + _AROUND
        rows, columns = plate.kind.shape
        left, right = np.clip((low[0], high[0]), 0, columns)
        top, bottom = np.clip((low[1], high[1]), 0, rows)
        if right <= left or bottom <= top:
            return None
        across, down = np.meshgrid(plate.across[left:right], plate.down[top:bottom])
        source = self._source(np.stack([across, down], axis=-1))
        step = (source - (plate.left, plate.top)) / plate.pitch
        kind, tone, depth = _looked_up(plate, step)
        return Plate(
            left=float(plate.left + left * plate.pitch),
            top=float(plate.top + top * plate.pitch),
            pitch=plate.pitch,
            kind=kind,
            tone=tone,
            depth=depth,
        )

    def _source(self, places: FloatArray) -> FloatArray:
        """Return where, without the lens, the camera sees what it sees through it at places."""
        shape = places.shape[:-1]
        flat = places.reshape(-1, 2)
        local = np.stack([flat[:, 0], np.ones(len(flat)), -flat[:, 1]], axis=-1)
        direction = normalize(local @ self._view.axes.T @ self._axes)
        reach = intersect_spherical(
            np.broadcast_to(self._camera, direction.shape),
            direction,
            curvature=self._optics.front_curvature,
        )
        front = self._camera + np.nan_to_num(reach)[:, None] * direction
        origins, directions, _ = self._through(front[:, [0, 2]])
        behind = self._scene.eyes.opening_center[self._index]
        depth = to_local(behind, origin=self._origin, axes=self._axes)[1]
        met = origins + ((depth - origins[:, 1]) / directions[:, 1])[:, None] * directions
        seen = self._view(to_world(met, origin=self._origin, axes=self._axes))
        return np.where(np.isfinite(seen), seen, flat).reshape(*shape, 2)

    def _through(self, place: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return rays behind the lens that enter its front at places, optical frame."""
        front = front_point(place[:, 0], place[:, 1], curvature=self._optics.front_curvature)
        traced = trace_lens(self._camera, front, lens=self._optics).through
        return traced.origins, traced.directions, front

    def _inside(self, world: FloatArray) -> np.ndarray:
        lenses = self._lenses
        boxed = to_local(
            world, origin=lenses.boxed_origin[self._index], axes=lenses.boxed_axes[self._index]
        )
        with np.errstate(invalid="ignore"):
            return np.asarray(lens_margin(boxed[..., 0], boxed[..., 2], lens=lenses) > 0)


def lens_sights(scene: Scene, *, view: CameraView) -> tuple[LensSight, ...]:
    """Return the views through both lenses; none without glasses."""
    if scene.lenses is None:
        return ()
    return tuple(LensSight(scene, view=view, index=index) for index in (0, 1))


def in_front(plate: Plate, points: FloatArray, *, view: CameraView, margin_m: float) -> np.ndarray:
    """Return which world points the camera sees past the surfaces of a plate.

    Parameters
    ----------
    plate : Plate
        What is nearest.
    points : (..., 3) array
        World points. [m]
    view : CameraView
        The camera.
    margin_m : float
        A point counts as seen even this far behind a surface. [m]
    """
    step = (view(points) - (plate.left, plate.top)) / plate.pitch
    _, _, depth = _looked_up(plate, step)
    with np.errstate(invalid="ignore"):
        return np.asarray(~(view.depth(points) > depth + margin_m))


def plate_points(plate: Plate, *, view: CameraView) -> FloatArray:
    """Return the world points of what a plate shows, (rows, columns, 3) [m]; NaN where empty."""
    across, down = np.meshgrid(plate.across, plate.down)
    rays = np.stack([across, np.ones_like(across), -down], axis=-1) @ view.axes.T
    return np.asarray(view.position + plate.depth[..., None] * rays)


def uncovered(
    plate: Plate, *, view: CameraView, center: FloatArray, normal: FloatArray, margin_m: float
) -> np.ndarray:
    """Return at which lattice places a plane lies in front of all surfaces."""
    across, down = np.meshgrid(plate.across, plate.down)
    rays = np.stack([across, np.ones_like(across), -down], axis=-1) @ view.axes.T
    with np.errstate(divide="ignore", invalid="ignore"):
        depth = ((center - view.position) @ normal) / (rays @ normal)
        return np.asarray(~(depth > plate.depth + margin_m))


def _looked_up(plate: Plate, step: FloatArray) -> tuple[np.ndarray, FloatArray, FloatArray]:
    rows, columns = plate.kind.shape
    column = np.clip(np.rint(np.nan_to_num(step[..., 0])), 0, columns - 1).astype(int)
    row = np.clip(np.rint(np.nan_to_num(step[..., 1])), 0, rows - 1).astype(int)
    outside = (np.abs(step[..., 0] - column) > 0.51) | (np.abs(step[..., 1] - row) > 0.51)
    kind = np.where(outside, EMPTY, plate.kind[row, column])
    tone = np.where(outside, np.nan, plate.tone[row, column])
    depth = np.where(outside, np.nan, plate.depth[row, column])
    return kind, tone, depth


def _one(optics: LensOptics, index: int) -> LensOptics:
    return LensOptics(
        front_curvature=optics.front_curvature[index],
        back_curvature_a=optics.back_curvature_a[index],
        back_curvature_b=optics.back_curvature_b[index],
        back_axis=optics.back_axis[index],
        thickness_m=optics.thickness_m[index],
        index=optics.index[index],
        coating_reflectance=optics.coating_reflectance,
    )
