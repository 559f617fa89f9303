"""What the lenses would show if an answer were right, by the same code as a check.

An answer names what is there; this also notices what is not: an image that a named light ought to
have elsewhere on the lens, and that nobody read.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tapemark.analysis import (
    CoverMap,
    FaceLight,
    LensView,
    Scene,
    cover_map,
    lattice_for,
    view_lenses,
)
from tapemark.anatomy import eyes, lens_margin
from tapemark.geometry import FloatArray
from tapemark.photo.matching.model import Model
from tapemark.photo.matching.naming import Answer
from tapemark.units import MM

POINTS = 420  # of the lattice inside each lens
COMPARED = 8  # answers
SEAM_MM = 1.6  # along the rim, where nothing is read
SLACK_MM = 0.9  # of every outline: an area along it is not missed
FAINT = 0.08  # of what lies behind: what is fainter does not show
PLAIN_STOPS = -1.0  # over lit skin: what is brighter cannot be overlooked
AREA_OF_A_NAT_MM2 = 30.0  # shown or not, against what is read: so much makes it e times less likely
MOST_NATS = 2.0


def compared(
    model: Model, scene: Scene, light: FaceLight, found: tuple[Answer, ...]
) -> tuple[Answer, ...]:
    """Return answers weighed anew by what the lenses would show, best first.

    Parameters
    ----------
    model : Model
        What was read.
    scene : Scene
        As written.
    light : FaceLight
        On the face, as written.
    found : tuple of Answer
        The likeliest first; those behind the first few are left out.
    """
    if not model.regions:
        return found
    kept = found[:COMPARED]
    weights = np.array(
        [one.log_weight - _nats(missed_mm2(model, scene, light, one.belief.mean)) for one in kept]
    )
    weights -= weights.max() + np.log(np.exp(weights - weights.max()).sum())
    order = np.argsort(-weights)
    return tuple(replace(kept[at], log_weight=float(weights[at])) for at in order)


def missed_mm2(model: Model, scene: Scene, light: FaceLight, fit: FloatArray) -> FloatArray:
    """Return the area on each lens that a fit shows and nobody read, or the other way, (2,) [mm²].

    Borders are given some slack; the opening of the eye does not count.
    """
    view, cover = lenses_shown(model, scene, light, fit)
    lenses = model.lenses_of(fit)
    size = 4.0 * lenses.half_width * lenses.half_height / MM**2
    inside = lens_margin(view.x, view.z[:, None], lens=lenses) / MM
    count = (inside > SEAM_MM) & (np.nan_to_num(view.opening, nan=-1.0) < 0.0)
    count &= view.solid_angle > 0.0
    cell = size * (view.row_height / (2.0 * lenses.half_height)) / len(view.x)
    seen, border = _read(model, view, fit)
    sure, maybe = np.zeros(seen.shape), np.zeros(seen.shape)
    for name, shares in cover.shares.items():
        plain = (cover.stops[name] > PLAIN_STOPS)[..., None, None]
        sure = np.maximum(sure, (shares * plain).max(axis=0))
        maybe = np.maximum(maybe, shares.max(axis=0))
    off = np.maximum(sure - seen, 0.0) + np.maximum(seen - maybe, 0.0)
    away = (off * cell * count).sum(axis=(1, 2))
    return np.asarray(np.maximum(away - SLACK_MM * border, 0.0))


def lenses_shown(
    model: Model, scene: Scene, light: FaceLight, fit: FloatArray
) -> tuple[LensView, CoverMap]:
    """Return the lenses of a fit as the camera sees them, and what shows there clearly."""
    pose, lenses = model.unknowns.pose(fit), model.lenses_of(fit)
    sitter = model.unknowns.sitter(fit).model_copy(update={"glasses": model.unknowns.glasses})
    looks_at = scene.camera if sitter.gaze == "camera" else None
    moved = {
        one.emitter.name: replace(one.emitter.face, center=there.center, axes=there.axes)
        for number, one in enumerate(model.shining)
        if one.emitter.kind == "light"
        for there in (model.shining_at(fit, number),)
    }
    fitted = replace(
        scene,
        sitter=sitter,
        pose=pose,
        eyes=eyes(sitter, pose=pose, looks_at=looks_at),
        lenses=lenses,
        emitters=tuple(
            replace(one, face=moved[one.name]) if one.kind == "light" and one.name in moved else one
            for one in scene.emitters
        ),
    )
    columns, rows = lattice_for(lenses, points=POINTS)
    view = view_lenses(fitted, lenses, columns=columns, rows=rows)
    cover = cover_map(fitted, view, light=light, threshold_contrast=FAINT, sub_rays=2)
    return view, cover


def _nats(missed: FloatArray) -> float:
    return float(np.minimum(missed / AREA_OF_A_NAT_MM2, MOST_NATS).sum())


def _read(model: Model, view: LensView, fit: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return which lattice points were read as reflecting, and the length of all borders [mm]."""
    pixels = model.camera_of(fit).pixels(view.points)
    seen = np.zeros(view.solid_angle.shape)
    border = np.zeros(len(seen))
    for one in model.regions:
        seen[one.lens] = np.maximum(seen[one.lens], _within(pixels[one.lens], one.points))
        steps = np.hypot(*(one.points - np.roll(one.points, 1, axis=0)).T)
        border[one.lens] += float(steps.sum()) / model.landmarks.px_per_mm
    return seen, border


def _within(at: FloatArray, outline: FloatArray) -> FloatArray:
    """Return which points (..., 2) lie within a closed outline (n, 2), 1 or 0."""
    x, y = at[..., None, 0], at[..., None, 1]
    ends = np.roll(outline, -1, axis=0)
    above, below = outline[:, 1] > y, ends[:, 1] > y
    rise = np.where(ends[:, 1] == outline[:, 1], 1e-9, ends[:, 1] - outline[:, 1])
    crossing = outline[:, 0] + (y - outline[:, 1]) * (ends[:, 0] - outline[:, 0]) / rise
    return np.asarray(((above != below) & (x < crossing)).sum(axis=-1) % 2, dtype=float)
