"""What do the lenses show the camera, over the eyes or beside them?

For each lens and each reflecting surface: which emitter shows, how much of
the lens and of the eye opening it covers, and how bright it is against lit
skin.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapemark.analysis.cover import CoverMap, eye_share
from tapemark.analysis.lens_view import SURFACES, LensView, Surface
from tapemark.anatomy import SIDES, Side
from tapemark.geometry import FloatArray
from tapemark.units import MM

Verdict = Literal["clear", "edge", "veiled"]

CLEAR_VEIL = 0.005
CLEAR_LENS_COVER = 0.03
_WORST_FIRST: tuple[Verdict, ...] = ("veiled", "edge", "clear")


@dataclass(frozen=True, kw_only=True, slots=True)
class Reflection:
    """One emitter shown by one surface of one lens.

    Attributes
    ----------
    source : str
        Name of the emitter.
    surface : str
        ``front`` or ``back``.
    lens_cover, veil : float
        Share of the lens, and of the eye opening seen through it, that is
        covered, 0 to 1.
    stops_over_skin : float
        Brightest place against lit skin; at most 20, which stands for a face
        in the dark. [stops]
    above_eye_mm : float
        Its middle on the lens over that of the eye opening seen there. [mm]
    """

    source: str
    surface: Surface
    lens_cover: float
    veil: float
    stops_over_skin: float
    above_eye_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class LensGlare:
    """What one lens shows.

    Attributes
    ----------
    side : str
        The sitter's own ``right`` or ``left``.
    verdict : str
        ``clear``, ``edge`` or ``veiled``.
    veil, lens_cover : float
        All visible reflections together, 0 to 1.
    reflections : tuple of Reflection
        Largest veil, then largest cover, first.
    """

    side: Side
    verdict: Verdict
    veil: float
    lens_cover: float
    reflections: tuple[Reflection, ...]


def verdict_for(*, veil: float, lens_cover: float) -> Verdict:
    """Return the verdict on a lens from its veil and lens cover (shares, 0 to 1)."""
    if veil >= CLEAR_VEIL:
        return "veiled"
    return "clear" if lens_cover < CLEAR_LENS_COVER else "edge"


def worst_verdict(verdicts: tuple[Verdict, ...]) -> Verdict:
    """Return the worst of some verdicts; clear where there are none."""
    return min(verdicts, key=_WORST_FIRST.index, default="clear")


def lens_glare(view: LensView, cover: CoverMap) -> tuple[LensGlare, ...]:
    """Return what each lens of a view shows, in the order of the stack.

    Parameters
    ----------
    view : LensView
        The camera's view of the lenses.
    cover : CoverMap
        Reflections on it.
    """
    lens = view.solid_angle
    eye = lens * eye_share(view)
    lens_cover = _ratio(lens, _union(cover.shares, lens.shape), whole=lens)
    veil = _ratio(lens, _union(cover.eye_shares, lens.shape), whole=eye)
    eye_height = _mean_height(eye, view)
    parts: list[list[Reflection]] = [[] for _ in range(len(lens))]
    for source, shares in cover.shares.items():
        for number, surface in enumerate(SURFACES):
            own_cover = _ratio(lens, shares[number], whole=lens)
            own_veil = _ratio(lens, cover.eye_shares[source][number], whole=eye)
            above = (_mean_height(lens * shares[number], view) - eye_height) / MM
            for index in np.nonzero(own_cover)[0]:
                parts[index].append(
                    Reflection(
                        source=source,
                        surface=surface,
                        lens_cover=float(own_cover[index]),
                        veil=float(own_veil[index]),
                        stops_over_skin=float(cover.stops[source][number, index]),
                        above_eye_mm=float(above[index]),
                    )
                )
    return tuple(
        LensGlare(
            side=SIDES[index % 2],
            verdict=verdict_for(veil=float(veil[index]), lens_cover=float(lens_cover[index])),
            veil=float(veil[index]),
            lens_cover=float(lens_cover[index]),
            reflections=tuple(sorted(own, key=lambda part: (-part.veil, -part.lens_cover))),
        )
        for index, own in enumerate(parts)
    )


def _mean_height(weight: FloatArray, view: LensView) -> FloatArray:
    """Return the mean height of weighted cells on each lens; 0 without weight [m]."""
    total = weight.sum(axis=(1, 2))
    return np.asarray((weight.sum(axis=2) @ view.z) / np.where(total > 0, total, 1.0))


def _union(shares: dict[str, FloatArray], shape: tuple[int, ...]) -> FloatArray:
    """Return the share of each cell covered by any reflection of either surface."""
    total = np.zeros((len(SURFACES), *shape))
    for own in shares.values():
        total += own
    return np.asarray(np.minimum(total.max(axis=0), 1.0))


def _ratio(solid_angle: FloatArray, share: FloatArray, *, whole: FloatArray) -> FloatArray:
    """Return covered solid angle over a whole, for each lens; 0 where there is no whole."""
    part = np.einsum("lrc,lrc->l", solid_angle, share)
    size = whole.sum(axis=(1, 2))
    return np.asarray(np.minimum(part / np.where(size > 0, size, 1.0), 1.0))
