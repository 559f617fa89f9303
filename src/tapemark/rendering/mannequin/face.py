"""The mannequin's face as a depth over side and height: the anatomy's head plus lids and lips.

Everything here is in millimetres in the head frame.  The base is the head surface that the
analyses see; lids are laid over the eyeball, lips are drawn, the mouth smiles a little.  None of
this moves a landmark of the head.

References
----------
Rotation centre of the eye 13.3 mm behind the cornea [gka-model-eye]; everything else is drawn.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from tapemark.anatomy import Eyes, HeadSurface, opening_margin
from tapemark.geometry import FloatArray
from tapemark.rendering.mannequin.ages import (
    age_share,
    child_fat,
    childhood,
    folds,
    sag_share,
    sagging,
)
from tapemark.rendering.mannequin.mesh import smoothstep
from tapemark.rendering.mannequin.nose import nose_border, nose_relief
from tapemark.units import MM

ROTATION_CENTER_MM = 13.3
LID_OVER_GLOBE_MM = 1.3
MOUTH_UP_MM = -66.2
MOUTH_HALF_MM = 24.5
_STEEPEST_LID = (0.78, 0.50)  # slope at which lids leave the ball: outer side, inner side
_CREASE_MM = 3.7  # over the edge of the upper lid
_SMILE_MM = 3.0


@dataclass(frozen=True, kw_only=True, eq=False)
class FaceShape:
    """The face of one sitter; see `depth`.

    Attributes
    ----------
    head, eyes : HeadSurface, Eyes
        Those of the analyses.
    age_years : float
        Childhood is round, age folded. [years]
    lips, nose, jaw : float
        Own build: thin to full, narrow to broad, pointed to square, each -1 to 1. [-]
    """

    head: HeadSurface
    eyes: Eyes
    age_years: float = 38.0
    lips: float = 0.0
    nose: float = 0.0
    jaw: float = 0.0

    @property
    def tall(self) -> float:
        """Heights of this face over those of the reference head. [-]"""
        return self.head.measures.face_height_mm / 118.0

    @property
    def pupil_mm(self) -> float:
        """Sideways place of the resting pupil."""
        return self.head.measures.interpupillary_mm / 2.0

    @property
    def globe_mm(self) -> float:
        """Radius of the eyeball about its rotation centre, so that it meets the cornea."""
        iris, radius = self.eyes.iris_diameter_m / MM / 2.0, self.eyes.cornea_radius_m / MM
        deep = radius - np.sqrt(max(radius**2 - iris**2, 0.0))
        return float(np.hypot(iris, ROTATION_CENTER_MM - deep))

    def depth(self, x: FloatArray, z: FloatArray) -> FloatArray:
        """Return the depth of the skin at places seen from the front. [mm]"""
        side = np.abs(x)
        up = z / self.tall
        lifted = z - (_smile(side, up) + nose_border(side, up)) * self.tall
        widest = self.head.section(lifted * MM)[0]
        base = (
            self.head.fine_front_depth(np.minimum(side * MM, widest * (1.0 - 1e-9)), lifted * MM)
            / MM
        )
        own = lifted / self.tall
        base = base + _mouth(side, own, full=self.lip_fullness)
        base = base + nose_relief(side, own, np.interp(up, *self._nose_rises), broad=self.nose)
        return self._with_lids(side, z, base + self._years(side, up))

    @property
    def lip_fullness(self) -> float:
        """Fullness of the lips against the usual: less with age. [-]"""
        return (1.0 + 0.28 * self.lips) * (1.0 - 0.42 * age_share(self.age_years))

    def _years(self, side: FloatArray, up: FloatArray) -> FloatArray:
        """Return what age has added to the face, or childhood not yet taken. [mm]"""
        young, old = childhood(self.age_years), age_share(self.age_years)
        found = np.zeros(np.shape(side))
        if young:
            found = found + young * child_fat(side, up)
        if old:
            found = found - old * folds(side, up)
        sunk = sag_share(self.age_years)
        if sunk:
            found = found + sunk * sagging(side, up)
        return found

    @cached_property
    def _nose_rises(self) -> tuple[FloatArray, FloatArray]:
        """Heights, and how far the nose stands over the cheeks there. [mm]"""
        heights = np.arange(-52.0, 8.5, 2.0)
        z = heights * self.tall * MM
        middle, beside = (self.head.front_depth(np.full_like(z, x), z) for x in (0.0, 26.0 * MM))
        return heights, np.maximum(middle - beside, 0.0) / MM

    def lid(self, out: FloatArray, up: FloatArray) -> FloatArray:
        """Return the depth of a lid over the ball, by place from the resting pupil. [mm]

        `out` counts towards the temple.
        """
        away = np.hypot(out, up)
        inner = smoothstep(-9.0, 5.0, -out)
        steepest = _STEEPEST_LID[0] + (_STEEPEST_LID[1] - _STEEPEST_LID[0]) * inner
        radius = self.globe_mm + LID_OVER_GLOBE_MM
        leaves = radius * steepest / np.sqrt(1.0 + steepest**2)
        near = np.minimum(away, leaves)
        return np.asarray(
            np.sqrt(radius**2 - near**2) - ROTATION_CENTER_MM - steepest * (away - near)
        )

    def outside_opening(self, out: FloatArray, up: FloatArray) -> FloatArray:
        """Return how far outside the eye opening a place lies. [mm]"""
        margin = opening_margin(out * MM, up * MM, eyes=self.eyes, outward=1.0)
        return np.asarray(-margin / MM)

    def _with_lids(self, side: FloatArray, z: FloatArray, base: FloatArray) -> FloatArray:
        out = side - self.pupil_mm
        reach = (np.abs(out) < 30.0) & (np.abs(z) < 26.0)
        if not reach.any():
            return base
        out, up, below = out[reach], z[reach], base[reach]
        outside = np.maximum(self.outside_opening(out, up), 0.0)
        corner = self.eyes.corner_height_m / MM
        inner = smoothstep(5.0, 15.0, -out)
        outer = smoothstep(4.0, 13.0, out)
        upper = smoothstep(
            3.0 - 2.6 * inner - 0.8 * outer, 9.6 - 4.6 * inner - 1.6 * outer, outside
        )
        lower = smoothstep(0.3, 10.5 - 5.6 * inner - 2.0 * outer, outside)
        above = smoothstep(-2.5, 2.5, up - corner)
        share = lower + (upper - lower) * above
        over_ball = self.lid(out, up)
        found = over_ball + (below - over_ball) * share
        middle = np.exp(-((out / 11.5) ** 4))
        crease = np.exp(-(((outside - _CREASE_MM) / 0.8) ** 2)) * above * middle
        under = np.exp(-(((outside - 4.2) / 1.4) ** 2)) * (1.0 - above) * middle
        result = base.copy()
        result[reach] = found - 0.95 * crease - 0.3 * under
        return result


def mouth_line(side: FloatArray) -> FloatArray:
    """Return the height at which the lips meet, smile left out. [mm of the reference head]"""
    return np.asarray(MOUTH_UP_MM - 0.7 * np.exp(-((side / 4.5) ** 2)) + 0.35)


def lip_share(side: FloatArray, up: FloatArray, *, full: float = 1.0) -> FloatArray:
    """Return how much of a place is red of the lips, 0 to 1; smile left out."""
    line = mouth_line(side)
    across = np.clip(1.0 - (side / MOUTH_HALF_MM) ** 2, 0.0, 1.0)
    bow = 6.9 + 1.2 * np.exp(-(((side - 5.2) / 3.2) ** 2)) - 1.3 * np.exp(-((side / 2.6) ** 2))
    tall = 0.35 + 0.65 * full
    upper, lower = tall * bow * across**0.85, tall * 8.6 * across**0.72
    over, under = (line + upper) - up, up - (line - lower)
    inside = smoothstep(-0.45, 0.55, np.minimum(over, under))
    return np.asarray(inside * smoothstep(0.0, 0.05, across))


def smiled(side: FloatArray, up: FloatArray) -> FloatArray:
    """Return heights with the smile taken away again. [mm of the reference head]"""
    return np.asarray(up - _smile(side, up))


def _smile(side: FloatArray, up: FloatArray) -> FloatArray:
    """Return how far the mouth's corners are lifted. [mm]"""
    near = np.exp(-(((up - MOUTH_UP_MM) / 13.0) ** 2)) * np.exp(-(((side - 24.0) / 13.0) ** 2))
    return np.asarray(_SMILE_MM * near * smoothstep(2.0, 22.0, side))


def _mouth(side: FloatArray, up: FloatArray, *, full: float) -> FloatArray:
    line = mouth_line(side)
    fade = 1.0 - smoothstep(MOUTH_HALF_MM - 12.0, MOUTH_HALF_MM + 0.5, side)
    above = up - line
    seam = (
        -1.5
        * np.exp(-((above / 0.95) ** 2))
        * (1.0 - smoothstep(MOUTH_HALF_MM - 3.5, MOUTH_HALF_MM + 1.5, side))
    )
    upper = 1.5 * full * np.exp(-(((above - 3.2) / 2.2) ** 2)) * fade
    ridge = 0.5 * np.exp(-(((above - 7.2 * (0.35 + 0.65 * full)) / 0.9) ** 2)) * fade
    lower = 2.0 * full * np.exp(-(((above + 4.4) / 3.1) ** 2)) * fade
    under = -1.3 * np.exp(-(((above + 11.6) / 3.6) ** 2)) * np.exp(-((side / 15.0) ** 2))
    dimple = -1.5 * np.exp(-(((side - MOUTH_HALF_MM - 0.8) / 3.8) ** 2 + (above / 5.0) ** 2))
    lip_window = smoothstep(-60.0, -57.5, up) * (1.0 - smoothstep(-52.5, -50.0, up))
    groove = (
        -0.9 * np.exp(-((side / 2.3) ** 2)) + 0.5 * np.exp(-(((side - 4.6) / 1.7) ** 2))
    ) * lip_window
    return np.asarray(seam + upper + ridge + lower + under + dimple + groove)
