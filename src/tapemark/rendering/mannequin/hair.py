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

from dataclasses import dataclass, replace

import numpy as np

from tapemark.anatomy import HeadSurface
from tapemark.geometry import FloatArray
from tapemark.rendering.mannequin.ages import age_share
from tapemark.rendering.mannequin.hair_locks import BUN_MM, Cover, curls, hairline, locks, stray
from tapemark.rendering.mannequin.hair_styles import STYLES, Style
from tapemark.rendering.mannequin.head import CROWN_MM, ring_sections, skull_lift
from tapemark.rendering.mannequin.looks import Look
from tapemark.rendering.mannequin.mesh import (
    Mesh,
    ball,
    joined,
    safe_unit,
    sheet,
    smooth,
    smoothstep,
)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Mass:
    """Points, colors and outward directions of the outer shell, (rows, columns, 3); its edge."""

    points: FloatArray
    colors: FloatArray
    normals: FloatArray
    above: FloatArray


def hair(head: HeadSurface, *, look: Look, fineness: float) -> Mesh | None:
    """Return the hair of a look, head frame [mm], with colors; None for a bald head."""
    style = _style_of(look)
    if style is None:
        return None
    mass, shell = _shell(head, style, look, fineness=fineness)
    parts = [shell, *_strands_over(mass, style, look, fineness=fineness)]
    if style.bun:
        parts.append(_bun(head, look, fineness=fineness))
    return joined(parts)


def _strands_over(mass: _Mass, style: Style, look: Look, *, fineness: float) -> list[Mesh]:
    """Return locks or curls over a mass, and single hairs."""
    cover = _cover(mass)
    chance = np.random.default_rng(look.seed + 7)
    color = np.array(look.hair_color)
    drawn = curls if style.curls_mm else locks
    parts = [
        stray(cover, style, color=color, chance=chance, count=int(700 * fineness)),
        hairline(cover, style, color=color, chance=chance, count=int(800 * fineness)),
    ]
    if style.locks:
        count = int(style.locks * fineness**0.5)
        parts.append(drawn(cover, style, color=color, chance=chance, count=count))
    return parts


def cover_of(head: HeadSurface, *, look: Look, fineness: float) -> Cover:
    """Return the outside of the hair of a look, which may not be bald, to look up places on."""
    style = _style_of(look)
    assert style is not None
    return _cover(_shell(head, style, look, fineness=fineness)[0])


def _cover(mass: _Mass) -> Cover:
    return Cover(points=mass.points, normals=mass.normals, away=mass.above)


def _style_of(look: Look) -> Style | None:
    """Return the style of a look; with age short hair recedes at the temples and grows thin."""
    style = STYLES.get(look.hair)
    old = age_share(look.age_years)
    if style is None or not old:
        return style
    thin = tuple((up, full * (1.0 - 0.22 * old)) for up, full in style.full)
    if style.fall or style.bun:
        return replace(style, full=thin)
    recedes = (5.0 + 5.0 * look.build[2]) * old
    edge = tuple(
        (turned, up + recedes * float(np.exp(-(((turned - 31.0) / 14.0) ** 2))))
        for turned, up in style.edge
    )
    return replace(style, full=thin, edge=edge)


def covers_ears(look: Look) -> bool:
    """Return whether the hair falls over the ears."""
    style = STYLES.get(look.hair)
    return style is not None and style.fall


def scalp_share(head: HeadSurface, look: Look, vertices: FloatArray) -> FloatArray:
    """Return how much of the skin at places is hidden by the roots of hair, 0 to 1. [-]"""
    style = _style_of(look) or STYLES["short"]
    x, y, z = vertices.T
    up = z / (head.measures.face_height_mm / 118.0)
    wide, _, widest, _ = ring_sections(head, np.clip(z, -100.0, 200.0))
    turned = np.degrees(np.arcsin(np.clip(np.abs(x) / np.maximum(wide, 1.0), 0.0, 1.0)))
    turned = np.where(y > widest, turned, 180.0 - turned)
    edge = np.maximum(_edge(style, turned), _edge(STYLES["cropped"], turned))
    uneven = 1.6 * np.sin(x / 2.1) + 1.2 * np.sin(x / 0.9 + z / 3.0)
    return smoothstep(-6.0, 3.0, up - edge + uneven)


def _shell(head: HeadSurface, style: Style, look: Look, *, fineness: float) -> tuple[_Mass, Mesh]:
    rows, columns = int((70 if style.fall else 52) * fineness), int(230 * fineness)
    tall = head.measures.face_height_mm / 118.0
    chance = np.random.default_rng(look.seed)
    around = -_columns(style, columns)
    azimuth = -np.degrees(around)[None, :]
    edge = _edge(style, azimuth[0]) + 0.5 * _waves(azimuth[0], (31, 47, 71), chance)
    share = np.linspace(0.0, 1.0, rows)[:, None] ** 1.25
    up = CROWN_MM - 0.02 - (CROWN_MM - 0.02 - edge[None, :]) * share
    grid = _base(head, style, up * tall, around)
    grid[..., 2] += skull_lift(head, up)
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


def _lined(mass: _Mass, grid: FloatArray, style: Style, azimuth: FloatArray) -> Mesh:
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


def _columns(style: Style, count: int) -> FloatArray:
    """Return the azimuths of the columns, denser where the edge is steep. [rad]"""
    fine = np.linspace(-180.0, 180.0, 1441)
    edge = _edge(style, fine)
    slope = np.abs(np.gradient(edge, fine))
    weight = 1.0 + np.minimum(slope, 12.0) * 0.35
    total = np.concatenate([[0.0], np.cumsum(0.5 * (weight[1:] + weight[:-1]))])
    at = (np.arange(count) + 0.5) / count * total[-1]
    return np.asarray(np.deg2rad(np.interp(at, total, fine)))


def _edge(style: Style, azimuth: FloatArray) -> FloatArray:
    """Return the height of the edge of the hair. [mm]"""
    table = np.array(style.edge)
    fine = np.arange(-12.0, 193.0, 1.0)
    line = np.interp(np.abs(np.where(fine > 180, 360 - fine, fine)), table[:, 0], table[:, 1])
    kernel = np.array([1.0, 3.0, 5.0, 6.0, 5.0, 3.0, 1.0]) / 24.0
    line = np.convolve(line, kernel, "same")
    return np.asarray(np.interp(np.abs(azimuth), fine[6:-6], line[6:-6]))


def _base(head: HeadSurface, style: Style, z: FloatArray, around: FloatArray) -> FloatArray:
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
    style: Style, grid: FloatArray, *, azimuth: FloatArray, up: FloatArray, away: FloatArray
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


def _bun(head: HeadSurface, look: Look, *, fineness: float) -> Mesh:
    deep = head.measures.head_length_mm / 195.0
    chance = np.random.default_rng(look.seed + 2)
    mesh = ball(
        BUN_MM * np.array([0.0, deep, 1.0]),
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
    return np.asarray(np.clip(0.72 * np.array(look.hair_color) * bright[..., None], 0.004, 0.9))
