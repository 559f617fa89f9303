"""One sheet of a sightline map: what every place of a light would show, give and cost."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapemark.analysis import Verdict, verdict_for
from tapemark.analysis.glare import CLEAR_LENS_COVER, CLEAR_VEIL
from tapemark.geometry import FloatArray
from tapemark.planning.sightlines.place_limits import PlaceLimits
from tapemark.planning.sightlines.place_patterns import PATTERNS
from tapemark.planning.sightlines.place_rows import PlaceRows

HALF_TURN_DEG = 90.0  # from straight in front: farther around is behind the sitter
#: Why a place is no good though the lenses are clear; the first that holds is named first.
Reason = Literal[
    "ceiling",
    "floor",
    "wall",
    "person",
    "stand",
    "power",
    "frame",
    "blocked",
    "catchlight",
    "brow shadow",
    "rim shadow",
]
HARD: tuple[Reason, ...] = (
    "ceiling",
    "floor",
    "wall",
    "person",
    "stand",
    "power",
    "frame",
    "blocked",
)
SOFT: tuple[Reason, ...] = ("catchlight", "brow shadow", "rim shadow")


@dataclass(frozen=True, kw_only=True, eq=False)
class MapSheet:
    """Places of one light in rows, and what is true of each; the last axes are (row, side).

    Attributes
    ----------
    rows : PlaceRows
        The places.
    lens_cover, veil : (people, 2, rows, sides) arrays
        What the light covers of each lens and eye, right first; 0 without glasses. [-]
    catchlight : (people, 2, rows, sides) bool array
        Whether it lives in each eye, right first.
    brow, rim : (rows, sides) bool arrays
        Whether brow or nose keep it from an eye, and whether the rim's shadow lies across one.
    pattern : (rows, sides) int array
        Number in `PATTERNS`; -1 where another light models the face.
    limits : PlaceLimits
        What is out of reach.
    power_stops : (rows,) array
        Power that keeps its brightness at the face. [stops]
    """

    rows: PlaceRows
    lens_cover: FloatArray
    veil: FloatArray
    catchlight: np.ndarray
    brow: np.ndarray
    rim: np.ndarray
    pattern: np.ndarray
    limits: PlaceLimits
    power_stops: FloatArray

    @property
    def excess(self) -> FloatArray:
        """How far the worst lens is from clear: below 1 the place is open. [-]"""
        worst = np.maximum(self.veil / CLEAR_VEIL, self.lens_cover / CLEAR_LENS_COVER)
        return np.asarray(worst.max(axis=(0, 1)))

    @property
    def closed(self) -> np.ndarray:
        """Where the lenses of somebody would show the light, bool."""
        return np.asarray(self.excess >= 1.0)

    @property
    def veiled(self) -> np.ndarray:
        """Where it would lie over somebody's eye, bool."""
        return np.asarray((self.veil >= CLEAR_VEIL).any(axis=(0, 1)))

    @property
    def behind(self) -> bool:
        """Whether the places are those behind the sitter."""
        return bool(abs(self.rows.side_deg.mean()) > HALF_TURN_DEG)

    @property
    def lost(self) -> np.ndarray:
        """Where an eye of somebody is left without it as a catchlight, bool.

        Nowhere behind the sitter: nobody asks for one from there.
        """
        return np.asarray(~self.catchlight.all(axis=(0, 1)) & (not self.behind))

    def where(self, reason: Reason) -> np.ndarray:
        """Return where a reason against a place holds, bool."""
        soft = {"catchlight": self.lost, "brow shadow": self.brow, "rim shadow": self.rim}
        return soft[reason] if reason in soft else np.asarray(getattr(self.limits, reason))

    @property
    def free(self) -> np.ndarray:
        """Where the lenses are clear and the light can stand, bool."""
        return np.asarray(~self.closed & ~self.limits.any())

    @property
    def good(self) -> np.ndarray:
        """Where, besides, both eyes live and are not shaded, bool."""
        return np.asarray(self.free & ~self.lost & ~self.brow & ~self.rim)

    def reasons(self, row: int, side: int) -> tuple[Reason, ...]:
        """Return what speaks against a place besides the lenses."""
        return tuple(one for one in HARD + SOFT if self.where(one)[row, side])

    def verdict(self, row: int, side: int) -> Verdict:
        """Return the worst verdict on any lens at a place, as the map has it."""
        return verdict_for(
            veil=float(self.veil[..., row, side].max()),
            lens_cover=float(self.lens_cover[..., row, side].max()),
        )

    def pattern_at(self, row: int, side: int) -> str:
        """Return the pattern at a place; empty where another light models the face."""
        number = int(self.pattern[row, side])
        return PATTERNS[number] if number >= 0 else ""

    def nearest(self, *, side_deg: float, distance_m: float, height_m: float) -> tuple[int, int]:
        """Return the numbers of the row and side nearest to a place."""
        off = np.hypot(self.rows.distance_m - distance_m, self.rows.height_m - height_m)
        turn = (self.rows.side_deg - side_deg + 180.0) % 360.0 - 180.0
        return int(np.argmin(off)), int(np.argmin(np.abs(turn)))
