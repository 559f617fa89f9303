"""Colors of the mannequin's skin: lips, cheeks, lids and the soft shade under the brows.

Each place has the mean color of the skin times a shift that is drawn by eye; the face as a whole
keeps the reflectance that the sitter was given.
"""

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.rendering.mannequin.ages import age_share, beside_mouth, childhood, folds
from tapemark.rendering.mannequin.face import FaceShape, lip_share, smiled
from tapemark.rendering.mannequin.hair import scalp_share
from tapemark.rendering.mannequin.hair_lines import brow_share
from tapemark.rendering.mannequin.head import SkinMesh, nostril_share
from tapemark.rendering.mannequin.looks import Look
from tapemark.rendering.mannequin.mesh import smoothstep
from tapemark.rendering.mannequin.nose import wing_crease
from tapemark.units import MM


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
    wash(spot(face.pupil_mm, 5.5, 15.0, 5.5), (0.96, 0.91, 0.90))  # upper lids
    wash(smoothstep(70.0, 110.0, up), (0.97, 0.96, 0.96))
    above = smoothstep(-0.5, 1.5, z - 0.5 * face.eyes.opening_height_m / MM + 3.0)
    wash(skin.lid_edge * (1.0 - above), (0.98, 0.78, 0.78))
    wash(skin.lid_edge * above, (0.42, 0.36, 0.36))  # roots of the lashes
    young, old = childhood(face.age_years), age_share(face.age_years)
    lips = lip_share(side, smiled(side, up), full=face.lip_fullness) * front
    _paint(tint, (0.85 - 0.2 * old) * lips, (0.90, 0.56, 0.58))
    line = np.exp(-(((smiled(side, up) + 66.55) / 0.6) ** 2)) * smoothstep(26.0, 21.0, side)
    _paint(tint, 0.8 * line * front, (0.40, 0.22, 0.24))
    wash(young * spot(38.0, -40.0, 15.0, 12.0), (1.03, 0.86, 0.86))
    wash(np.clip(0.28 * old * folds(side, up), 0.0, 0.75), (0.62, 0.52, 0.50))
    wash(0.6 * wing_crease(side, up, broad=face.nose), (0.72, 0.56, 0.54))
    wash(0.22 * (1.0 - 0.6 * young) * beside_mouth(side, up), (0.84, 0.76, 0.75))
    tint *= _mottled(side * np.sign(x), up, y, more=old)[:, None] ** np.array([0.6, 1.0, 1.1])
    _paint(tint, nostril_share(face, skin.vertices) ** 1.5, (0.30, 0.17, 0.15))
    colors = np.array(look.skin_color) * tint
    brows = (
        brow_share(face, side, z)
        * front
        * (0.3 if look.hair == "bald" else 0.55)
        * (1.0 - 0.5 * young)
    )
    colors += brows[:, None] * (np.array(look.brow_color) - colors)
    roots = scalp_share(face.head, look, skin.vertices) * (0.14 if look.hair == "bald" else 0.75)
    colors += roots[:, None] * (0.8 * np.array(look.hair_color) - colors)
    return np.asarray(np.clip(colors, 0.002, 0.95))


def _mottled(x: FloatArray, up: FloatArray, y: FloatArray, *, more: float) -> FloatArray:
    """Return the unevenness of living skin: patches of some centimetres and some millimetres."""
    wide = np.sin(x / 13.0 + 1.1 * np.sin(up / 17.0)) * np.sin(up / 15.0 + 0.9 * np.sin(y / 19.0))
    near = np.sin(x / 4.1 + np.sin(up / 5.3)) * np.sin(up / 3.7 + np.sin(x / 6.1))
    return np.asarray(1.0 + (0.022 + 0.02 * more) * wide + (0.018 + 0.03 * more) * near)


def _paint(tint: FloatArray, share: FloatArray, color: tuple[float, float, float]) -> None:
    """Move shifts towards a shift of their own, in place."""
    tint += share[:, None] * (np.array(color) - tint)
