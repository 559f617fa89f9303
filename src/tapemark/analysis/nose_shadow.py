"""Where does the shadow of the nose fall, how long is it and how soft is its edge?

The skin is followed from the tip of the nose away from the key, as seen from
the front of the face, and asked at each step how much of the key it sees.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tapemark.analysis.face_points import SkinPlaces, face_scale, skin_at
from tapemark.analysis.key_light import KeyLight
from tapemark.analysis.light_at_places import seen_share
from tapemark.analysis.scene import Scene
from tapemark.analysis.source_patches import EDGE_PAIRS, source_patches
from tapemark.anatomy import HeadSurface
from tapemark.geometry import FloatArray
from tapemark.units import MM

#: Top edge of the upper lip under the pupils on the reference head, and half the width of
#: the mouth (assumptions: 10 mm under the foot of the nose, 52 mm wide). [mm]
LIP_TOP_MM, HALF_MOUTH_MM = -59.0, 26.0
STEP_MM, LONGEST_MM = 2.5, 85.0
EDGE_PLACES = 41  # on the few steps in which the shadow ends: 0.1 to 0.4 mm apart
EDGE_FROM, EDGE_TO = 0.1, 0.9  # share of the way from the shadow's middle to the key in full
LEAST_FACING = -0.1  # cosine from the key's middle; a broad key still lights such skin (assumption)
LONGEST_JUMP = 0.5  # share from one place to the next; more is a fold of the skin
SLACK = 0.1  # a share that falls by more is another shadow's (a lip, a fold)
NOSE_MM = 40.0  # from the tip; a shadow that begins farther off is not the nose's
FAINTEST = 0.8  # share of the key in the middle of a shadow one still sees (assumption)
#: A key closer to the nose's own axis than this throws no shadow that leaves the nose. [-]
LEAST_SLANT = float(np.sin(np.deg2rad(8.0)))


@dataclass(frozen=True, kw_only=True, slots=True)
class NoseShadow:
    """The shadow that the nose throws in the light of the key.

    Attributes
    ----------
    falls_deg : float
        Way it falls from the tip of the nose as seen from the front: 0
        straight down, positive to the sitter's own right. [deg]
    darkest_share : float
        Share of the key that still reaches the middle of the shadow, 0 to 1.
    length_mm : float or None
        From the tip of the nose to the end of the shadow, as seen from the
        front; None where it runs into the shadow of the cheek or off the face.
    over_lip_mm : float or None
        End of the shadow over the top edge of the upper lip; negative where it
        reaches below it. None as above. [mm]
    crosses_lip : bool
        Whether it reaches onto the upper lip.
    edge_mm : float or None
        Width along the skin from a tenth to nine tenths of the way between the
        darkest place before the end and the key in full; None where another
        shadow begins, or the skin turns away from the key, before that.
    edge_formula_mm : float or None
        The same by size of source times way behind the nose over way to the
        source, square to the light, from full shadow to full light.
    """

    falls_deg: float
    darkest_share: float
    length_mm: float | None
    over_lip_mm: float | None
    crosses_lip: bool
    edge_mm: float | None
    edge_formula_mm: float | None


def nose_shadow(scene: Scene, key: KeyLight) -> NoseShadow | None:
    """Return the nose's shadow in the light of the key; None where it throws none."""
    x, _, z = key.direction
    slant = float(np.hypot(x, z))
    if slant < LEAST_SLANT or key.direction[1] < -0.1:
        return None
    away = np.array([-x, -z]) / slant
    skin = _walk(scene.head, away, np.arange(0.0, LONGEST_MM, STEP_MM))
    seen = _seen(scene, key, skin)
    falls = float(np.degrees(np.arctan2(away[0], -away[1])))
    near = seen[: int(NOSE_MM / STEP_MM)]
    deepest = float(near.min())
    if deepest > FAINTEST:
        return None
    share = (seen - deepest) / (1.0 - deepest)  # 0 in the shadow's middle, 1 out of it
    end = _end_of_shadow(share)
    if end is None:
        return NoseShadow(
            falls_deg=falls,
            darkest_share=deepest,
            length_mm=None,
            over_lip_mm=None,
            crosses_lip=False,
            edge_mm=None,
            edge_formula_mm=None,
        )
    last = _at(skin.points, end)
    over_lip = (float(last[2]) / MM) - LIP_TOP_MM * face_scale(scene.head)[1]
    in_mouth = abs(float(last[0])) / MM < HALF_MOUTH_MM * face_scale(scene.head)[0]
    return NoseShadow(
        falls_deg=falls,
        darkest_share=deepest,
        length_mm=STEP_MM * end,
        over_lip_mm=over_lip,
        crosses_lip=in_mouth and over_lip < 0.0,
        edge_mm=_edge_mm(scene, key, away=away, coarse=share, end=end),
        edge_formula_mm=_formula_edge(scene, key, away=away, end=last) / MM,
    )


@lru_cache(maxsize=32)
def lip_elevation_deg(head: HeadSurface) -> float:
    """Return how high a light straight in front is when the nose's shadow meets the lip.

    Returns
    -------
    float
        Elevation over the face's level at which the shadow's end reaches the
        top edge of the upper lip. [deg]

    Notes
    -----
    The published height of a key: set it in front of the face, raise it until
    the shadow of the nose just reaches the top edge of the upper lip, and keep
    that height when swinging it to a side.

    References
    ----------
    [navedtra-14209] p. 201, [army-ss0510] p. 28.
    """
    lip = LIP_TOP_MM * MM * face_scale(head)[1]
    up = np.arange(lip + 4.0 * MM, -10.0 * MM, 0.5 * MM)
    depth = head.front_depth(np.zeros_like(up), up)
    before = depth - float(head.front_depth(np.array(0.0), np.array(lip)))
    return float(np.degrees(np.arctan2(up - lip, np.maximum(before, 1e-9)).min()))


def _walk(head: HeadSurface, away: FloatArray, steps_mm: FloatArray) -> SkinPlaces:
    """Return the skin at steps from the tip of the nose, as far as there is any, head frame."""
    tip_x, _, tip_z = _tip(head)
    steps = steps_mm * MM
    skin = skin_at(head, tip_x + steps * away[0], tip_z + steps * away[1])
    on_face = np.isfinite(skin.normals).all(axis=-1)
    count = len(steps) if on_face.all() else int(np.argmin(on_face))
    return SkinPlaces(points=skin.points[:count], normals=skin.normals[:count])


def _seen(scene: Scene, key: KeyLight, skin: SkinPlaces) -> FloatArray:
    """Return the share of the key that the skin sees."""
    world = skin.in_world(scene.pose)
    return seen_share(
        scene, key.emitter, places=world.points, normals=world.normals, pairs=EDGE_PAIRS
    )


@lru_cache(maxsize=32)
def _tip(head: HeadSurface) -> FloatArray:
    """Return the tip of the nose, head frame (3,) [m]."""
    return np.array(head.landmarks().nose_tip)


def _end_of_shadow(seen: FloatArray) -> float | None:
    """Return the step, with its fraction, at which the first shadow ends; None if it does not."""
    dark = int(np.flatnonzero(seen < 0.5)[0])
    lit = np.flatnonzero(seen[dark:] >= 0.5)
    if not len(lit):
        return None
    after = dark + int(lit[0])
    before = float(seen[after - 1])
    return after - 1 + (0.5 - before) / (float(seen[after]) - before)


def _edge_mm(
    scene: Scene, key: KeyLight, *, away: FloatArray, coarse: FloatArray, end: float
) -> float | None:
    """Return the width of the edge around a shadow's end, followed in fine steps."""
    first, last = _steps_around(coarse, end)
    steps = np.linspace(first, last, EDGE_PLACES)
    skin = _walk(scene.head, away, steps * STEP_MM)
    share = np.where(skin.normals @ key.direction > LEAST_FACING, _seen(scene, key, skin), np.nan)
    rise = _rise(share, int(np.searchsorted(steps, end)))
    if rise is None:
        return None
    way = np.sqrt((np.diff(skin.points[rise], axis=0) ** 2).sum(axis=-1)) / MM
    highest = np.maximum.accumulate(share[rise])
    ends = highest[0] + np.array([EDGE_FROM, EDGE_TO]) * (1.0 - highest[0])
    low, high = np.interp(ends, highest, np.concatenate([[0.0], np.cumsum(way)]))
    return float(high - low)


def _steps_around(share: FloatArray, end: float) -> tuple[int, int]:
    """Return the steps between which a shadow goes over into light or into another shadow."""
    first = int(end)
    while first > 0 and share[first] > EDGE_FROM and share[first - 1] < share[first] + SLACK:
        first -= 1
    last = int(end) + 1
    while last < len(share) - 1 and EDGE_TO > share[last] > share[last - 1] - SLACK:
        last += 1
    return max(first - 1, 0), min(last + 1, len(share) - 1)


def _rise(share: FloatArray, middle: int) -> slice | None:
    """Return the places, around one of them, on which a share rises from its lowest to full.

    None where it falls again, or is not known (NaN), before it is nearly full.
    """
    before, after = share[middle::-1], share[middle:]
    rises = ~(before <= np.minimum.accumulate(before) + SLACK)
    dark = before[: int(np.argmax(rises)) if rises.any() else len(before)]
    if not len(dark) or dark.min() > FAINTEST:
        return None
    first = middle - int(np.argmin(dark))
    full = np.flatnonzero(after >= dark.min() + EDGE_TO * (1.0 - dark.min()))
    if not len(full):
        return None
    rise = slice(first, middle + int(full[0]) + 1)
    falls = share[rise] < np.maximum.accumulate(share[rise]) - SLACK
    unsure = np.isnan(share[rise]) | falls
    folds = np.diff(share[rise]) > LONGEST_JUMP
    return None if unsure.any() or folds.any() else rise


def _at(points: FloatArray, step: float) -> FloatArray:
    first = min(int(step), len(points) - 2)
    return np.asarray(points[first] + (step - first) * (points[first + 1] - points[first]))


def _formula_edge(scene: Scene, key: KeyLight, *, away: FloatArray, end: FloatArray) -> float:
    """Return size of source times way behind the nose over way to the source [m].

    The size is that across the edge: square to the light, in the plane in which the shadow
    falls.
    """
    tip = _tip(scene.head)
    points = source_patches(key.emitter, pairs=EDGE_PAIRS).points
    local = (points - scene.pose.origin) @ scene.pose.axes
    falls = np.array([away[0], 0.0, away[1]])
    across = falls - (falls @ key.direction) * key.direction
    spread = local @ (across / np.sqrt(across @ across))
    behind = abs(float((end - tip) @ key.direction))
    before = float((local.mean(axis=0) - tip) @ key.direction)
    return float(np.ptp(spread)) * behind / max(before, 1e-9)
