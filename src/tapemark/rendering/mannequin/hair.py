r"""Hair of the mannequin as masses with strands: what lies on the skull and what falls from it.

The mass is a shell of columns that run from the crown down to the edge of the hair: to the
hairline over the face, to the nape, or down beside the face for long hair.  Over the edge it turns
inwards, under the skin or behind the curtain that falls.

         .-''-.
        / | | |\     columns from the crown
       | |face| |
       | |    | |    edge: hairline in front, lower edge at the sides
       '-'    '-'

Strands are shallow furrows along the columns, streaks of color beside them, and single hairs.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.anatomy import HeadSurface
from tapemark.geometry import FloatArray
from tapemark.rendering.mannequin.head import CROWN_MM, ring_sections
from tapemark.rendering.mannequin.looks import Look
from tapemark.rendering.mannequin.mesh import (
    Mesh,
    ball,
    joined,
    rods,
    safe_unit,
    sheet,
    smooth,
    smoothstep,
)
from tapemark.studio.appearance import HairStyle

Table = tuple[tuple[float, float], ...]

#: Azimuth from the face [deg], height of the edge of the hair there [mm of the reference head].
_SHORT_EDGE: Table = (
    (0.0, 67.0),
    (16.0, 68.5),
    (32.0, 67.0),
    (42.0, 62.0),
    (52.0, 52.0),
    (60.0, 38.0),
    (67.0, 17.0),
    (73.0, -6.0),
    (78.0, -20.0),
    (82.0, -18.0),
    (86.0, 4.0),
    (93.0, 18.0),
    (102.0, 12.0),
    (110.0, -22.0),
    (124.0, -58.0),
    (150.0, -84.0),
    (180.0, -90.0),
)
_BACK_EDGE: Table = (
    *_SHORT_EDGE[:12],
    (110.0, -14.0),
    (124.0, -44.0),
    (150.0, -66.0),
    (180.0, -72.0),
)
_FULLNESS: Table = (
    (-90.0, 2.0),
    (-20.0, 4.0),
    (30.0, 7.0),
    (60.0, 11.0),
    (90.0, 16.0),
    (116.0, 18.0),
)
_LONG_FULL: Table = (
    (-230.0, 4.0),
    (-60.0, 5.0),
    (20.0, 7.0),
    (60.0, 10.0),
    (90.0, 13.0),
    (116.0, 14.0),
)


def _falling(low: float) -> Table:
    """Return the edge of hair that frames the face and falls to a height."""
    return (
        (0.0, 68.0),
        (14.0, 67.0),
        (30.0, 62.0),
        (42.0, 52.0),
        (51.0, 34.0),
        (56.5, 8.0),
        (57.5, -25.0),
        (58.5, 0.5 * low - 18.0),
        (60.0, low + 12.0),
        (64.0, low + 2.0),
        (75.0, low),
        (130.0, low - 4.0),
        (180.0, low - 6.0),
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class _Style:
    """One way to wear hair.

    `edge` and `full` are heights by azimuth and fullness by height; `ramp_mm` is how far behind
    the edge the hair stands at its full height, with a front that is upright (`front` 0.5) or
    gentle (1.5); `lift_mm` makes the front of the top
    fuller and `rise` turns it upwards, `fall` says that hair hangs beside the
    face, `part_mm` is where the parting runs, to the sitter's right.
    """

    edge: Table
    full: Table = _FULLNESS
    ramp_mm: float = 30.0
    front: float = 0.9
    lift_mm: float = 0.0
    rise: float = 1.4
    part_mm: float | None = None
    fall: bool = False
    curls_mm: float = 0.0
    bun: bool = False


_STYLES: dict[HairStyle, _Style] = {
    "short": _Style(edge=_SHORT_EDGE, ramp_mm=44.0, front=1.5, part_mm=34.0, lift_mm=6.0),
    "swept": _Style(edge=_BACK_EDGE, ramp_mm=40.0, front=1.0, lift_mm=8.0, rise=1.0),
    "cropped": _Style(edge=_SHORT_EDGE, full=((-90, 1.5), (0, 3), (60, 5), (116, 6)), ramp_mm=12.0),
    "bob": _Style(
        edge=_falling(-96.0),
        full=_LONG_FULL,
        ramp_mm=16.0,
        front=0.7,
        part_mm=-22.0,
        fall=True,
        rise=0.5,
    ),
    "long": _Style(
        edge=_falling(-222.0),
        full=_LONG_FULL,
        ramp_mm=18.0,
        front=0.7,
        part_mm=8.0,
        fall=True,
        rise=0.5,
    ),
    "bun": _Style(
        edge=_BACK_EDGE,
        full=((-90, 3), (0, 5), (60, 8), (116, 10)),
        ramp_mm=16.0,
        front=1.0,
        bun=True,
    ),
    "curly": _Style(
        edge=_SHORT_EDGE,
        full=((-90, 7), (-20, 15), (40, 23), (80, 32), (116, 36)),
        ramp_mm=15.0,
        front=0.6,
        curls_mm=5.0,
    ),
}


@dataclass(frozen=True, kw_only=True, eq=False)
class _Mass:
    """Points, colors and outward directions of the outer shell, (rows, columns, 3); its edge."""

    points: FloatArray
    colors: FloatArray
    normals: FloatArray
    above: FloatArray


def hair(head: HeadSurface, *, look: Look, fineness: float) -> Mesh | None:
    """Return the hair of a look, head frame [mm], with colors; None for a bald head."""
    style = _STYLES.get(look.hair)
    if style is None:
        return None
    mass, shell = _shell(head, style, look, fineness=fineness)
    parts = [shell, _loose(mass, look, fineness=fineness)]
    if style.bun:
        parts.append(_bun(head, look, fineness=fineness))
    return joined(parts)


def covers_ears(look: Look) -> bool:
    """Return whether the hair falls over the ears."""
    style = _STYLES.get(look.hair)
    return style is not None and style.fall


def _shell(head: HeadSurface, style: _Style, look: Look, *, fineness: float) -> tuple[_Mass, Mesh]:
    rows, columns = int((84 if style.fall else 62) * fineness), int(300 * fineness)
    tall = head.measures.face_height_mm / 118.0
    chance = np.random.default_rng(look.seed)
    around = -_columns(style, columns)
    azimuth = -np.degrees(around)[None, :]
    edge = _edge(style, azimuth[0]) + 0.5 * _waves(azimuth[0], (31, 47, 71), chance)
    share = np.linspace(0.0, 1.0, rows)[:, None] ** 1.25
    up = CROWN_MM - 0.02 - (CROWN_MM - 0.02 - edge[None, :]) * share
    grid = _base(head, style, up * tall, around)
    normal = _normals(grid)
    strand = _strands(azimuth, up, chance)
    away = _from_edge(grid)
    thick = _thickness(style, grid, azimuth=azimuth, up=up, away=away) + 0.7 * strand * smoothstep(
        0.0, 8.0, away
    )
    if style.curls_mm:
        thick = thick + style.curls_mm * _curls(grid, chance) * smoothstep(0.0, 12.0, away)
    rise = style.rise * np.exp(-((azimuth / 45.0) ** 2)) * smoothstep(45.0, 70.0, grid[..., 2])
    rise = rise * smoothstep(-80.0, -30.0, grid[..., 1])
    direction = safe_unit(normal + rise[..., None] * np.array([0.0, -0.3, 1.0]))
    points = grid + direction * thick[..., None]
    mass = _Mass(
        points=points,
        colors=_colors(look, strand, azimuth=azimuth, away=away, chance=chance),
        normals=normal,
        above=away,
    )
    return mass, _lined(mass, grid, style, azimuth)


def _lined(mass: _Mass, grid: FloatArray, style: _Style, azimuth: FloatArray) -> Mesh:
    """Return the shell with its edge turned in, behind a curtain up to the height of the ear."""
    normal = mass.normals[-1]
    inwards = [grid[-1] - 2.0 * normal]
    hang = smoothstep(50.0, 66.0, np.abs(azimuth))[0][:, None] if style.fall else 0.0
    back = mass.points[len(grid) // 4 :][::-1]
    steps = np.linspace(0.06, 0.92, 12)
    for step in steps:
        row = int(step * (len(back) - 1))
        inner = back[row] - mass.normals[len(grid) // 4 :][::-1][row] * 17.0
        inwards.append(hang * inner + (1.0 - hang) * (grid[-1] - 6.0 * normal))
    points = np.concatenate([mass.points, np.stack(inwards)])
    dark = 0.45 * np.broadcast_to(mass.colors[-1], (len(inwards), *mass.colors[-1].shape))
    return sheet(points[:, ::-1], closed=True, colors=np.concatenate([mass.colors, dark])[:, ::-1])


def _columns(style: _Style, count: int) -> FloatArray:
    """Return the azimuths of the columns, denser where the edge is steep. [rad]"""
    fine = np.linspace(-180.0, 180.0, 1441)
    edge = _edge(style, fine)
    slope = np.abs(np.gradient(edge, fine))
    weight = 1.0 + np.minimum(slope, 12.0) * 0.35
    total = np.concatenate([[0.0], np.cumsum(0.5 * (weight[1:] + weight[:-1]))])
    at = (np.arange(count) + 0.5) / count * total[-1]
    return np.asarray(np.deg2rad(np.interp(at, total, fine)))


def _edge(style: _Style, azimuth: FloatArray) -> FloatArray:
    """Return the height of the edge of the hair. [mm]"""
    table = np.array(style.edge)
    fine = np.arange(-12.0, 193.0, 1.0)
    line = np.interp(np.abs(np.where(fine > 180, 360 - fine, fine)), table[:, 0], table[:, 1])
    kernel = np.array([1.0, 3.0, 5.0, 6.0, 5.0, 3.0, 1.0]) / 24.0
    line = np.convolve(line, kernel, "same")
    return np.asarray(np.interp(np.abs(azimuth), fine[6:-6], line[6:-6]))


def _base(head: HeadSurface, style: _Style, z: FloatArray, around: FloatArray) -> FloatArray:
    """Return the surface that the hair lies on: the skull, and a curtain below it. [mm]"""
    shape = z.shape
    wide, front, widest, rear = ring_sections(head, np.maximum(z, -116.0).ravel()).reshape(
        4, *shape
    )
    if style.fall:
        broad = head.measures.head_breadth_mm / 151.0
        deep = head.measures.head_length_mm / 195.0
        hangs = smoothstep(30.0, -14.0, z)
        lowest = min(height for _, height in style.edge)
        swing = 1.5 * np.sin(z / 24.0 + 1.0) - 7.0 * smoothstep(lowest + 34.0, lowest, z)
        curtain_wide = broad * np.interp(
            z, (-225.0, -140.0, -90.0, -10.0), (104.0, 90.0, 79.0, 80.0)
        )
        curtain_rear = deep * np.interp(
            z, (-225.0, -150.0, -90.0, -10.0), (-178.0, -170.0, -160.0, -160.0)
        )
        curtain_front = np.interp(z, (-225.0, -110.0, -20.0), (22.0, 12.0, 14.0))
        wide = wide + (curtain_wide + swing - wide) * hangs
        rear = rear + (curtain_rear - swing - rear) * hangs
        front = front + (curtain_front - front) * hangs
        widest = widest + (-76.0 * deep - widest) * hangs
    sine, cosine = np.sin(around)[None, :], np.cos(around)[None, :]
    ahead = np.maximum(1.0 - np.abs(sine) ** 2.25, 0.0) ** 0.5
    y = np.where(cosine > 0, widest + (front - widest) * ahead, widest - (rear - widest) * cosine)
    return np.stack([-wide * sine, y, z], axis=-1)


def _from_edge(grid: FloatArray) -> FloatArray:
    """Return how far along its column each point lies from the edge, at most. [mm]

    Beside a steep edge the way across counts.
    """
    steps = np.sqrt((np.diff(grid, axis=0) ** 2).sum(axis=-1))
    along = np.concatenate([np.cumsum(steps[::-1], axis=0)[::-1], np.zeros((1, grid.shape[1]))])
    last = grid[-1]
    slope = np.abs(np.gradient(last[:, 2])) / np.maximum(
        np.hypot(np.gradient(last[:, 0]), np.gradient(last[:, 1])), 1e-6
    )
    return np.asarray(along / np.sqrt(1.0 + slope**2))


def _thickness(
    style: _Style, grid: FloatArray, *, azimuth: FloatArray, up: FloatArray, away: FloatArray
) -> FloatArray:
    """Return how far the hair stands out of its base. [mm]"""
    ramp = np.interp(np.abs(azimuth), (30.0, 75.0, 110.0), (style.ramp_mm, 10.0, 13.0))
    front = np.interp(np.abs(azimuth), (40.0, 80.0), (style.front, 0.6))
    risen = np.clip(away / ramp, 0.0, 1.0)
    full = np.interp(up, *np.array(style.full).T)
    facing = np.exp(-((azimuth / 48.0) ** 2)) * smoothstep(55.0, 80.0, grid[..., 2])
    facing = facing * smoothstep(-72.0, -25.0, grid[..., 1])
    full = full + style.lift_mm * facing * (1.0 + 0.35 * np.sin(np.deg2rad(azimuth) * 1.5))
    if style.part_mm is not None:
        across = grid[..., 0] - style.part_mm
        on_top = smoothstep(58.0, 80.0, grid[..., 2]) * smoothstep(-100.0, -50.0, grid[..., 1])
        full = full * (1.0 - 0.5 * np.exp(-((across / 4.0) ** 2)) * on_top)
    return np.asarray((risen * (2.0 - risen)) ** front * full + 0.3)


def _normals(grid: FloatArray) -> FloatArray:
    """Return outward normals of rings, smoothed at the crown."""
    middle = grid.mean(axis=1, keepdims=True)
    down = np.gradient(grid, axis=0)
    across = np.roll(grid, -1, axis=1) - np.roll(grid, 1, axis=1)
    normal = safe_unit(np.cross(down, across))
    normal = normal * np.sign((normal * (grid - middle)).sum(-1, keepdims=True) + 1e-9)
    tip = smoothstep(8.0, 0.0, np.hypot(grid[..., 0], grid[..., 1] - middle[..., 1]))[..., None]
    return safe_unit(normal * (1 - tip) + np.array([0.0, 0.0, 1.0]) * tip)


def _loose(mass: _Mass, look: Look, *, fineness: float) -> Mesh:
    """Return single hairs that lie on the mass, most of them along its edge."""
    chance = np.random.default_rng(look.seed + 7)
    rows, columns = mass.above.shape
    weight = 0.05 + np.exp(-((mass.above / 7.0) ** 2))
    weight[:3] = 0.0
    count = int(1600 * fineness)
    picked = chance.choice(rows * columns, size=count, p=(weight / weight.sum()).ravel())
    row, column = np.divmod(picked, columns)
    long = (0.4 + 0.6 * chance.random(count)) * rows * 0.22
    steps = np.linspace(-1.0, 0.0, 5)[None, :] * long[:, None]
    drift = chance.normal(0.0, 1.8, count)[:, None] * np.linspace(0.0, 1.0, 5) ** 2
    at_row = np.clip(row[:, None] + steps, 0, rows - 1)
    line, normal = (
        _looked_up(table, at_row, column[:, None] + drift) for table in (mass.points, mass.normals)
    )
    lift = (0.1 + 0.45 * chance.random(count))[:, None] * np.array([0.2, 0.9, 1.0, 0.9, 0.4])
    line = line + normal * lift[..., None]
    past = safe_unit(line[:, -1] - line[:, -2]) * chance.uniform(0.0, 3.0, (count, 1))
    line[:, -1] += past - normal[:, -1] * 0.4
    tone = mass.colors.reshape(-1, 3)[picked] * chance.uniform(0.95, 1.6, (count, 1))
    return rods(line, thick=0.2, colors=np.clip(tone, 0.004, 0.9))


def _looked_up(table: FloatArray, row: FloatArray, column: FloatArray) -> FloatArray:
    """Return values of a ring grid between its points."""
    rows, columns = table.shape[:2]
    low = np.clip(np.floor(row).astype(int), 0, rows - 2)
    left = np.floor(column).astype(int)
    down, right = (row - low)[..., None], (column - left)[..., None]
    first, second = left % columns, (left + 1) % columns
    upper = table[low, first] * (1 - right) + table[low, second] * right
    lower = table[low + 1, first] * (1 - right) + table[low + 1, second] * right
    return np.asarray(upper * (1 - down) + lower * down)


def _bun(head: HeadSurface, look: Look, *, fineness: float) -> Mesh:
    deep = head.measures.head_length_mm / 195.0
    chance = np.random.default_rng(look.seed + 2)
    mesh = ball(
        np.array([0.0, -150.0 * deep, 104.0]),
        np.eye(3),
        np.array([30.0, 27.0, 25.0]),
        rows=int(40 * fineness),
        columns=int(90 * fineness),
    )
    twist = np.degrees(np.arctan2(mesh.vertices[:, 0], mesh.vertices[:, 1] + 150.0 * deep))
    wave = _waves(twist + 1.3 * mesh.vertices[:, 2], (9, 17, 31, 47), chance)
    points = mesh.vertices + mesh.normals * (1.1 * wave)[:, None]
    tone = np.array(look.hair_color) * (1.0 + 0.22 * wave)[:, None]
    return smooth(points, mesh.faces, colors=np.clip(tone, 0.004, 0.9))


def _waves(degrees: FloatArray, counts: tuple[int, ...], chance: np.random.Generator) -> FloatArray:
    total = np.zeros(np.shape(degrees))
    for count in counts:
        total += np.cos(np.deg2rad(degrees) * count + chance.uniform(0.0, 2.0 * np.pi))
    return np.asarray(total / np.sqrt(len(counts)))


def _strands(azimuth: FloatArray, up: FloatArray, chance: np.random.Generator) -> FloatArray:
    """Return furrows and ridges along the hair, about -1 to 1."""
    along = azimuth + 0.045 * up + 1.3 * np.sin(up / 23.0 + np.deg2rad(azimuth) * 2.0)
    return 0.6 * _waves(along, (19, 29, 43), chance) + 0.35 * _waves(along, (71, 97), chance)


def _curls(grid: FloatArray, chance: np.random.Generator) -> FloatArray:
    total = np.zeros(grid.shape[:2])
    for size in (17.0, 13.0, 9.0, 7.0):
        for _ in range(3):
            direction = safe_unit(chance.normal(size=3))
            phase = chance.uniform(0.0, 2.0 * np.pi)
            total += np.sin(grid @ direction * (2.0 * np.pi / size) + phase) * (size / 17.0)
    return np.asarray(total / 3.2)


def _colors(
    look: Look,
    strand: FloatArray,
    *,
    azimuth: FloatArray,
    away: FloatArray,
    chance: np.random.Generator,
) -> FloatArray:
    fine = _waves(azimuth, (151, 197, 241), chance)
    bright = np.clip(1.0 + 0.20 * strand + 0.12 * fine, 0.35, 1.7) * (
        1.0 - 0.25 * np.exp(-away / 5.0)
    )
    return np.asarray(np.clip(np.array(look.hair_color) * bright[..., None], 0.004, 0.9))
