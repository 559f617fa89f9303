"""Pupils and outlines of both lenses: read in the picture, and where a fit has them.

Of each lens, the extent in a frame that is level with the eyes counts: where it begins and ends
across and down.  All is told in millimetres for pupils as far apart as assumed by the reading.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tapemark.anatomy import HeadPose, LensStack, edge_outline, eyes, rim_of
from tapemark.geometry import FloatArray
from tapemark.photo.matching.photo_camera import PhotoCamera
from tapemark.photo.matching.unknowns import Unknowns
from tapemark.photo.reading import WearerReading
from tapemark.photo.strip import PUPILS_APART_MM

#: Standard deviations of what is read [mm]: a pupil, more where it hardly looks like one; where a
#: lens begins and ends, its outer and inner side, top and bottom.  Measured on our own rendered
#: pictures, without those that are far off: these are found by not fitting the rest.
PUPIL_MM, UNLIKELY_PUPIL_MM = 1.0, 2.5
OUTER_MM, INNER_MM, UPRIGHT_MM = 2.0, 3.0, 1.5
_EDGE_POINTS = 48


@dataclass(frozen=True, kw_only=True, eq=False)
class Landmarks:
    """What is read of one person, besides reflections.

    Attributes
    ----------
    px_per_mm : float
        Of the picture, for pupils as far apart as assumed. [px/mm]
    turn : (2, 2) array
        From pixels to across and down, level with the eyes. [-]
    places : (n,) array
        Pupils, then limits of the right and of the left lens. [mm]
    spread : (n,) array
        Standard deviations. [mm]
    with_lenses : bool
        Whether lenses are among them.
    """

    px_per_mm: float
    turn: FloatArray
    places: FloatArray
    spread: FloatArray
    with_lenses: bool

    def expected(
        self, unknowns: Unknowns, fit: FloatArray, *, camera: PhotoCamera, lenses: LensStack
    ) -> FloatArray:
        """Return where a fit has the same landmarks, (n,) [mm]."""
        pose = unknowns.pose(fit)
        pupils = self._level(_pupils(unknowns, fit, pose=pose, camera=camera))
        found = [pupils.ravel()]
        if self.with_lenses:
            inset = 0.5 * rim_of(unknowns.glasses).tube_radius_m / lenses.half_width
            for index in (0, 1):
                edge = edge_outline(lenses, index=index, count=_EDGE_POINTS)
                middle = lenses.boxed_origin[index]
                seen = camera.pixels(middle + (1.0 - inset) * (edge - middle))
                aside = unknowns.value(fit, "outlines_mm")
                found.append(_limits(self._level(seen)) + np.array([aside, aside, 0.0, 0.0]))
        return np.concatenate(found)

    def _level(self, pixels: FloatArray) -> FloatArray:
        return np.asarray(pixels @ self.turn.T / self.px_per_mm)


def landmarks_of(wearer: WearerReading) -> Landmarks:
    """Return the landmarks of a person as read."""
    right, left = (np.array(one.pupil) for one in wearer.eyes)
    span = left - right
    apart = float(np.hypot(*span))
    along = span / apart
    turn = np.array([along, [-along[1], along[0]]])
    per_mm = apart / PUPILS_APART_MM
    parts = [np.stack([right, left]) @ turn.T]
    spread = [np.repeat([_pupil_spread(one.likeness) for one in wearer.eyes], 2)]
    outlines = [one.lens.outline for one in wearer.eyes if one.lens is not None]
    with_lenses = len(outlines) == 2
    if with_lenses:
        parts += [_limits(np.array(outline) @ turn.T)[None] for outline in outlines]
        upright = (UPRIGHT_MM, UPRIGHT_MM)
        spread += [
            np.array([OUTER_MM, INNER_MM, *upright]),
            np.array([INNER_MM, OUTER_MM, *upright]),
        ]
    return Landmarks(
        px_per_mm=per_mm,
        turn=turn,
        places=np.concatenate([one.ravel() for one in parts]) / per_mm,
        spread=np.concatenate(spread),
        with_lenses=with_lenses,
    )


def _pupil_spread(likeness: float) -> float:
    return PUPIL_MM + (UNLIKELY_PUPIL_MM - PUPIL_MM) * float(np.clip(1.0 - likeness, 0.0, 1.0))


def _limits(points: FloatArray) -> FloatArray:
    """Return the least and greatest across, then down, of points (n, 2)."""
    low, high = points.min(axis=0), points.max(axis=0)
    return np.array([low[0], high[0], low[1], high[1]])


def _pupils(
    unknowns: Unknowns, fit: FloatArray, *, pose: HeadPose, camera: PhotoCamera
) -> FloatArray:
    sitter = unknowns.sitter(fit)
    looks_at = camera.position if sitter.gaze == "camera" else None
    return camera.pixels(eyes(sitter, pose=pose, looks_at=looks_at).iris_center)
