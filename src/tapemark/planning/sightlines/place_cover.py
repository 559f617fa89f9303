"""How much of each lens and eye would a light cover, from every place at once?

Every ray covers a stretch of sides in each row of places.  The stretches are laid down by their
two ends and added up along the row, so that no place is looked at by itself.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.planning.footprints import Footprints
from tapemark.planning.lens_rays import FREE_M, LensRays

CLASSES = 9  # limits of brightness among the rays in doubt: as many rays between each two
_ALWAYS = 1e-9
BLOCK = 16_000  # pairs of ray and row looked at together
SINGLE = np.float32  # good to a thousandth of a side, and twice as fast over many pairs


@dataclass(frozen=True, kw_only=True, eq=False)
class PlaceCover:
    """Lens cover and veil of one person by place; axes (lens, row, side), right lens first."""

    lens_cover: FloatArray
    veil: FloatArray


def place_cover(rays: LensRays, prints: Footprints, *, needed: FloatArray) -> PlaceCover:
    """Return what a light covers of each lens and eye from every place.

    Parameters
    ----------
    rays : LensRays
        Of one person.
    prints : Footprints
        Of the light, from the point between their eyes.
    needed : (2, rows, sides) array
        How telling a ray must be to be seen, for each lens, log 2.
    """
    edges = _edges(rays, needed)
    told = _told(rays, np.searchsorted(edges, rays.telling).astype(np.int32) - 1)
    shape = (len(edges), 2, *prints.rows.shape)
    sums = _Sums(*(np.zeros(int(np.prod(shape[:-1])) * (shape[-1] + 1)) for _ in (0, 1)))
    first, count = _row_ranges(rays, prints)
    for part in _blocks(count):
        pairs = _pairs(rays, prints, rays_at=part, first=first[part], count=count[part])
        _lay(sums, pairs, told, shape=shape)
    cover, veil = (np.cumsum(flat.reshape(*shape[:-1], -1), axis=-1)[..., :-1] for flat in sums)
    return PlaceCover(
        lens_cover=_evened(_seen(cover, edges, needed)), veil=_seen(veil, edges, needed)
    )


def _evened(field: FloatArray) -> FloatArray:
    """Return a field with each place and its neighbours averaged, against the grain of the rays."""
    for axis in (-1, -2):
        ends = [(0, 0)] * field.ndim
        ends[axis] = (1, 1)
        padded = np.moveaxis(np.pad(field, ends, mode="edge"), axis, -1)
        field = 0.25 * (padded[..., :-2] + padded[..., 2:]) + 0.5 * padded[..., 1:-1]
        field = np.moveaxis(field, -1, axis)
    return field


class _Sums(NamedTuple):
    """Differences of cover and veil along each row of places, one row after the other."""

    cover: FloatArray
    veil: FloatArray


def _blocks(count: np.ndarray) -> list[np.ndarray]:
    """Return the numbers of rays in blocks of about so many pairs that they stay in the cache."""
    cuts = np.searchsorted(np.cumsum(count), np.arange(BLOCK, int(count.sum()), BLOCK))
    return np.split(np.arange(len(count), dtype=np.int32), cuts)


def _edges(rays: LensRays, needed: FloatArray) -> FloatArray:
    """Return the limits of the classes of rays by how telling they are; one if none is in doubt."""
    low, high = float(needed.min()), float(needed.max())
    doubtful = rays.telling[(rays.telling >= low) & (rays.telling < high)]
    if not doubtful.size:
        return np.array([high])
    inner = np.quantile(doubtful, np.linspace(0.0, 1.0, CLASSES))
    return np.unique(np.concatenate([[low - _ALWAYS], inner, [high + _ALWAYS]]))


@dataclass(frozen=True, kw_only=True, eq=False)
class _Told:
    """What each ray adds: by the front, by the back, and less where both do.

    Attributes
    ----------
    lens : (n,) int array
        Which lens.
    groups : three (n,) int arrays
        How telling each is: -1 for those that are never seen.
    cover, veil : three (n,) arrays
        Shares of lens and eye, negative for both together. [-]
    """

    lens: np.ndarray
    groups: tuple[np.ndarray, ...]
    cover: tuple[FloatArray, ...]
    veil: tuple[FloatArray, ...]


def _told(rays: LensRays, group: np.ndarray) -> _Told:
    return _Told(
        lens=rays.lens,
        groups=(*group, np.minimum(*group)),
        cover=(*rays.cover, -np.minimum(*rays.cover)),
        veil=(*rays.veil, -np.minimum(*rays.veil)),
    )


def _lay(sums: _Sums, pairs: "_Pairs", told: _Told, *, shape: tuple[int, ...]) -> None:
    """Add the stretches of the front and of the back, less those of both together."""
    rows, sides = shape[-2:]
    start, end = (np.ceil(one).clip(0, sides).astype(np.int32) for one in (pairs.start, pairs.end))
    starts = (*start, np.maximum(*start))
    ends = (*end, np.minimum(*end))
    run = told.lens[pairs.ray] * np.int32(rows) + pairs.row
    for number, group in enumerate(told.groups):
        at = np.flatnonzero(ends[number] > starts[number])
        ray = pairs.ray[at]
        own = group[ray]
        if own.min(initial=0) < 0:
            seen = np.flatnonzero(own >= 0)
            at, ray, own = at[seen], ray[seen], own[seen]
        base = (own * np.int32(2 * rows) + run[at]) * np.int32(sides + 1)
        amount = told.veil[number][ray]
        over = np.flatnonzero(amount)
        amounts = told.cover[number][ray], amount[over]
        for edge, sign in ((starts[number], 1.0), (ends[number], -1.0)):
            place = base + edge[at]
            for total, place_of, weight in zip(sums, (place, place[over]), amounts, strict=True):
                laid = np.bincount(place_of, weight)
                total[: len(laid)] += sign * laid


def _seen(laid: FloatArray, edges: FloatArray, needed: FloatArray) -> FloatArray:
    """Return the shares of the rays that are telling enough, (lens, row, side), 0 to 1."""
    total = np.array(laid[-1])
    for lower, upper, own in zip(edges[:-1], edges[1:], laid[:-1], strict=True):
        if own.any():
            total += own * np.clip((upper - needed) / (upper - lower), 0.0, 1.0)
    return np.asarray(np.clip(total, 0.0, 1.0))


@dataclass(frozen=True, kw_only=True, eq=False)
class _Pairs:
    """Rays and the rows that they might meet, and the ends of their stretches by surface."""

    ray: np.ndarray
    row: np.ndarray
    start: np.ndarray
    end: np.ndarray


def _pairs(
    rays: LensRays,
    prints: Footprints,
    *,
    rays_at: np.ndarray,
    first: np.ndarray,
    count: np.ndarray,
) -> _Pairs:
    number = np.repeat(np.arange(len(first), dtype=np.int32), count)
    ray = rays_at[number]
    before = np.concatenate([[0], np.cumsum(count)[:-1]])
    row = np.arange(len(ray), dtype=np.int32) - (before - first).astype(np.int32)[number]
    rows = prints.rows
    side_0, step = np.deg2rad(rows.side_deg[0]), rows.step_rad
    start, end = (np.empty((2, len(ray)), dtype=SINGLE) for _ in (0, 1))
    inverse = None
    if prints.on_axis:
        inverse = (1.0 / prints.range_m(np.zeros(1), np.arange(rows.shape[0]))).astype(SINGLE)
    for surface in (0, 1):
        azimuth, up = rays.azimuth[surface][ray], rays.up[surface][ray]
        near = (
            inverse[row]
            if inverse is not None
            else np.nan_to_num(1.0 / prints.range_m(azimuth, row), nan=0.0)
        )
        azimuth += rays.azimuth_shift[surface][ray] * near
        up += rays.up_shift[surface][ray] * near
        middle, half = prints.stretches(azimuth, up, row)
        stopped = rays.blocked_m[surface]
        if (stopped < FREE_M).any():
            half = np.where(stopped[ray] * near < 1.0, 0.0, half)
        middle = (middle - SINGLE(side_0)) * SINGLE(1.0 / step)
        half = half * SINGLE(1.0 / step)
        np.subtract(middle, half, out=start[surface])
        np.add(middle, half, out=end[surface])
    return _Pairs(ray=ray, row=row, start=start, end=end)


def _row_ranges(rays: LensRays, prints: Footprints) -> tuple[np.ndarray, np.ndarray]:
    """Return the first row that each ray might meet, and how many from there on."""
    nodes = prints.half_rad.shape[2]
    low = prints.low_rad.min(axis=1)
    high = (prints.low_rad + prints.step_rad * (nodes - 1)).max(axis=1)
    near = 1.0 / prints.rows.length_m.min()
    slack = np.abs(rays.up_shift).max(axis=0) * near
    lowest, highest = rays.up.min(axis=0) - slack, rays.up.max(axis=0) + slack
    falling = high[-1] + low[-1] < high[0] + low[0]
    if falling:
        low, high = low[::-1], high[::-1]
    first = np.searchsorted(np.maximum.accumulate(high), lowest)
    after = np.searchsorted(np.minimum.accumulate(low[::-1])[::-1], highest)
    count = np.maximum(after - first, 0)
    return (len(low) - first - count if falling else first), count
