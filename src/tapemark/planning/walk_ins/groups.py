"""Which wearers fail: by kind of lens, prescription, coating, frame and eye height."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.planning.moves.words import amount_text
from tapemark.planning.walk_ins.interval import Share, share_of_sample
from tapemark.planning.walk_ins.wearers import Wearers
from tapemark.studio import LENS_KINDS
from tapemark.units import UnitSystem

STRONG_D, WEAK_D = 3.0, 0.5
SHALLOW_MM, DEEP_MM = 33.0, 41.0
NEAR_PLANNED_M = 0.03
MAY_BE_COATED = ("single vision", "progressive")  # the other kinds never are, here
FEWEST = 10  # a smaller group says nothing


@dataclass(frozen=True, kw_only=True, slots=True)
class Group:
    """Wearers who have something in common.

    Attributes
    ----------
    by : str
        ``lens kind``, ``prescription``, ``coating``, ``frame`` or ``eye height``.
    name : str
        What they have in common.
    part : float
        Share of all wearers. [-]
    clear, clear_or_edge : Share
        Of the group.
    """

    by: str
    name: str
    part: float
    clear: Share
    clear_or_edge: Share


def groups_of(
    wearers: Wearers,
    *,
    clear: np.ndarray,
    free: np.ndarray,
    eye_over_planned_m: FloatArray,
    system: UnitSystem,
) -> tuple[Group, ...]:
    """Return how each group of wearers fares, groups of fewer than ten left out.

    Parameters
    ----------
    wearers : Wearers
        The sample.
    clear, free : (n,) bool arrays
        Nothing that matters on a lens; nothing over an eye.
    eye_over_planned_m : (n,) array
        Eye height over that of the setup. [m]
    system : "metric" or "us"
        In which units to name eye heights.
    """
    masks = [*_by_lens(wearers), *_by_frame(wearers), *_by_height(eye_over_planned_m, system)]
    return tuple(
        Group(
            by=by,
            name=name,
            part=float(mask.mean()),
            clear=share_of_sample(int(clear[mask].sum()), int(mask.sum())),
            clear_or_edge=share_of_sample(int(free[mask].sum()), int(mask.sum())),
        )
        for by, name, mask in masks
        if mask.sum() >= FEWEST
    )


_Named = tuple[str, str, np.ndarray]


def _by_lens(wearers: Wearers) -> Iterator[_Named]:
    for number, kind in enumerate(LENS_KINDS):
        yield "lens kind", kind, wearers.kind == number
    power = wearers.spherical_equivalent_d.mean(axis=1)
    bands = (
        (f"minus, {STRONG_D:g} D or more", -np.inf, -STRONG_D),
        (f"minus, under {STRONG_D:g} D", -STRONG_D, -WEAK_D),
        (f"within {WEAK_D:g} D of none", -WEAK_D, WEAK_D),
        (f"plus, over {WEAK_D:g} D", WEAK_D, np.inf),
    )
    for name, low, high in bands:
        yield "prescription", name, (power > low) & (power <= high)
    either = np.isin(wearers.kind, [LENS_KINDS.index(name) for name in MAY_BE_COATED])
    yield "coating", "coated prescription lenses", wearers.coated & either
    yield "coating", "uncoated prescription lenses", ~wearers.coated & either


def _by_frame(wearers: Wearers) -> Iterator[_Named]:
    height = wearers.lens_height_mm
    yield "frame", f"lenses under {SHALLOW_MM:g} mm high", height < SHALLOW_MM
    middle = (height >= SHALLOW_MM) & (height <= DEEP_MM)
    yield "frame", f"{SHALLOW_MM:g} to {DEEP_MM:g} mm", middle
    yield "frame", f"over {DEEP_MM:g} mm", height > DEEP_MM


def _by_height(over: FloatArray, system: UnitSystem) -> Iterator[_Named]:
    near = amount_text(NEAR_PLANNED_M, unit="m", system=system)
    yield "eye height", f"more than {near} under the planned height", over < -NEAR_PLANNED_M
    yield "eye height", f"within {near} of it", np.abs(over) <= NEAR_PLANNED_M
    yield "eye height", f"more than {near} over it", over > NEAR_PLANNED_M
