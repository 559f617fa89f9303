"""Colors of the mannequin's skin: lips, cheeks, lids and the soft shade under the brows.

Each place has the mean color of the skin times a shift that is drawn by eye; the face as a whole
keeps the reflectance that the sitter was given.
"""

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.rendering.mannequin.face import FaceShape, lip_share, smiled
from tapemark.rendering.mannequin.hair_lines import brow_share
from tapemark.rendering.mannequin.head import SkinMesh, nostril_share
from tapemark.rendering.mannequin.looks import Look
from tapemark.rendering.mannequin.mesh import smoothstep


def skin_colors(face: FaceShape, skin: SkinMesh, *, look: Look) -> FloatArray:
    """Return the reflectance of head and neck at each corner, (n, 3) [-]."""
    x, y, z = skin.vertices.T
    side, up = np.abs(x), z / face.tall
    front = smoothstep(-60.0, -20.0, y)
    tint = np.ones((len(x), 3))

    def wash(share: FloatArray, shift: tuple[float, float, float]) -> None:
        tint[:] *= 1.0 + (share * front)[:, None] * (np.array(shift) - 1.0)

    def spot(across: float, height: float, wide: float, tall: float) -> FloatArray:
        away = ((side - across) / wide) ** 2 + ((up - height) / tall) ** 2
        return np.asarray(np.exp(-away))

    wash(spot(37.0, -30.0, 17.0, 15.0), (1.02, 0.92, 0.91))  # cheeks
    wash(spot(0.0, -38.0, 9.0, 9.0), (1.02, 0.93, 0.92))  # tip of the nose
    wash(spot(0.0, -98.0, 14.0, 12.0), (1.01, 0.95, 0.94))
    wash(spot(face.pupil_mm, -11.0, 12.0, 4.5), (0.95, 0.91, 0.94))  # under the eyes
    wash(spot(face.pupil_mm, 5.5, 15.0, 5.5), (0.95, 0.88, 0.87))  # upper lids
    wash(smoothstep(70.0, 110.0, up), (0.97, 0.96, 0.96))
    wash(skin.lid_edge, (1.0, 0.80, 0.80))
    _paint(tint, 0.8 * lip_share(side, smiled(side, up)) * front, (0.93, 0.60, 0.62))
    line = np.exp(-(((smiled(side, up) + 66.55) / 0.55) ** 2)) * smoothstep(25.0, 21.0, side)
    _paint(tint, 0.75 * line * front, (0.45, 0.26, 0.28))
    _paint(tint, nostril_share(face, skin.vertices) ** 1.5, (0.20, 0.11, 0.10))
    colors = np.array(look.skin_color) * tint
    brows = brow_share(face, side, z) * front * (0.2 if look.hair == "bald" else 0.42)
    colors += brows[:, None] * (np.array(look.brow_color) - colors)
    return np.asarray(np.clip(colors, 0.002, 0.95))


def _paint(tint: FloatArray, share: FloatArray, color: tuple[float, float, float]) -> None:
    """Move shifts towards a shift of their own, in place."""
    tint += share[:, None] * (np.array(color) - tint)
