"""Faces that are brighter from one side than from another, as a mirror shows them.

The tracer's surfaces shine alike in all directions; a gridded box, a dish or a bare head does not.
Such a face is traced dark, and once more with marks in place of light: how far across it, how far
up, and one. What a pixel shows of these marks, over the one, is where on the face it looks; the
way from there back to the glass says how bright the face is.
"""

from dataclasses import dataclass, replace

import numpy as np

from tapemark.analysis import BowlFace, Emitter, FlatFace
from tapemark.geometry import FloatArray, normalize
from tapemark.rendering.parts import Part, Rgb


@dataclass(frozen=True, kw_only=True, eq=False)
class UnevenFace:
    """One face whose brightness depends on where it is seen from.

    Attributes
    ----------
    emitter : Emitter
        What it is, and how it spreads its light.
    color : three floats
        Of its light, of luminance 1.
    body : Part
        Its surface, dark.
    """

    emitter: Emitter
    color: Rgb
    body: Part

    def marked(self) -> Part:
        """Return the surface with marks for light: places across and up, 0 to 1, and one."""
        face = self.emitter.face
        local = (self.body.mesh.points - face.center) @ face.axes
        marks = np.ones_like(local)
        marks[:, :2] = 0.5 + local[:, [0, 2]] / (2.0 * face.reach_m)
        return replace(self.body, sends_at=marks)

    def shown(self, marks: FloatArray, *, at: FloatArray) -> FloatArray:
        """Return what glass mirrors of the face, (..., 3) [cd·s/m²].

        Parameters
        ----------
        marks : (..., 3) array
            What it mirrors of the marks; the third is the share that it gives back. [-]
        at : (..., 3) array
            Where on the glass, world. [m]
        """
        face = self.emitter.face
        share = marks[..., 2]
        seen = marks[..., :2] / np.where(share > 0.0, share, 1.0)[..., None]
        across, up = np.moveaxis((seen - 0.5) * 2.0 * face.reach_m, -1, 0)
        local = np.stack([across, _depth(face, across, up), up], axis=-1)
        away = normalize(at - face.center - local @ face.axes.T)
        bright = share * self.emitter.brightness * self.emitter.relative_brightness(away)
        return np.asarray(bright[..., None] * np.array(self.color))


def _depth(face: FlatFace | BowlFace, across: FloatArray, up: FloatArray) -> FloatArray:
    """Return how far before its opening a face lies at places across and up it. [m]"""
    if not isinstance(face, BowlFace):
        return np.zeros_like(across)
    ball = (face.diameter_m**2 / 4.0 + face.depth_m**2) / (2.0 * face.depth_m)
    high = np.sqrt(np.maximum(ball**2 - across**2 - up**2, 0.0)) - (ball - face.depth_m)
    return np.asarray(-high if face.hollow_front else high)
