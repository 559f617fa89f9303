"""The figure on bounce: a flash that makes the ceiling the light."""

import numpy as np

from tapemark.analysis import Emitter
from tapemark.analysis.finding import aperture_text, stops_text
from tapemark.drawing.guide.panel import Drag
from tapemark.drawing.guide.room_panels import Way, side_panel
from tapemark.drawing.guide.seen_panels import eyes_panel
from tapemark.geometry import FloatArray
from tapemark.services.guide.figures import Figure, Shown, Values, lens_words, shown
from tapemark.services.guide.stage import LIGHT, stage
from tapemark.studio import Setup
from tapemark.units import UnitSystem, format_length

FLASH_HIGH_M, FLASH_DEG = 1.6, 12.0
WAYS = ("ceiling", "bare", "umbrella")  # in the order of the choice
_BRIGHT = 0.5  # of its brightest place: what counts as the patch


def bounce_figure(values: Values, system: UnitSystem) -> Figure:
    """Return what a flash does by way of the ceiling, or straight to the face."""
    way = WAYS[round(values["aim"])]
    setup = _set(values, system, way=way)
    one = shown(setup, values, system=system)
    patch = _patch(one) if way == "ceiling" else None
    start = np.array(setup.lights[0].place.position_m)
    face = one.seen.scene.pose.origin
    points = [start, face] if patch is None else [start, _middle(patch), face]
    panels = (
        side_panel(
            one.on_set,
            title="From the side",
            ways=(Way(points=np.array(points), kind="past"),),
            patch=None if patch is None else _bright_part(patch),
            drags=(Drag(knob="distance", way="x", per_unit=0.001),),
            grip=start,
        ),
        eyes_panel(one.in_view, title="What the camera sees"),
    )
    lead = _patch_words(patch, system) if patch is not None else _straight_words(one, way=way)
    words = (lead, _price(one, values, way=way), lens_words(one.seen))
    return Figure(panels=panels, words=tuple(own for own in words if own), verdict=one.seen.verdict)


def _set(values: Values, system: UnitSystem, *, way: str) -> Setup:
    return stage(
        system=system,
        distance_m=values["distance"],
        side_deg=FLASH_DEG,
        height_m=FLASH_HIGH_M,
        head="small camera flash 60 Ws",
        modifier="shoot-through umbrella 100 cm" if way == "umbrella" else "bare small flash",
        power="full",
        aim="ceiling" if way == "ceiling" else "face",
    )


def _patch(one: Shown) -> Emitter | None:
    """Return the ceiling as the flash lights it."""
    found = (own for own in one.seen.scene.emitters if own.kind == "ceiling")
    return next((own for own in found if LIGHT in own.fed_by), None)


def _middle(patch: Emitter) -> FloatArray:
    return np.asarray(patch.shining_middle())


def _bright_part(patch: Emitter) -> FloatArray:
    """Return the corners of where a patch is at least half as bright as at its brightest. [m]"""
    rim, lit = patch.face.outline(), patch.lit_map
    if lit is None:
        return rim
    flat = (rim - patch.face.center) @ patch.face.axes
    low, high = flat.min(axis=0), flat.max(axis=0)
    rows, columns = (np.flatnonzero((lit >= _BRIGHT * lit.max()).any(axis=axis)) for axis in (1, 0))
    x = low[0] + (high[0] - low[0]) * np.array([columns[0], columns[-1] + 1]) / lit.shape[1]
    z = low[2] + (high[2] - low[2]) * np.array([rows[0], rows[-1] + 1]) / lit.shape[0]
    corners = np.array([(x[0], 0, z[0]), (x[1], 0, z[0]), (x[1], 0, z[1]), (x[0], 0, z[1])])
    return np.asarray(corners @ patch.face.axes.T + patch.face.center)


def _patch_words(patch: Emitter, system: UnitSystem) -> str:
    part = _bright_part(patch)
    size = part.max(axis=0) - part.min(axis=0)
    across, along = (format_length(float(own), system=system) for own in (size[0], size[1]))
    middle = _middle(patch)
    out = format_length(float(np.hypot(middle[0], middle[1])), system=system)
    return (
        f"The bright patch on the ceiling is about {across} by {along}, with its middle {out} out "
        "from the sitter: that is the light now."
    )


def _straight_words(one: Shown, *, way: str) -> str:
    """Return in a sentence how large the light is when it comes straight."""
    face = next(own for own in one.seen.scene.emitters if own.name == LIGHT).face
    rim = face.outline()
    across = float(np.linalg.norm(rim[:, None] - rim[None], axis=-1).max())
    size = format_length(across, system=one.system)
    if way == "umbrella":
        return f"Through the umbrella the light is {size} across, and hangs before the face."
    return f"Straight to the face the light is the flash itself, {size} across: small and hard."


def _price(one: Shown, values: Values, *, way: str) -> str:
    """Return in a sentence how much light arrives, against the bare flash turned to the face."""
    bare = shown(_set(values, one.system, way="bare"), values, system=one.system)
    direct, here = (own.seen.exposure.exposure_lx_s for own in (bare, one))
    reading = one.seen.exposure.aperture
    if direct <= 0 or here <= 0 or reading is None:
        return ""
    told = f"At full power it leaves {aperture_text(reading)}"
    if way == "bare":
        return f"{told}."
    less = np.log2(direct / here)
    return f"{told}, {stops_text(less)} {'less' if less > 0 else 'more'} than bare and straight."
