"""Shapes of everything that sends light: flat faces and umbrella bowls.

A face has a frame: origin at its middle, y axis the way it emits.

        flat face            bowl (reflecting)      bowl (shoot-through)
           |--> y               ( --> y                 ) --> y
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapemark.geometry import (
    FloatArray,
    disc_margin,
    disc_points,
    dot,
    intersect_sphere,
    rectangle_margin,
    rectangle_points,
    regular_polygon_margin,
    regular_polygon_points,
    to_local,
    to_world,
    turn_to_local,
)
from tapemark.studio import Modifier

OCTAGON_SIDES = 8
ROUND_CORNERS = 24  # corners of the polygon that stands for a disc
#: Depth of an umbrella's bowl over its diameter (assumption, ±0.04).
BOWL_DEPTH_SHARE = 0.22
_ROUND_POLYGON = ROUND_CORNERS / (2 * np.pi) * np.sin(2 * np.pi / ROUND_CORNERS)
#: What the polygon above has to grow to send as much light as its disc. [-]
ROUND_GROWS = float(1.0 / np.sqrt(_ROUND_POLYGON))
SIDE_SAMPLES = 8  # along each side of a face whose beam is narrow; as many in a round one


@dataclass(frozen=True, kw_only=True, eq=False)
class FaceHits:
    """Where rays meet a face.

    Attributes
    ----------
    distance : (...) array
        Along each ray [m]; NaN for a miss.
    from_front : (...) bool array
        True where the ray arrives on the emitting side.
    """

    distance: FloatArray
    from_front: np.ndarray


@dataclass(frozen=True, kw_only=True, eq=False)
class FlatFace:
    """A rectangle, disc or octagon.

    Attributes
    ----------
    center : (3,) array
        Middle of the face, world. [m]
    axes : (3, 3) array
        Columns: along the width, the way it emits, along the height. [-]
    shape : str
        ``"rectangle"``, ``"disc"`` or ``"octagon"``.
    width_m, height_m : float
        Full size; a disc or octagon has both equal (octagon across flats).
    """

    center: FloatArray
    axes: FloatArray
    shape: Literal["rectangle", "disc", "octagon"]
    width_m: float
    height_m: float

    def hits(self, origins: FloatArray, directions: FloatArray) -> FaceHits:
        """Return where rays (world, [m]) meet the face."""
        start = to_local(origins, origin=self.center, axes=self.axes)
        along = turn_to_local(directions, axes=self.axes)
        with np.errstate(divide="ignore", invalid="ignore"):
            distance = -start[..., 1] / along[..., 1]
            place = np.stack(
                [
                    start[..., 0] + distance * along[..., 0],
                    start[..., 2] + distance * along[..., 2],
                ],
                axis=-1,
            )
            met = (distance > 0) & (self.margin(place) >= 0)
        return FaceHits(distance=np.where(met, distance, np.nan), from_front=along[..., 1] < 0)

    def margin(self, place: FloatArray) -> FloatArray:
        """Return how far inside the edge a place (x, z) on the face lies [m]."""
        if self.shape == "rectangle":
            return rectangle_margin(place, width=self.width_m, height=self.height_m)
        if self.shape == "disc":
            return disc_margin(place, diameter=self.width_m)
        return regular_polygon_margin(place, diameter=self.width_m, sides=OCTAGON_SIDES)

    def outline(self) -> FloatArray:
        """Return the corners of the face in the world, (n, 3) [m]."""
        if self.shape == "rectangle":
            flat = rectangle_points(width=self.width_m, height=self.height_m)
        elif self.shape == "disc":
            flat = disc_points(ROUND_CORNERS, diameter=self.width_m)
        else:
            flat = regular_polygon_points(diameter=self.width_m, sides=OCTAGON_SIDES)
        return _in_world(flat, center=self.center, axes=self.axes)

    def sending_outline(self) -> FloatArray:
        """Return the corners of a polygon of the same area that stands for it, (n, 3) [m]."""
        grows = ROUND_GROWS if self.shape == "disc" else 1.0
        return np.asarray(self.center + grows * (self.outline() - self.center))

    def samples(self, side: int) -> FloatArray:
        """Return places spread evenly over the face in the world, (side², 3) [m]."""
        if self.shape == "rectangle":
            steps = (np.arange(side) + 0.5) / side - 0.5
            up, across = np.meshgrid(steps * self.height_m, steps * self.width_m, indexing="ij")
            flat = np.stack([across.ravel(), up.ravel()], axis=-1)
        else:
            flat = _round_samples(self.area_m2, side)
        return _in_world(flat, center=self.center, axes=self.axes)

    @property
    def sending_area_m2(self) -> float:
        """Area that sends light. [m²]"""
        return self.area_m2

    @property
    def area_m2(self) -> float:
        """Area of the face. [m²]"""
        share = {"rectangle": 1.0, "disc": np.pi / 4, "octagon": 2 * (np.sqrt(2) - 1)}
        return float(self.width_m * self.height_m * share[self.shape])

    @property
    def reach_m(self) -> float:
        """Radius of the ball around the centre that holds the face. [m]"""
        return float(np.hypot(self.width_m, self.height_m) / 2)


@dataclass(frozen=True, kw_only=True, eq=False)
class BowlFace:
    """An umbrella: a cap of a sphere.

    Attributes
    ----------
    center : (3,) array
        Middle of the opening, world. [m]
    axes : (3, 3) array
        Columns; y is the way it emits. [-]
    diameter_m, depth_m : float
        Of the opening; from the opening to the apex. [m]
    hollow_front : bool
        True if the hollow side faces the way it emits (a reflecting
        umbrella); False for a shoot-through one.
    """

    center: FloatArray
    axes: FloatArray
    diameter_m: float
    depth_m: float
    hollow_front: bool

    def hits(self, origins: FloatArray, directions: FloatArray) -> FaceHits:
        """Return where rays (world, [m]) meet the bowl."""
        near, far = intersect_sphere(
            origins, directions, center=self._ball_center, radius=self._ball_radius
        )
        distance = np.full(near.shape, np.nan)
        inside = np.zeros(near.shape, dtype=bool)
        for candidate, hollow in ((far, True), (near, False)):
            met = self._on_cap(origins + candidate[..., None] * directions) & (candidate > 0)
            distance = np.where(met, candidate, distance)
            inside = np.where(met, hollow, inside)
        return FaceHits(distance=distance, from_front=inside == self.hollow_front)

    def outline(self) -> FloatArray:
        """Return points around the opening in the world, (n, 3) [m]."""
        flat = disc_points(ROUND_CORNERS, diameter=self.diameter_m)
        return _in_world(flat, center=self.center, axes=self.axes)

    def sending_outline(self) -> FloatArray:
        """Return the corners of a polygon of the opening's area, (n, 3) [m]."""
        return np.asarray(self.center + ROUND_GROWS * (self.outline() - self.center))

    def samples(self, side: int) -> FloatArray:
        """Return places spread evenly over the opening, world, (side², 3) [m]."""
        return _in_world(_round_samples(self.area_m2, side), center=self.center, axes=self.axes)

    def bulge(self, along: FloatArray, around: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return places on a cap that bulges forwards and its normals there, world.

        Parameters
        ----------
        along : (n,) array
            From the apex (0) to the rim (1): equal steps are equal areas. [-]
        around : (n,) array
            Angle about the axis, from the direction of its width. [rad]

        Notes
        -----
        A zone of a sphere has the area of its height times the girth.
        """
        radius = self._ball_radius
        height = radius - along * self.depth_m  # over the middle of the ball, along y
        out = np.sqrt(np.maximum(radius**2 - height**2, 0.0))
        local = np.stack([out * np.cos(around), height, out * np.sin(around)], axis=-1)
        return self._ball_center + local @ self.axes.T, local / radius @ self.axes.T

    @property
    def sending_area_m2(self) -> float:
        """Area that sends light: of the opening, or of a bowl that bulges forwards. [m²]"""
        bulge = 0.0 if self.hollow_front else float(np.pi) * self.depth_m**2
        return self.area_m2 + bulge

    @property
    def area_m2(self) -> float:
        """Area of the opening. [m²]"""
        return float(np.pi * self.diameter_m**2 / 4)

    @property
    def reach_m(self) -> float:
        """Radius of the ball around the centre that holds the bowl. [m]"""
        return float(np.hypot(self.diameter_m / 2, self.depth_m))

    @property
    def _ball_radius(self) -> float:
        half = self.diameter_m / 2
        return (half**2 + self.depth_m**2) / (2 * self.depth_m)

    @property
    def _ball_center(self) -> FloatArray:
        back = self._ball_radius - self.depth_m
        return self.center + self._bulge * -back

    @property
    def _bulge(self) -> FloatArray:
        """Unit vector from the opening to the apex."""
        return np.asarray(-self.axes[:, 1] if self.hollow_front else self.axes[:, 1])

    def _on_cap(self, points: FloatArray) -> np.ndarray:
        with np.errstate(invalid="ignore"):
            return np.asarray(dot(points - self.center, self._bulge) >= -1e-9)


Face = FlatFace | BowlFace


def modifier_face(modifier: Modifier, *, center: FloatArray, axes: FloatArray) -> Face:
    """Return the lit face of a modifier; its middle (3,) [m] and axes (3, 3) in the world."""
    width, height = modifier.face_size_m
    if modifier.kind in ("reflected umbrella", "shoot-through umbrella"):
        return BowlFace(
            center=center,
            axes=axes,
            diameter_m=width,
            depth_m=BOWL_DEPTH_SHARE * width,
            hollow_front=modifier.kind == "reflected umbrella",
        )
    return FlatFace(
        center=center,
        axes=axes,
        shape=modifier.shape,
        width_m=width,
        height_m=height,
    )


def _round_samples(area_m2: float, side: int) -> FloatArray:
    """Return places spread evenly over a disc of some area, (side², 2) [m]."""
    ring, spoke = np.divmod(np.arange(side**2), side)
    radius = np.sqrt(area_m2 / np.pi * (ring + 0.5) / side)
    angle = 2.0 * np.pi * (spoke + 0.5 * (ring % 2)) / side  # left and right alike
    return np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=-1)


def _in_world(flat: FloatArray, *, center: FloatArray, axes: FloatArray) -> FloatArray:
    local = np.stack([flat[:, 0], np.zeros(len(flat)), flat[:, 1]], axis=-1)
    return to_world(local, origin=center, axes=axes)
