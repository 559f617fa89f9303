"""Do the shadows of nose and cheek meet, and is a lit triangle left between them?

Asked on the cheek away from the key, row by row from under the eye down to
the mouth, by how much of the key each place gets:

      o  eye  o         lit row that the dark closes on both sides: island
       # +++ ##         #  dark: shadow of the nose, of the cheek
       ## + ###         +  lit: the triangle
       #######          no lit place down here: the shadows have met

The triangle that painters and photographers want is no wider than the eye and
as long as the nose.

References
----------
[rembrandt-triangle], [portraitlighting-patterns]
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.face_points import face_scale, named_places
from tapemark.analysis.key_light import KeyLight
from tapemark.analysis.light_at_places import seen_share
from tapemark.analysis.scene import Scene
from tapemark.analysis.source_patches import ROUGH_PAIRS

STEP_MM = 5.0
#: Columns across the cheek, from beside the nose outwards, and rows from under the eye to
#: the mouth, on the reference head. [mm]
COLUMNS_MM = tuple(13.0 + STEP_MM * k for k in range(9))
ROWS_MM = tuple(-12.0 - STEP_MM * k for k in range(11))
PLACES_MM = tuple((across, up) for up in ROWS_MM for across in COLUMNS_MM)
#: A place counts as lit where it gets at least this share of the key's light square on
#: (assumption: two and a half stops down is shadow). [-]
LIT = 0.18
LEAST_ROWS = 2  # of a triangle one can see


@dataclass(frozen=True, kw_only=True, slots=True)
class CheekShadow:
    """Light and dark on the cheek away from the key.

    Attributes
    ----------
    side : str
        The sitter's own ``right`` or ``left`` cheek.
    shadows_meet : bool
        Whether the shadow of the nose runs into that of the cheek.
    triangle : bool
        Whether a lit patch is left under the eye between them.
    triangle_width_mm, triangle_length_mm : float
        Size of that patch as seen from the front; 0 without one.
    lit_share : float
        Share of the cheek that the key lights, 0 to 1.
    """

    side: str
    shadows_meet: bool
    triangle: bool
    triangle_width_mm: float
    triangle_length_mm: float
    lit_share: float


def cheek_shadow(scene: Scene, key: KeyLight) -> CheekShadow:
    """Return light and dark on the cheek away from the key."""
    side = "left" if key.azimuth_deg >= 0 else "right"
    sign = -1.0 if side == "left" else 1.0
    places = tuple((sign * across, up) for across, up in PLACES_MM)
    lit = _lit(scene, key, places)
    islands = np.array([_island(row) for row in lit])
    empty = ~lit.any(axis=1)
    meets = np.flatnonzero(empty)
    above = islands[: meets[0]] if len(meets) else islands[:0]
    rows = int((above > 0).sum())
    found = rows >= LEAST_ROWS
    wide, tall = face_scale(scene.head)
    return CheekShadow(
        side=side,
        shadows_meet=bool(len(meets)),
        triangle=found,
        triangle_width_mm=float(above.max()) * STEP_MM * wide if found else 0.0,
        triangle_length_mm=rows * STEP_MM * tall if found else 0.0,
        lit_share=float(lit.mean()),
    )


def _lit(scene: Scene, key: KeyLight, places: tuple[tuple[float, float], ...]) -> np.ndarray:
    """Return which places of the cheek the key lights, (rows, columns)."""
    skin = named_places(scene.head, places)
    facing = skin.normals @ key.direction
    seen = np.zeros(len(places))
    turned = np.flatnonzero(facing > LIT)
    if len(turned):
        world = skin.in_world(scene.pose)
        seen[turned] = seen_share(
            scene,
            key.emitter,
            places=world.points[turned],
            normals=world.normals[turned],
            pairs=ROUGH_PAIRS,
        )
    return np.asarray((seen * facing > LIT).reshape(len(ROWS_MM), len(COLUMNS_MM)))


def _island(row: np.ndarray) -> int:
    """Return how many places of a row are lit, where the dark closes it on both sides."""
    found = np.flatnonzero(row)
    if not len(found) or row[0] or row[-1]:
        return 0
    return int(found[-1] - found[0] + 1)
