"""The sitter in the camera's view for the screen: outlines, features, and the key's shadows."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from tapemark.analysis import FaceLight, Scene
from tapemark.analysis.face_points import SkinPlaces, face_scale, skin_at
from tapemark.analysis.key_light import KeyLight
from tapemark.analysis.light_at_places import seen_share
from tapemark.analysis.source_patches import ROUGH_PAIRS
from tapemark.anatomy import HeadPose, HeadSurface, body_pose
from tapemark.drawing.brush import smooth_curve
from tapemark.drawing.bust import bust
from tapemark.drawing.set_screen.svg import SetSheet, convex, fewer
from tapemark.drawing.set_screen.things import ARMS, SHINS, THIGHS, ellipsoid
from tapemark.drawing.trace import contour_lines
from tapemark.geometry import FloatArray, to_local, to_world
from tapemark.studio import FaceMeasures
from tapemark.units import MM

if TYPE_CHECKING:
    from tapemark.drawing.set_screen.view import Page

_TOLERANCE = 12.0  # of outlines, in units of the drawing
#: Lattice of places on the skin on the reference head. [mm]
_ACROSS_MM = tuple(range(-56, 57, 14))
_UP_MM = tuple(range(-98, 71, 14))
#: Brightness against the brightest skin below which a place is in shade, and in deep shade.
_SHADES = ((0.42, "shade"), (0.2, "shade deep"))
_ROOM_SHARE = 0.06  # light from everywhere (assumption)
_TURNED = 0.12  # of the face from the camera, from which on the nose has a line [-]
# Places on the face (x outward, z up) on the reference head. [mm]
_BROW = ((13.5, 14.0), (24.0, 19.8), (36.0, 21.4), (52.0, 14.6))
_NOSTRIL = ((3.6, -46.4), (8.0, -45.4), (13.0, -46.0), (17.5, -43.0), (17.5, -38.0))
_MOUTH = ((-26.0, -62.9), (-15.0, -66.5), (0.0, -66.4), (15.0, -66.5), (26.0, -62.9))
_LOWER_LIP = ((-12.0, -74.0), (0.0, -75.6), (12.0, -74.0))
_NOSE = ((0.0, 3.0), (0.0, -14.0), (0.0, -28.0), (0.0, -38.0), (0.0, -47.0))


@dataclass(frozen=True, kw_only=True, eq=False)
class _Parts:
    """Points of a bust: of the head in its frame, of the rest in the body's. [m]"""

    face: FloatArray
    hair: FloatArray
    ears: tuple[FloatArray, FloatArray]
    neck: FloatArray
    clothes: FloatArray
    clothes_shape: tuple[int, int]


def draw_bust(sheet: SetSheet, scene: Scene, page: "Page") -> None:
    """Draw clothes, neck, hair, ears and face as plain outlines."""
    sitter = scene.sitter
    parts = _parts(sitter.face, sitter.posture, sitter.eye_height_m, sitter.seat_height_m)
    body = body_pose(scene.pose)
    clothes, neck = _split(page, (parts.clothes, parts.neck), body)
    hair, right, left, face = _split(page, (parts.hair, *parts.ears, parts.face), scene.pose)
    sheet.blob([_envelope(clothes.reshape(*parts.clothes_shape, 2))], "cloth")
    _limbs(sheet, scene, page)
    sheet.area([convex(neck, directions=16)], "neck")
    sheet.blob([convex(hair, directions=24)], "hair")
    for ear in (right, left):
        sheet.blob([convex(ear, directions=12)], "ear")
    sheet.blob([convex(face, directions=24)], "skin", id=f"{skin_id(scene)}-edge")
    sheet.clip(f"{skin_id(scene)}-edge", skin_id(scene))


def _limbs(sheet: SetSheet, scene: Scene, page: "Page") -> None:
    """Draw legs and arms where the frame reaches down to them."""
    body, limbs = scene.body, (*THIGHS, *SHINS, *ARMS)
    rings = [page(np.concatenate([ellipsoid(body, row)[::2] for row in rows])) for rows in limbs]
    left, top, wide, high = page.frame
    ends = (left, left + wide, top + high)
    if any(
        (ring[:, 1] < ends[2]).any() and ring[:, 0].min() < ends[1] and ring[:, 0].max() > ends[0]
        for ring in rings[:4]
    ):
        for ring in rings:
            sheet.blob([convex(ring[np.isfinite(ring).all(axis=1)], directions=12)], "cloth")


def draw_features(sheet: SetSheet, scene: Scene, page: "Page") -> None:
    """Draw brows, nose and mouth."""
    brows, rest, nose = _features(scene.head)
    right, left = _split(page, brows, scene.pose)
    sheet.lines([right, left], "line brow")
    towards = scene.camera - scene.pose.origin
    turned = float(towards @ scene.pose.axes[:, 0]) / float(np.sqrt(towards @ towards))
    shown = (*rest, nose) if abs(turned) > _TURNED else rest
    sheet.lines(_split(page, shown, scene.pose), "line")


def _split(page: "Page", parts: Sequence[FloatArray], pose: HeadPose) -> list[FloatArray]:
    """Return where parts are drawn, their points given in a frame, all looked at together."""
    drawn = page(_placed(np.concatenate(parts), pose))
    ends = np.cumsum([len(one) for one in parts])[:-1]
    return list(np.split(drawn, ends))


@lru_cache(maxsize=32)
def _features(
    head: HeadSurface,
) -> tuple[tuple[FloatArray, ...], tuple[FloatArray, ...], FloatArray]:
    """Return brows, then nostrils and mouth, then the nose's ridge, head frame. [m]"""
    brows = tuple(_on_face(_BROW, head, outward) for outward in (1.0, -1.0))
    nostrils = tuple(_on_face(_NOSTRIL, head, outward) for outward in (1.0, -1.0))
    mouth = tuple(_on_face(one, head, 1.0) for one in (_MOUTH, _LOWER_LIP))
    return brows, (*nostrils, *mouth), _on_face(_NOSE, head, 1.0)


def draw_shade(
    sheet: SetSheet, scene: Scene, page: "Page", *, light: FaceLight, key: KeyLight | None
) -> None:
    """Draw what the key leaves in shade, with the head's own shadow; others throw none here."""
    bright = None if key is None else _brightness(scene, light, key)
    if bright is None:
        return
    skin = _skin(scene.head).in_world(scene.pose)
    shape = (len(_UP_MM), len(_ACROSS_MM))
    flat = _widened(page(skin.points).reshape(*shape, 2))
    with sheet.group("shadows", **{"clip-path": f"url(#{skin_id(scene)})"}):
        for edge, name in _SHADES:
            dark = np.pad(edge - bright.reshape(shape), 1, mode="edge")
            dark = np.pad(dark, 1, constant_values=-0.02)
            rings = [_at(flat, run) for run in contour_lines(dark, 0.0) if len(run) > 3]
            sheet.blob([fewer(ring, tolerance=_TOLERANCE) for ring in rings], name)


def skin_id(scene: Scene) -> str:
    """Return the name of the clip along a person's face."""
    number = next(k for k, one in enumerate(scene.setup.people) if one is scene.sitter)
    return f"set-face-{number}"


def _widened(flat: FloatArray) -> FloatArray:
    """Return places of a lattice with two more rings around, pushed past the face's edge."""
    for _ in range(2):
        middle = flat.mean(axis=(0, 1))
        flat = np.pad(flat, ((1, 1), (1, 1), (0, 0)), mode="edge")
        rim = np.ones(flat.shape[:2], dtype=bool)
        rim[1:-1, 1:-1] = False
        flat[rim] = middle + 1.12 * (flat[rim] - middle)
    return flat


def _brightness(scene: Scene, light: FaceLight, key: KeyLight) -> FloatArray | None:
    """Return the light on each place of the lattice, the brightest near 1; None in the dark."""
    skin = _skin(scene.head).in_world(scene.pose)
    total = np.zeros(len(skin.points))
    for emitter, free in zip(scene.emitters, light.free_shares, strict=True):
        forward = float((emitter.face.center - scene.pose.origin) @ scene.pose.axes[:, 1])
        if free <= 0.0 or (forward < 0.0 and emitter.name != key.name):
            continue
        amount = emitter.exposure_at(skin.points, normal=skin.normals) * free
        if emitter.name == key.name:
            lit = np.flatnonzero(amount > 0.0)
            amount[lit] *= seen_share(
                scene,
                emitter,
                places=skin.points[lit],
                normals=skin.normals[lit],
                pairs=ROUGH_PAIRS,
            )
        total += amount
    most = float(np.percentile(total, 95.0))
    if most <= 0.0:
        return None
    return np.asarray(total / most * (1.0 - _ROOM_SHARE) + _ROOM_SHARE)


@lru_cache(maxsize=32)
def _skin(head: HeadSurface) -> SkinPlaces:
    """Return the lattice on the skin, head frame; places beside the head are drawn in."""
    wide, tall = face_scale(head)
    across, up = (np.array(one) * MM for one in (_ACROSS_MM, _UP_MM))
    x, z = np.meshgrid(across * wide, up * tall)
    for _ in range(12):  # towards the middle, until all lie on the head
        beside = ~np.isfinite(head.front_depth(x * 1.03, z))
        x = np.where(beside, 0.94 * x, x)
    return skin_at(head, x.ravel(), z.ravel())


@lru_cache(maxsize=32)
def _parts(face: FaceMeasures, posture: str, eye_height_m: float, seat_height_m: float) -> _Parts:
    """Return the points of a bust, thinned out; they do not depend on how the head is held."""
    from tapemark.anatomy import head_pose, head_surface
    from tapemark.studio import Sitter

    sitter = Sitter(
        face=face,
        posture="seated" if posture == "seated" else "standing",
        eye_height_m=eye_height_m,
        seat_height_m=seat_height_m,
    )
    pose = head_pose(sitter)
    made = bust(_Held(head=head_surface(face), pose=pose, sitter=sitter))  # type: ignore[arg-type]

    def own(grid: FloatArray, step: int) -> FloatArray:
        return to_local(grid[::step, ::step], origin=pose.origin, axes=pose.axes)

    skin = own(made.face, 3).reshape(-1, 3)
    clothes = own(made.clothes, 4)
    low = skin[:, 2] < (64.0 - 20.0 * (np.abs(skin[:, 0]) / 0.06) ** 2) * MM * face_scale_up(face)
    return _Parts(
        face=skin[low & np.isfinite(skin).all(axis=1)],
        hair=_finite(own(made.hair, 4)),
        ears=(_finite(own(made.ears[0], 2)), _finite(own(made.ears[1], 2))),
        neck=_finite(own(made.neck, 3)),
        clothes=clothes.reshape(-1, 3),
        clothes_shape=(clothes.shape[0], clothes.shape[1]),
    )


def face_scale_up(face: FaceMeasures) -> float:
    """Return how much taller a face is than the reference. [-]"""
    from tapemark.anatomy import head_surface

    return face_scale(head_surface(face))[1]


@dataclass(frozen=True, kw_only=True, eq=False)
class _Held:
    """The little of a scene that a bust is made from."""

    head: HeadSurface
    pose: HeadPose
    sitter: object


def _placed(points: FloatArray, pose: HeadPose) -> FloatArray:
    return to_world(points, origin=pose.origin, axes=pose.axes)


def _finite(grid: FloatArray) -> FloatArray:
    points = grid.reshape(-1, 3)
    return np.asarray(points[np.isfinite(points).all(axis=1)])


def _envelope(grid: FloatArray) -> FloatArray:
    """Return the outline of rows of points (rows, columns, 2): farthest to either side of each."""
    low = grid[np.arange(len(grid)), np.argmin(grid[..., 0], axis=1)]
    high = grid[np.arange(len(grid)), np.argmax(grid[..., 0], axis=1)]
    return fewer(np.concatenate([low, high[::-1]]), tolerance=_TOLERANCE)


def _on_face(
    knots: tuple[tuple[float, float], ...], head: HeadSurface, outward: float
) -> FloatArray:
    """Return a line on the face, head frame. [m]"""
    wide, tall = face_scale(head)
    flat = smooth_curve(knots, count=7) * MM * (outward * wide, tall)
    depth = head.front_depth(flat[:, 0], flat[:, 1]) + 0.5 * MM
    return np.stack([flat[:, 0], depth, flat[:, 1]], axis=-1)


def _at(flat: FloatArray, run: FloatArray) -> FloatArray:
    """Return where fractional places (column, row) of a lattice are drawn."""
    rows, columns = flat.shape[:2]
    column = np.clip(run[:, 0], 0.0, columns - 1.0)
    row = np.clip(run[:, 1], 0.0, rows - 1.0)
    c, r = np.minimum(column.astype(int), columns - 2), np.minimum(row.astype(int), rows - 2)
    across, up = (column - c)[:, None], (row - r)[:, None]
    low = flat[r, c] * (1 - across) + flat[r, c + 1] * across
    high = flat[r + 1, c] * (1 - across) + flat[r + 1, c + 1] * across
    return np.asarray(low * (1 - up) + high * up)
