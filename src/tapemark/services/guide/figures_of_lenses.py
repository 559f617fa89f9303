"""Figures on what lenses mirror: one ray, a whole lens, and the places of a light."""

from collections.abc import Iterator

import numpy as np

from tapemark.analysis import light_face
from tapemark.analysis.lens_section import LensSection, lens_section, mirrored_spread
from tapemark.drawing.guide.panel import Drag, Panel
from tapemark.drawing.guide.places_panel import places_panel
from tapemark.drawing.guide.room_panels import Way, side_panel
from tapemark.drawing.guide.section_panel import section_panel
from tapemark.drawing.guide.seen_panels import eyes_panel
from tapemark.geometry import FloatArray
from tapemark.planning import MapSheet, SightlineMap, open_heights, sightline_map
from tapemark.planning.sightlines.map_words import state_text
from tapemark.services.guide.figures import Figure, Shown, Values, lens_words, shown
from tapemark.services.guide.stage import LIGHT, stage
from tapemark.studio import Setup
from tapemark.units import UnitSystem, format_length, format_side

ANGLE_M, ANGLE_DEG = 1.85, 9.0  # beside the line to the camera, just out of the picture
CURVE_M, CURVE_DEG, CURVE_HIGH_M = 1.6, 25.0, 1.6
PLACE_M = 1.6
FAN = 25  # rays over a lens
_INTO_M = 0.02  # a ray that passes so near goes into the camera


def angle_figure(values: Values, system: UnitSystem) -> Figure:
    """Return how one light's ray meets the lens, and where it goes."""
    setup = stage(
        system=system,
        distance_m=ANGLE_M,
        side_deg=ANGLE_DEG,
        height_m=values["height"],
        modifier="small softbox 40x40 cm",
    )
    one = shown(setup, values, system=system)
    emitter = next(own for own in one.seen.scene.emitters if own.name == LIGHT)
    section = lens_section(one.seen.scene, emitter, index=1)
    assert section is not None
    kind = one.state
    way = Way(points=np.array([section.start, section.lens, section.end]), kind=kind)
    angles = tuple(f"{one:.0f}°" for one in (section.angle_in_deg, section.angle_out_deg))
    panels = (
        side_panel(
            one.on_set,
            title="From the side: from the light over the lens",
            ways=(way,),
            drags=(Drag(knob="height", way="y", per_unit=-0.001),),
            grip=np.array(setup.lights[0].place.position_m),
        ),
        section_panel(
            section,
            title="Where it meets the lens, enlarged",
            kind=kind,
            words=(f"{angles[0]} in", f"{angles[1]} out"),
        ),
    )
    words = (
        f"The middle of the light meets the left lens {angles[0]} off the line square to the "
        f"glass and leaves {angles[1]} off it. {_goes(section, one)}",
        lens_words(one.seen),
    )
    return Figure(panels=panels, words=words, verdict=one.seen.verdict)


def _goes(section: LensSection, one: Shown) -> str:
    """Return in a sentence where the ray from the light's middle goes."""
    if section.misses_m < _INTO_M:
        if one.seen.verdict == "clear":
            return "It goes into the camera, but as a spot too small to matter."
        return "It goes straight into the camera."
    size = format_length(section.misses_m, system=one.system)
    way = (
        "over"
        if section.over_m > 0.7 * section.misses_m
        else ("under" if section.over_m < -0.7 * section.misses_m else "beside")
    )
    text = f"It passes {size} {way} the camera"
    if one.seen.verdict == "clear":
        return f"{text}."
    return f"{text}, but another part of the light goes in."


def curve_figure(values: Values, system: UnitSystem) -> Figure:
    """Return which part of the room a lens of some base curve mirrors."""
    setup = stage(
        system=system,
        distance_m=CURVE_M,
        side_deg=CURVE_DEG,
        height_m=CURVE_HIGH_M,
        base_curve_d=values["curve"],
    )
    one = shown(setup, values, system=system)
    spread = mirrored_spread(one.seen.scene, count=FAN)
    assert spread is not None
    found = sightline_map(setup, LIGHT)
    panels = (
        side_panel(
            one.on_set,
            title="From the side: what the middle of the lens mirrors to the camera",
            spread=_fan(spread.points, spread.directions, setup),
        ),
        _places(
            found, one, title="Places at the light's distance, from behind the camera", drags=False
        ),
    )
    words = (
        f"From its lower to its upper rim this lens mirrors a fan of "
        f"{spread.opening_deg:.0f}° to the camera. {_share_closed(found.heights)}",
        lens_words(one.seen),
    )
    return Figure(panels=panels, words=words, verdict=one.seen.verdict)


def _fan(points: FloatArray, directions: FloatArray, setup: Setup) -> FloatArray:
    """Return the outline of what rays sweep within the room, world. [m]"""
    room = setup.room
    low, high = (room.x_min_m, room.y_min_m, 0.0), (room.x_max_m, room.y_max_m, room.height_m)
    with np.errstate(divide="ignore"):
        ends = np.where(directions > 0, np.array(high) - points, np.array(low) - points)
        reach = np.min(ends / directions, axis=-1)
    return np.concatenate([points, (points + reach[:, None] * directions)[::-1]])


def _share_closed(sheet: MapSheet) -> str:
    """Return in a sentence how many of the places within reach are closed."""
    reached = ~sheet.limits.any()
    if not reached.any():
        return "No place is within reach."
    share = float(sheet.closed[reached].mean())
    return (
        f"Of all places at this distance that a stand can reach, {100 * share:.0f} % are closed "
        "to this light."
    )


def place_figure(values: Values, system: UnitSystem) -> Figure:
    """Return open and closed places of a light, and what the camera sees of it where it is."""
    side, high = values["side"], values["height"]
    setup = stage(system=system, distance_m=PLACE_M, side_deg=side, height_m=high)
    one = shown(setup, values, system=system)
    found = sightline_map(setup, LIGHT)
    panels = (
        _places(found, one, title="Places for the light, from behind the camera"),
        eyes_panel(one.in_view, title="What the camera sees with the light there"),
    )
    words = (
        lens_words(one.seen),
        f"This place is {state_text(found.now)}.",
        *_ways_out(found, one),
    )
    return Figure(panels=panels, words=words, verdict=one.seen.verdict)


def _places(found: SightlineMap, one: Shown, *, title: str, drags: bool = True) -> Panel:
    light = found.light
    rim = light_face(light, one.setup).outline()
    side = np.rad2deg(np.arctan2(rim[:, 0], rim[:, 1]))
    return places_panel(
        found.heights,
        title=title,
        light=np.stack([side, rim[:, 2]], axis=-1),
        camera_m=one.setup.camera.place.height_m,
        ceiling_m=one.setup.room.height_m,
        system=one.system,
        state=one.state,
        drags=drags,
    )


def _ways_out(found: SightlineMap, one: Shown) -> Iterator[str]:
    """Yield, for a closed place, from where on the light is open: upwards, and to its side."""
    if found.now.verdict == "clear":
        return
    side, high = one.values["side"], one.values["height"]
    told = []
    here = open_heights(found.heights, (side,))
    above = [low for low, top in here[0].stretches if top > high] if here else []
    if above and min(above) > high:
        told.append(f"At this side it opens from {format_length(min(above), system=one.system)} up")
    turned = opens_from_deg(found.heights, high, side)
    if turned is not None and abs(turned) > abs(side):
        lead = "at" if told else "At"
        told.append(f"{lead} this height from {format_side(turned)} on")
    if told:
        yield f"{'; '.join(told)}."
    else:
        yield "Neither straight above nor farther round is there an open place within reach."


def opens_from_deg(sheet: MapSheet, height_m: float, side_deg: float) -> float | None:
    """Return how far to its own side a light at some height is closed, and open from there on.

    None where it is open already, or closed as far as the sheet goes. [deg]
    """
    rows = sheet.rows
    row = int(np.argmin(np.abs(rows.height_m - height_m)))
    sign = 1.0 if side_deg >= 0 else -1.0
    order = np.argsort(sign * rows.side_deg)
    turns = sign * rows.side_deg[order]
    closed = sheet.closed[row][order]
    outwards = turns >= abs(side_deg) - 1e-6
    shut = np.flatnonzero(closed & outwards)
    if not shut.size or shut[-1] + 1 >= len(turns):
        return None
    return float(sign * turns[shut[-1] + 1])
