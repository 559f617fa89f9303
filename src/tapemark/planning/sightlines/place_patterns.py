"""Which pattern would a light give as the key, from every place?

Directions count exactly at every place; the shadows of nose and cheek are looked for from a coarse
set of directions and interpolated.  As in `tapemark.analysis.modelling`.
"""

from dataclasses import dataclass
from typing import get_args

import numpy as np

from tapemark.analysis.cheek_shadow import COLUMNS_MM, LEAST_ROWS, LIT, PLACES_MM, ROWS_MM
from tapemark.analysis.face_points import named_places
from tapemark.analysis.key_light import MIDDLE_M, PAST_SIDE
from tapemark.analysis.light_at_places import CLEARANCE_M
from tapemark.analysis.light_faces import Face
from tapemark.analysis.modelling import (
    BEHIND,
    BUTTERFLY_UP_DEG,
    CLAMSHELL_DOWN_DEG,
    DARK_CHEEK,
    FLAT_DEG,
    GRACE_DEG,
    IN_LINE_DEG,
    LOOP_ACROSS_DEG,
    LOOP_UP_DEG,
    PROFILE_DEG,
    REMBRANDT_ACROSS_DEG,
    SPLIT_ACROSS_DEG,
    SPLIT_UP_DEG,
    Pattern,
)
from tapemark.analysis.scene import Scene
from tapemark.geometry import FloatArray, dot, normalize

PATTERNS: tuple[Pattern, ...] = get_args(Pattern)
#: Directions for which the shadows on the cheek are looked at; they decide between these. [deg]
ACROSS_DEG = np.linspace(IN_LINE_DEG, SPLIT_ACROSS_DEG[1], 9)
UP_DEG = np.linspace(CLAMSHELL_DOWN_DEG, 80.0, 6)
SPREAD = 4  # places on the lit face beside its middle


@dataclass(frozen=True, kw_only=True, eq=False)
class KeyDirections:
    """Directions to a light from the face, one for each place.

    Attributes
    ----------
    vector : (..., 3) array
        Unit vectors, head frame. [-]
    across_deg, up_deg : (...) arrays
        From the nose, positive to the sitter's right and up. [deg]
    """

    vector: FloatArray
    across_deg: FloatArray
    up_deg: FloatArray


def counts_as_key(direction: FloatArray) -> FloatArray:
    """Return how much lights in directions (..., 3), head frame, count as a key, 0 to 1.

    Less and less behind the plane of the face.
    """
    return np.clip((direction[..., 1] + PAST_SIDE) / PAST_SIDE, 0.0, 1.0)


def key_directions(scene: Scene, positions: FloatArray) -> KeyDirections:
    """Return the directions from a face to places (..., 3) in the world [m]."""
    local = (positions - scene.pose.origin) @ scene.pose.axes - np.array(MIDDLE_M)
    x, y, z = np.moveaxis(normalize(local), -1, 0)
    return KeyDirections(
        vector=np.stack([x, y, z], axis=-1),
        across_deg=np.rad2deg(np.arctan2(x, y)),
        up_deg=np.rad2deg(np.arctan2(z, np.hypot(x, y))),
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class CheekTable:
    """What a light leaves on the cheek away from it, by its direction from the face.

    Attributes
    ----------
    fields : (3, ups, acrosses) array
        Whether the shadows meet, whether a lit triangle is left, and the share of the cheek that
        is lit; 0 to 1.
    """

    fields: FloatArray

    def at(self, directions: KeyDirections) -> FloatArray:
        """Return the three for directions (...), interpolated, (3, ...)."""
        places = []
        for angle, nodes in (
            (directions.up_deg, UP_DEG),
            (np.abs(directions.across_deg), ACROSS_DEG),
        ):
            at = np.clip((angle - nodes[0]) / (nodes[1] - nodes[0]), 0.0, len(nodes) - 1.0)
            first = np.minimum(at.astype(int), len(nodes) - 2)
            places.append((first, at - first))
        (row, down), (column, along) = places
        cell = row * len(ACROSS_DEG) + column
        flat = self.fields.reshape(3, -1)
        upper = flat[:, cell] * (1 - along) + flat[:, cell + 1] * along
        cell = cell + len(ACROSS_DEG)
        lower = flat[:, cell] * (1 - along) + flat[:, cell + 1] * along
        return np.asarray(upper * (1 - down) + lower * down)


def cheek_table(scene: Scene, face: Face, *, length_m: float) -> CheekTable:
    """Return the shadows that a light leaves on a cheek from so far off.

    Parameters
    ----------
    scene : Scene
        About the sitter.
    face : FlatFace or BowlFace
        The lit face; it is aimed at the face from each direction.
    length_m : float
        To the middle of the lit face. [m]

    Notes
    -----
    Only the head itself is looked for in between; right and left cheek are alike.
    """
    flat = (face.outline() - face.center) @ face.axes
    flat = 0.6 * flat[:: max(len(flat) // SPREAD, 1)]
    up, across = (
        one.ravel()
        for one in np.meshgrid(np.deg2rad(UP_DEG), np.deg2rad(ACROSS_DEG), indexing="ij")
    )
    towards = np.stack([np.cos(up) * np.sin(across), np.cos(up) * np.cos(across), np.sin(up)], -1)
    beside = np.stack([-np.cos(across), np.sin(across), np.zeros_like(across)], -1)
    over = np.cross(towards, beside)
    spread = flat[:, None, :1] * beside + flat[:, None, 2:] * over
    samples = np.array(MIDDLE_M) + length_m * towards + np.concatenate([0.0 * spread[:1], spread])
    found = _on_cheek(scene, np.swapaxes(samples, 0, 1), towards)
    return CheekTable(fields=found.reshape(3, len(UP_DEG), len(ACROSS_DEG)))


def _on_cheek(scene: Scene, samples: FloatArray, towards: FloatArray) -> FloatArray:
    """Return the same for lights on the sitter's right; head frame."""
    skin = named_places(scene.head, tuple((-across, up) for across, up in PLACES_MM))
    facing = towards @ skin.normals.T
    node, place = np.nonzero(facing > LIT)
    span = samples[node] - skin.points[place, None]
    away = normalize(span)
    weight = np.maximum(dot(away, skin.normals[place, None]), 0.0)
    hidden = scene.head.hides(skin.points[place, None], away, clearance_m=CLEARANCE_M)
    seen = np.zeros(facing.shape)
    total = np.maximum(weight.sum(axis=1), 1e-9)
    seen[node, place] = (weight * ~hidden).sum(axis=1) / total
    lit = (seen * facing > LIT).reshape(len(towards), len(ROWS_MM), len(COLUMNS_MM))
    return np.stack(_read(lit))


def _read(lit: np.ndarray) -> list[FloatArray]:
    """Return whether shadows meet, whether a triangle is left, and the lit share, (n,) each."""
    some = np.asarray(lit.any(axis=2))
    inside = some & ~lit[..., 0] & ~lit[..., -1]
    meets = ~some.all(axis=1)
    first_dark = np.where(meets, np.argmin(some, axis=1), 0)
    above = np.arange(lit.shape[1]) < first_dark[:, None]
    rows = (inside & above).sum(axis=1)
    triangle = np.asarray(rows >= LEAST_ROWS)
    return [meets.astype(float), triangle.astype(float), lit.mean(axis=(1, 2))]


def patterns(
    scene: Scene, directions: KeyDirections, cheeks: FloatArray, *, from_below: bool
) -> np.ndarray:
    """Return the pattern at each place, as its number in `PATTERNS`.

    Parameters
    ----------
    scene : Scene
        About the sitter.
    directions : KeyDirections
        To the light.
    cheeks : (3, ...) array
        From a `CheekTable`.
    from_below : bool
        Whether another light makes a clamshell of a butterfly.
    """
    across, up = np.abs(directions.across_deg), directions.up_deg
    meet, triangle = cheeks[0] > 0.5, cheeks[1] > 0.5
    low, high = REMBRANDT_ACROSS_DEG
    in_line = np.where(
        _within(up, BUTTERFLY_UP_DEG), _number("clamshell" if from_below else "butterfly"), _NONE
    )
    loop = ~meet & (across <= LOOP_ACROSS_DEG + GRACE_DEG)
    split = (
        (cheeks[2] < DARK_CHEEK)
        & (across >= SPLIT_ACROSS_DEG[0])
        & (up <= SPLIT_UP_DEG + GRACE_DEG)
    )
    cases = (
        ((across > SPLIT_ACROSS_DEG[1]) | _behind_profile(scene, directions), _number("rim")),
        (up < CLAMSHELL_DOWN_DEG, _NONE),
        ((across < FLAT_DEG) & (up < FLAT_DEG), _number("flat")),
        (across < IN_LINE_DEG, in_line),
        (triangle & (across >= low) & (across <= high), _number("Rembrandt")),
        (loop & _within(up, LOOP_UP_DEG), _number("loop")),
        (loop, _NONE),
        (split, _number("split")),
    )
    return np.select([case for case, _ in cases], [name for _, name in cases], default=_NONE)


def _number(pattern: Pattern) -> int:
    return PATTERNS.index(pattern)


_NONE = PATTERNS.index("none")


def _within(angle: FloatArray, limits: tuple[float, float]) -> np.ndarray:
    return np.asarray((angle >= limits[0] - GRACE_DEG) & (angle <= limits[1] + GRACE_DEG))


def _behind_profile(scene: Scene, directions: KeyDirections) -> np.ndarray:
    """Return where a key lights a face in profile from behind, as the camera sees it."""
    camera = (scene.camera - scene.pose.origin) @ scene.pose.axes
    turned = float(np.rad2deg(np.arctan2(camera[0], camera[1])))
    level = np.array([1.0, 1.0, 0.0])
    apart = dot(normalize(directions.vector * level), normalize(camera * level))
    return np.asarray((abs(turned) > PROFILE_DEG) & (apart < BEHIND))
