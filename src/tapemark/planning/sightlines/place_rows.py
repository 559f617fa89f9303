"""Places around the sitter mark in rows, and the face of a light that is aimed from each.

A row is one distance and one height, all around; the same light, re-aimed at the face from every
place of a row, is the same thing turned about the upright through the sitter mark::

        z                          from above
        |      |\
        |      | P (d, h)              y  side 0
      A o------+                       |  / P
        |      d                       | /  side, camera-left positive
                                 ------o------ x
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from tapemark.analysis.light_faces import BowlFace, Face
from tapemark.geometry import FloatArray

_OCTAGON_FLAT = float(np.tan(np.pi / 8)) / 2  # half a side over the width across flats


@dataclass(frozen=True, kw_only=True, eq=False)
class PlaceRows:
    """Rows of places for a light that is aimed at the face.

    Attributes
    ----------
    distance_m, height_m : (rows,) arrays
        Of each row; one of them is the same in all. [m]
    side_deg : (sides,) array
        The places of each row, evenly spaced, camera-left positive. [deg]
    eye_height_m : float
        Of the point aimed at, over the sitter mark. [m]
    """

    distance_m: FloatArray
    height_m: FloatArray
    side_deg: FloatArray
    eye_height_m: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and sides."""
        return len(self.height_m), len(self.side_deg)

    @property
    def step_rad(self) -> float:
        """From side to side. [rad]"""
        return float(np.deg2rad(self.side_deg[1] - self.side_deg[0]))

    @property
    def length_m(self) -> FloatArray:
        """From the point aimed at to the middle of the lit face, (rows,) [m]."""
        return np.hypot(self.distance_m, self.height_m - self.eye_height_m)

    @property
    def down(self) -> FloatArray:
        """Sine of the angle by which each light points down, (rows,). [-]"""
        return np.asarray((self.height_m - self.eye_height_m) / self.length_m)

    @property
    def level(self) -> FloatArray:
        """Cosine of the same, (rows,). [-]"""
        return np.asarray(self.distance_m / self.length_m)

    @cached_property
    def positions(self) -> FloatArray:
        """The middle of the lit face at every place, world, (rows, sides, 3). [m]"""
        side = np.deg2rad(self.side_deg)
        return np.stack(
            [
                self.distance_m[:, None] * np.sin(side),
                self.distance_m[:, None] * np.cos(side),
                np.broadcast_to(self.height_m[:, None], self.shape),
            ],
            axis=-1,
        )

    def upright(self, local: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return how far out from the sitter's upright, and how high, points lie, (rows, n) [m]."""
        along, high = local[:, 1], local[:, 2]
        level, down = self.level[:, None], self.down[:, None]
        out = self.distance_m[:, None] - level * along - down * high
        return out, self.height_m[:, None] - down * along + level * high

    def points(self, local: FloatArray, *, row: np.ndarray, side: np.ndarray) -> FloatArray:
        """Return points fixed to the light as they lie in the world at some places.

        Parameters
        ----------
        local : (n, 3) array
            From the middle of the lit face: along its width, the way it emits, along its
            height. [m]
        row, side : (k,) int arrays
            Numbers of the places.

        Returns
        -------
        (k, n, 3) array
            World. [m]
        """
        out, up = self.upright(local)
        angle = np.deg2rad(self.side_deg[side])[:, None]
        sine, cosine = np.sin(angle), np.cos(angle)
        across, out = -local[:, 0], out[row]  # at side 0 the width runs to -x
        return np.stack([across * cosine + out * sine, out * cosine - across * sine, up[row]], -1)


@dataclass(frozen=True, kw_only=True, slots=True)
class LitShape:
    """The outline of a lit face, upright on its plane.

    Attributes
    ----------
    kind : str
        ``rectangle``, ``disc`` or ``octagon``.
    width_m, height_m : float
        Full size. [m]
    """

    kind: str
    width_m: float
    height_m: float

    def half_chord(self, up: FloatArray) -> FloatArray:
        """Return half the width of the face at heights over its middle; 0 beyond it [m]."""
        half, away = self.width_m / 2, np.abs(up)
        if self.kind == "rectangle":
            return np.where(away <= self.height_m / 2, half, 0.0)
        if self.kind == "disc":
            return np.sqrt(np.maximum(half * half - away * away, 0.0))
        cut = half + _OCTAGON_FLAT * self.width_m - away
        return np.where(away <= half, np.minimum(cut, half), 0.0)


def lit_shape(face: Face) -> LitShape:
    """Return the outline of a lit face; an umbrella's bowl is seen as its opening."""
    if isinstance(face, BowlFace):
        return LitShape(kind="disc", width_m=face.diameter_m, height_m=face.diameter_m)
    return LitShape(kind=face.shape, width_m=face.width_m, height_m=face.height_m)
