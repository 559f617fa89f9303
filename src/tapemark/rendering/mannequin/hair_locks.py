r"""Locks of hair over the mass: flat, pointed strands that follow the way hair is combed.

The mass is looked up by column and by the angle from the crown, seen from the middle of the
skull.  A lock starts somewhere on it and runs on in short steps, each the way the style combs hair
there, each brought back to the mass::

        part
     <---|--->        from the parting over the top, down the sides;
    (  \\|//  )       or back over the head; or towards a bun

A lock is a ridge of five points across; curls are coils of such ridges.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.geometry import FloatArray, cross
from tapemark.rendering.mannequin.hair_styles import Style
from tapemark.rendering.mannequin.mesh import Mesh, grid_faces, rods, safe_unit, smoothstep

_MIDDLE_MM = np.array([0.0, -76.0, 15.0])  # of the skull; from here the mass is seen
_BINS = 96
_STEPS = 9
#: Across a lock: place, height over the mass, and how bright.
_ACROSS = np.array([-1.0, -0.55, 0.0, 0.55, 1.0])
_OVER = np.array([-0.5, 0.72, 1.0, 0.72, -0.5])
_BRIGHT = np.array([0.68, 0.98, 1.12, 0.98, 0.68])
_CURL_STEPS, _CURL_SIDES = 8, 4
BUN_MM = np.array([0.0, -150.0, 104.0])


@dataclass(frozen=True, kw_only=True, eq=False)
class Cover:
    """The outside of a mass of hair, to be looked up.

    Attributes
    ----------
    points, normals : (rows, columns, 3) arrays
        From the crown to the edge. [mm], [-]
    away : (rows, columns) array
        How far the edge is. [mm]
    """

    points: FloatArray
    normals: FloatArray
    away: FloatArray

    def __post_init__(self) -> None:
        """Make the tables by which places are found."""
        own = self.points - _MIDDLE_MM
        polar = np.arctan2(np.hypot(own[..., 0], own[..., 1]), own[..., 2])
        polar = np.maximum.accumulate(polar + 1e-6 * np.arange(len(polar))[:, None], axis=0)
        at = np.linspace(0.0, np.pi, _BINS)
        rows = np.arange(len(polar), dtype=np.float64)
        table = np.stack([np.interp(at, polar[:, k], rows) for k in range(polar.shape[1])], -1)
        middle = own[len(own) // 2]
        around = np.unwrap(np.arctan2(middle[:, 0], middle[:, 1]))
        object.__setattr__(self, "_rows", table)
        object.__setattr__(self, "_around", around)

    def nearest(self, places: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the points of the mass in the direction of places, and the normals there."""
        row, column = self._found(places)
        return looked_up(self.points, row, column), safe_unit(looked_up(self.normals, row, column))

    def edge_away(self, places: FloatArray) -> FloatArray:
        """Return how far the edge of the hair is from places. [mm]"""
        row, column = self._found(places)
        return np.asarray(looked_up(self.away[..., None], row, column)[..., 0])

    def _found(self, places: FloatArray) -> tuple[FloatArray, FloatArray]:
        own = places - _MIDDLE_MM
        polar = np.arctan2(np.hypot(own[..., 0], own[..., 1]), own[..., 2])
        around: FloatArray = self._around  # type: ignore[attr-defined]
        turned = np.arctan2(own[..., 0], own[..., 1])
        rising = around[-1] > around[0]
        line = around if rising else around[::-1]
        turned = line[0] + np.mod(turned - line[0], 2.0 * np.pi)
        index = np.interp(turned, line, np.arange(len(line)))
        column = index if rising else len(line) - 1.0 - index
        table: FloatArray = self._rows  # type: ignore[attr-defined]
        near = np.round(column).astype(np.intp) % table.shape[1]
        bins = np.clip(polar / np.pi * (_BINS - 1), 0.0, _BINS - 1.001)
        low = bins.astype(np.intp)
        row = table[low, near] + (table[low + 1, near] - table[low, near]) * (bins - low)
        return row, column


def locks(
    cover: Cover, style: Style, *, color: FloatArray, chance: np.random.Generator, count: int
) -> Mesh:
    """Return locks over the whole mass, with colors. [mm]"""
    roots = _roots(cover, style, count=count, chance=chance)
    long = style.lock_mm * chance.uniform(0.7, 1.15, count)
    line, normal = _followed(cover, style, roots, long=long, chance=chance)
    wide = style.wide_mm * chance.uniform(0.6, 1.15, count)
    thick = 0.34 * style.wide_mm * chance.uniform(0.7, 1.3, count)
    tip = np.linspace(0.0, 1.0, _STEPS)
    loose = chance.uniform(-0.3, 1.0, count)[:, None] * tip**3 * 2.2
    line = line + normal * (loose + 0.25 * thick[:, None])[..., None]
    tone = color * chance.uniform(0.80, 1.45, count)[:, None]
    return _ridges(line, normal, wide=wide, thick=thick, tone=tone)


def curls(
    cover: Cover, style: Style, *, color: FloatArray, chance: np.random.Generator, count: int
) -> Mesh:
    """Return coils over the mass, each most of a turn, with colors. [mm]"""
    roots = _roots(cover, style, count=count, chance=chance)
    points, normal = cover.nearest(roots)
    near = smoothstep(0.0, 14.0, cover.edge_away(roots))
    side = safe_unit(cross(normal, safe_unit(chance.normal(size=(count, 3)))))
    third = cross(normal, side)
    radius = style.curls_mm * chance.uniform(0.75, 1.35, count) * (0.66 + 0.34 * near)
    turn = chance.uniform(0.0, 2 * np.pi, count)[:, None] + np.linspace(0.0, 5.4, _CURL_STEPS)
    tilt = chance.uniform(-0.5, 1.0, count)[:, None]
    rise = radius[:, None] * (0.55 * np.sin(turn + 0.7) * tilt + 0.05)
    line = points[:, None] + radius[:, None, None] * (
        np.cos(turn)[..., None] * side[:, None] + np.sin(turn)[..., None] * third[:, None]
    )
    line = line + (rise + 1.6 * chance.uniform(-1.0, 1.0, (count, 1)))[..., None] * normal[:, None]
    tone = color * chance.uniform(0.62, 1.05, count)[:, None]
    return _coils(line, thick=0.42 * radius, tone=tone)


def stray(
    cover: Cover, style: Style, *, color: FloatArray, chance: np.random.Generator, count: int
) -> Mesh:
    """Return single hairs, most of them along the edge of the hair. [mm]"""
    rows, columns = cover.away.shape
    weight = 0.06 + np.exp(-((cover.away / 6.0) ** 2))
    weight[:3] = 0.0
    picked = chance.choice(rows * columns, size=count, p=(weight / weight.sum()).ravel())
    roots = cover.points.reshape(-1, 3)[picked]
    long = chance.uniform(7.0, 20.0, count)
    line, normal = _followed(cover, style, roots, long=long, chance=chance, steps=4)
    lift = chance.uniform(0.0, 1.0, count)[:, None] * np.array([-0.4, 0.4, 0.9, 1.4])
    tone = color * chance.uniform(0.85, 1.5, count)[:, None]
    line = line + normal * lift[..., None]
    return rods(line, thick=0.22, colors=np.clip(tone, 0.004, 0.9))


def hairline(
    cover: Cover, style: Style, *, color: FloatArray, chance: np.random.Generator, count: int
) -> Mesh:
    """Return fine hairs that begin on the skin a little before the edge of the hair. [mm]"""
    edge, within = cover.points[-1], cover.points[-5]
    seen = np.flatnonzero((edge[:, 1] > -70.0) & (edge[:, 2] > -10.0))
    picked = chance.choice(seen, size=count)
    at, normal = edge[picked], cover.normals[-1][picked]
    out = safe_unit(at - within[picked])
    way = _combed(at, style)
    way = safe_unit(way - (way * normal).sum(-1, keepdims=True) * normal)
    before = chance.uniform(0.3, 1.0, (count, 1)) ** 2 * 6.0
    root = at + before * out + 0.5 * normal
    tip = at - chance.uniform(1.0, 5.0, (count, 1)) * out + 4.5 * way + 0.8 * normal
    middle = 0.5 * (root + tip) + 0.5 * normal
    tone = color * chance.uniform(0.9, 1.6, (count, 1))
    line = np.stack([tip, middle, root], axis=1)
    return rods(line, thick=0.17, colors=np.clip(tone, 0.004, 0.9))


def looked_up(table: FloatArray, row: FloatArray, column: FloatArray) -> FloatArray:
    """Return values of a ring grid between its points."""
    rows, columns = table.shape[:2]
    low = np.clip(np.floor(row).astype(np.intp), 0, rows - 2)
    left = np.floor(column).astype(np.intp)
    down, right = np.clip(row - low, 0.0, 1.0)[..., None], (column - left)[..., None]
    first, second = left % columns, (left + 1) % columns
    upper = table[low, first] * (1 - right) + table[low, second] * right
    lower = table[low + 1, first] * (1 - right) + table[low + 1, second] * right
    return np.asarray(upper * (1 - down) + lower * down)


def _roots(cover: Cover, style: Style, *, count: int, chance: np.random.Generator) -> FloatArray:
    """Return where locks start: everywhere alike, but not at the very edge. [mm]"""
    across = np.roll(cover.points, -1, axis=1) - cover.points
    down = np.gradient(cover.points, axis=0)
    flat = cross(across, down)
    area = np.sqrt((flat**2).sum(axis=-1)) * smoothstep(-6.0, 3.0, cover.away)
    front = smoothstep(-40.0, 0.0, cover.points[..., 1]) * smoothstep(
        40.0, 60.0, cover.points[..., 2]
    )
    area = area * (1.0 + 3.5 * front * np.exp(-((cover.away / 9.0) ** 2)))
    if style.fall:
        area = area * (0.35 + smoothstep(-40.0, 60.0, cover.points[..., 2]))
    chosen = np.cumsum(area.ravel() / area.sum())
    even = (np.arange(count) + chance.random(count)) / count
    picked = np.minimum(np.searchsorted(chosen, even), area.size - 1)
    return np.asarray(chance.permutation(cover.points.reshape(-1, 3)[picked]))


def _followed(
    cover: Cover,
    style: Style,
    roots: FloatArray,
    *,
    long: FloatArray,
    chance: np.random.Generator,
    steps: int = _STEPS,
) -> tuple[FloatArray, FloatArray]:
    """Return lines that run along the combed hair, (n, steps, 3), and the normals there."""
    place, normal = cover.nearest(roots)
    lean = chance.normal(0.0, 0.13, len(roots))[:, None]
    line, normals = [place], [normal]
    step = (long / (steps - 1))[:, None]
    for _ in range(steps - 1):
        way = _combed(place, style)
        way = safe_unit(way - (way * normal).sum(-1, keepdims=True) * normal)
        way = way + lean * cross(normal, way)
        left = 0.3 * np.sqrt(((BUN_MM - place) ** 2).sum(-1, keepdims=True)) if style.bun else step
        wanted = place + np.minimum(step, left) * way
        place, normal = cover.nearest(wanted)
        if style.fall:  # locks hang a little beyond the edge of the mass
            past = np.clip(0.55 * (place - wanted)[:, 2:3] / step, 0.0, 0.5)
            past = past * smoothstep(-20.0, -50.0, place[:, 2:3])
            past = past * smoothstep(-110.0, -70.0, place[:, 1:2])
            place = place + past * (wanted - place)
        line.append(place)
        normals.append(normal)
    return np.stack(line, axis=1), np.stack(normals, axis=1)


def _combed(place: FloatArray, style: Style) -> FloatArray:
    """Return the way hair is combed at places; need not lie along the mass."""
    x, y, z = place[..., 0], place[..., 1], place[..., 2]
    top = smoothstep(52.0, 84.0, z)[..., None]
    if style.bun:
        return np.asarray(BUN_MM - place)
    if style.fall:
        part = style.part_mm or 0.0
        sideways = np.tanh((x - part) / 6.0)
        over = np.stack([sideways, np.full_like(x, -0.25), np.zeros_like(x)], axis=-1)
        down = np.stack(
            [0.10 * np.sin(z / 21.0 + y / 17.0), -0.16 * smoothstep(-60.0, 20.0, y), -1.0 + 0 * x],
            axis=-1,
        )
        return np.asarray(over * top + down * (1.0 - top))
    if style.part_mm is not None:
        over = np.stack([-1.0 + 0 * x, 0.15 - 0.9 * smoothstep(20.0, -60.0, x), 0.3 + 0 * x], -1)
        beyond = smoothstep(style.part_mm - 3.0, style.part_mm + 3.0, x)[..., None]
        down = np.stack([0 * x, -0.45 + 0 * x, -1.0 + 0 * x], axis=-1)
        return np.asarray(over * top * (1.0 - beyond) + down * (1.0 - top * (1.0 - beyond)))
    back = np.stack([0.012 * x, -1.0 + 0 * x, 0.2 + 0 * x], axis=-1)
    down = np.stack([0 * x, -0.9 + 0 * x, -0.45 + 0 * x], axis=-1)
    return np.asarray(back * top + down * (1.0 - top))


def _ridges(
    line: FloatArray, normal: FloatArray, *, wide: FloatArray, thick: FloatArray, tone: FloatArray
) -> Mesh:
    """Return lines (n, k, 3) as flat ridges that end in points."""
    count, steps = line.shape[:2]
    share = np.linspace(0.0, 1.0, steps)
    along = safe_unit(np.gradient(line, axis=1))
    side = safe_unit(cross(along, normal))
    full = np.sqrt(np.clip(1.0 - (2.0 * share - 0.85).clip(0.0, None) ** 2 / 1.33, 0.0, 1.0))
    full = full * smoothstep(-0.12, 0.25, share) + 0.02
    out = (wide[:, None] * full)[..., None, None] * _ACROSS[:, None] * side[:, :, None]
    up = (thick[:, None] * full)[..., None, None] * _OVER[:, None] * normal[:, :, None]
    points = line[:, :, None] + out + up
    slant = np.array([-0.9, -0.5, 0.0, 0.5, 0.9])[:, None]
    normals = safe_unit(normal[:, :, None] + slant * side[:, :, None])
    light = (0.66 + 0.42 * smoothstep(0.0, 0.5, share))[:, None] * _BRIGHT
    colors = tone[:, None, None] * light[None, ..., None]
    faces = grid_faces(steps, 5)[:, ::-1]
    starts = np.arange(count)[:, None, None] * steps * 5
    return Mesh(
        vertices=points.reshape(-1, 3),
        faces=(faces + starts).reshape(-1, 3),
        normals=normals.reshape(-1, 3),
        colors=np.clip(colors, 0.004, 0.9).reshape(-1, 3),
    )


def _coils(line: FloatArray, *, thick: FloatArray, tone: FloatArray) -> Mesh:
    """Return lines (n, k, 3) as round tubes, thin at both ends."""
    count, steps = line.shape[:2]
    along = safe_unit(np.gradient(line, axis=1))
    side = safe_unit(cross(along, safe_unit(line - line.mean(axis=1, keepdims=True))))
    third = cross(along, side)
    angle = np.arange(_CURL_SIDES) * 2.0 * np.pi / _CURL_SIDES
    ring = np.cos(angle)[:, None] * side[:, :, None] + np.sin(angle)[:, None] * third[:, :, None]
    share = np.linspace(0.0, 1.0, steps)
    full = np.sqrt(np.clip(1.0 - (2.0 * share - 1.0) ** 4, 0.03, 1.0))
    points = line[:, :, None] + (thick[:, None] * full)[..., None, None] * ring
    faces = grid_faces(steps, _CURL_SIDES, closed=True)[:, ::-1]
    starts = np.arange(count)[:, None, None] * steps * _CURL_SIDES
    colors = np.broadcast_to(tone[:, None, None], points.shape)
    return Mesh(
        vertices=points.reshape(-1, 3),
        faces=(faces + starts).reshape(-1, 3),
        normals=ring.reshape(-1, 3),
        colors=np.clip(colors, 0.004, 0.9).reshape(-1, 3),
    )
