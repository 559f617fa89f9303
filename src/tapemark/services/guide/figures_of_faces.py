"""Figures on the face: broad and short light, and the light in the eyes."""

from itertools import pairwise

import numpy as np

from tapemark.analysis import Catchlight, clock_text, modelling
from tapemark.drawing.guide.panel import Drag
from tapemark.drawing.guide.room_panels import Stretch, above_panel, side_panel
from tapemark.drawing.guide.seen_panels import eye_panels, head_panel
from tapemark.geometry import FloatArray
from tapemark.planning import MapSheet, sightline_map
from tapemark.services.guide.figures import Figure, Shown, Values, lens_words, shown
from tapemark.services.guide.stage import LIGHT, stage
from tapemark.services.guide.topics import SIZES
from tapemark.units import UnitSystem

BROAD_M, BROAD_DEG, BROAD_HIGH_M = 1.5, 40.0, 1.62
CATCH_M = 1.6
_MOST_DEG = 88.0
_GRIP_M = 0.62
_MOST_TIMES = 32.0  # five stops: more is black in any picture


def broad_figure(values: Values, system: UnitSystem) -> Figure:
    """Return how a turned face is lit, and where the light is closed to it."""
    setup = stage(
        system=system,
        distance_m=BROAD_M,
        side_deg=BROAD_DEG,
        height_m=BROAD_HIGH_M,
        turn_deg=values["turn"],
    )
    one = shown(setup, values, system=system)
    found = sightline_map(setup, LIGHT)
    panels = (
        above_panel(
            one.on_set,
            title="From above: the ring is where the light could stand at its height",
            stretches=stretches(found.heights, BROAD_HIGH_M),
            distance_m=BROAD_M,
            drags=(Drag(knob="turn", way="around"),),
            grip=_in_front_of_the_face(values["turn"]),
        ),
        head_panel(one.in_view, title="What the camera sees"),
    )
    return Figure(
        panels=panels,
        words=(_broad_words(one), lens_words(one.seen)),
        verdict=one.seen.verdict,
    )


def _in_front_of_the_face(turn_deg: float) -> FloatArray:
    """Return where a turned face is taken hold of. [m]"""
    turn = np.deg2rad(turn_deg)
    return _GRIP_M * np.array([np.sin(turn), np.cos(turn), 0.0])


def stretches(sheet: MapSheet, height_m: float) -> tuple[Stretch, ...]:
    """Return closed and open sides at one height, from camera-right to camera-left."""
    rows = sheet.rows
    row = int(np.argmin(np.abs(rows.height_m - height_m)))
    within = np.abs(rows.side_deg) <= _MOST_DEG
    sides, closed = rows.side_deg[within], sheet.closed[row][within]
    step = float(sides[1] - sides[0])
    cuts = [0, *(np.flatnonzero(closed[1:] != closed[:-1]) + 1).tolist(), len(closed)]
    return tuple(
        Stretch(
            from_deg=float(sides[first]) - step / 2,
            to_deg=float(sides[last - 1]) + step / 2,
            kind="closed" if closed[first] else "open",
        )
        for first, last in pairwise(cuts)
    )


def _broad_words(one: Shown) -> str:
    """Return in words how the face is modelled."""
    found = modelling(one.seen.scene, light=one.seen.light)
    lead = {
        "broad": "Broad: the light falls on the side of the face that is turned to the camera.",
        "short": "Short: the light falls on the side of the face that is turned from the camera.",
        "neither": "Neither: the face looks at the camera, or at the light.",
    }[found.face_side]
    told = [lead]
    if found.pattern == "flat":
        told.append("The light is flat: no shadow models the face.")
    elif found.pattern != "none":
        told.append(f"The shadows make a {found.pattern} pattern.")
    ratio = found.highlight_to_shadow
    if ratio is not None and ratio < _MOST_TIMES:
        told.append(
            f"The brighter cheek gets {ratio:.1f} times the light of the darker"
            f" ({np.log2(ratio):.1f} stops)."
        )
    else:
        told.append("The darker cheek gets next to no light.")
    return " ".join(told)


def catch_figure(values: Values, system: UnitSystem) -> Figure:
    """Return the light in both eyes, beside what the lenses show."""
    setup = stage(
        system=system,
        distance_m=CATCH_M,
        side_deg=values["side"],
        height_m=values["height"],
        modifier=SIZES[round(values["size"])],
    )
    one = shown(setup, values, system=system)
    panels = (
        side_panel(
            one.on_set,
            title="From the side",
            drags=(Drag(knob="height", way="y", per_unit=-0.001),),
            grip=np.array(setup.lights[0].place.position_m),
        ),
        *eye_panels(one.in_view, titles=("The sitter's right eye", "The sitter's left eye")),
    )
    words = [_eye_words(one.seen.catchlights, side) for side in ("right", "left")]
    return Figure(
        panels=panels,
        words=(" ".join(words), lens_words(one.seen)),
        verdict=one.seen.verdict,
    )


def _eye_words(found: tuple[Catchlight, ...], side: str) -> str:
    """Return in a sentence whether an eye has its light, and where."""
    own = [one for one in found if one.side == side and one.source == LIGHT]
    lit = next((one for one in own if one.visible), None)
    if lit is not None:
        size = max(lit.width_mm, lit.height_mm)
        return (
            f"The {side} eye has its catchlight at {clock_text(lit.clock)} on the clock, "
            f"{size:.1f} mm across."
        )
    why = own[0].hidden_by if own else ""
    told = {
        "lid": "the lid hides it",
        "head": "brow or nose hide it",
        "rim": "the rim hides it",
        "too faint": "it is too faint to see",
    }.get(why, "it falls off the iris")
    return f"The {side} eye has no catchlight: {told}."
