"""What the parts of the camera's picture share: the scene, its view, and its place on the page."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np

from tapemark.analysis import Scene
from tapemark.drawing.plate import Plate
from tapemark.drawing.portrait import Placement
from tapemark.drawing.projection import CameraView
from tapemark.drawing.sight import LensSight, in_front, plate_points, uncovered
from tapemark.drawing.svg import Sheet
from tapemark.drawing.trace import shape_outlines
from tapemark.geometry import FloatArray, dot, normalize, to_local, to_world
from tapemark.units import MM

FEATURE_MARGIN_M = 0.008  # features drawn on the skin count as seen this far behind it


@dataclass(frozen=True, kw_only=True, eq=False)
class Picture:
    """A picture being drawn.

    Attributes
    ----------
    scene, view : Scene, CameraView
        What is seen, and from where.
    plate : Plate
        The sitter's surfaces, laid.
    place : Placement
        Where the picture lies on the page.
    sights : tuple of LensSight
        Views through the right and the left lens; empty without glasses.
    """

    scene: Scene
    view: CameraView
    plate: Plate
    place: Placement
    sights: tuple[LensSight, ...]

    @property
    def points_per_mm(self) -> float:
        """Points on the page for a millimetre at the sitter's eyes."""
        return self.place.scale * MM / float(self.view.depth(self.scene.pose.origin))

    def on_page(self, world: FloatArray) -> FloatArray:
        """Return where world points (..., 3) lie on the page, (..., 2) [pt]."""
        return self.place(self.view(world))

    def on_skin(self, flat_mm: FloatArray, *, raised_mm: float = 0.6) -> FloatArray:
        """Return places (x, z) of the head frame [mm] laid onto the face, world [m]."""
        x, z = np.asarray(flat_mm).T * MM
        y = self.scene.head.front_depth(x, z) + raised_mm * MM
        pose = self.scene.pose
        return to_world(np.stack([x, y, z], axis=-1), origin=pose.origin, axes=pose.axes)

    def facing(self, world: FloatArray) -> FloatArray:
        """Return how squarely the face faces the camera at world points, 1 to -1 [-]."""
        head, pose = self.scene.head, self.scene.pose
        local = to_local(world, origin=pose.origin, axes=pose.axes)
        x, z, step = local[:, 0], local[:, 2], 1.0 * MM
        slope_x = head.front_depth(x + step, z) - head.front_depth(x - step, z)
        slope_z = head.front_depth(x, z + step) - head.front_depth(x, z - step)
        normal = np.stack([-slope_x, np.full_like(x, 2 * step), -slope_z], axis=-1)
        return dot(normalize(normal) @ pose.axes.T, normalize(self.view.position - world))

    def behind_glass(self, world: FloatArray, *, index: int) -> FloatArray:
        """Return where world points seem to be on the page, through a lens where there is one."""
        if not self.sights:
            return self.on_page(world)
        return self.place(self.sights[index].apparent(world))

    def seen(self, world: FloatArray, *, margin_m: float = FEATURE_MARGIN_M) -> np.ndarray:
        """Return which world points lie in front of the sitter's surfaces."""
        return in_front(self.plate, world, view=self.view, margin_m=margin_m)

    def past_surfaces(
        self, *, center: FloatArray, normal: FloatArray, margin_m: float
    ) -> np.ndarray:
        """Return at which lattice places a plane lies in front of the sitter's surfaces."""
        return uncovered(
            self.plate, view=self.view, center=center, normal=normal, margin_m=margin_m
        )

    def head_points(self) -> FloatArray:
        """Return the surface at each lattice place in the head frame, (rows, columns, 3) [m]."""
        pose = self.scene.pose
        points = plate_points(self.plate, view=self.view)
        return to_local(points, origin=pose.origin, axes=pose.axes)

    def left_to_see(self, ring: FloatArray, *, shown: np.ndarray) -> list[FloatArray] | None:
        """Return what the sitter's surfaces leave of a flat shape.

        Parameters
        ----------
        ring : (n, 3) array
            Edge of the shape, world. [m]
        shown : (rows, columns) bool array
            Lattice places at which its plane can be seen.

        Returns
        -------
        list of (n, 2) arrays or None
            Page outlines within which it shows; None where nothing hides it. [pt]
        """
        step = (self.view(ring) - (self.plate.left, self.plate.top)) / self.plate.pitch
        low, high = np.floor(step.min(axis=0)).astype(int), np.ceil(step.max(axis=0)).astype(int)
        near = shown[max(low[1], 0) : high[1] + 1, max(low[0], 0) : high[0] + 1]
        if near.all():
            return None
        return [self.place(outline) for outline in shape_outlines(self.plate, shown)]

    @contextmanager
    def clipped(self, sheet: Sheet, name: str, hidden: list[FloatArray] | None) -> Iterator[None]:
        """Draw within what `left_to_see` found, as a named group."""
        with sheet.group(name, clip=None if hidden is None else sheet.clip(hidden)):
            yield
