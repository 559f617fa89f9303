"""The parts of a report about the light on the face: exposure, colour, modelling."""

import math
from collections.abc import Iterator

from tapemark.analysis import Exposure, EyeShade, FaceReading, LightColor, LightReading, Modelling
from tapemark.analysis.color_findings import deep_share_text
from tapemark.cli.lines import folded, signed, stop_number
from tapemark.services import CheckReport, PersonReport

LEAST_APERTURE = 0.5  # a thing without power that meters less is not told
WELL_KNOWN_STOPS = 0.35  # readings known better than this are not called an estimate
LEAST_SHADE = 0.05  # share of the light: an eye that loses less is not told
_SEEN_OFF_MIRED = 5.0  # light nearer to the white balance than this looks neutral
_LEAST_DEEP = 0.02  # share of the light: a deep colour that gives less is not told


def exposure_lines(report: CheckReport) -> Iterator[str]:
    """Yield what each light meters, what all meter together, and the colour of it."""
    reading, camera = report.exposure, report.scene.setup.camera
    sure = max(reading.spread.high_stops, -reading.spread.low_stops) < WELL_KNOWN_STOPS
    known = reading.spread.text() if sure else f"estimate, {reading.spread.text()}"
    yield f"  At the face, dome to camera, ISO {camera.iso} ({known})"
    for one in reading.lights:
        if one.power_stops is None and (one.aperture or 0.0) < LEAST_APERTURE:
            continue  # a backdrop, a flag: nothing to set and nothing to read
        yield f"    {one.name:<20} {stop_number(one.aperture):<11} {_power(one)}".rstrip()
    yield from _together(report)
    yield from _steady(reading)
    yield from _color(report.color)


def _together(report: CheckReport) -> Iterator[str]:
    camera, several = report.scene.setup.camera, len(report.people) > 1
    for person in report.people:
        reading = person.exposure
        if reading.aperture is None or reading.stops_over is None:
            continue
        name = f"together, {person.scene.sitter.name}" if several else "together"
        against = f"{signed(reading.stops_over)} stops against f/{camera.aperture:g}"
        yield f"    {name:<20} {stop_number(reading.aperture):<11} {against}"
    reading = report.exposure
    if reading.aperture_with_room is not None and reading.room.exposure_lx_s > 0:
        more = _from_the_room(reading)
        yield f"    {'with the room':<20} {stop_number(reading.aperture_with_room):<11} {more}"


def _from_the_room(reading: Exposure) -> str:
    """Return by how much the room's own light raises a reading; alone where no light does."""
    if reading.exposure_lx_s <= 0:
        return "an estimate, all of it thrown back by the room"
    share = reading.room.exposure_lx_s / reading.exposure_lx_s
    return f"{signed(math.log2(1 + share))} stops, an estimate, not counted above"


def _steady(reading: Exposure) -> Iterator[str]:
    if reading.ambient.stops_under_flash is None:
        return
    under = reading.ambient.stops_under_flash
    yield (
        f"    steady light {abs(under):.1f} stops {'under' if under >= 0 else 'over'} the flash, "
        f"{reading.ambient.illuminance_lx:.0f} lx with the dome"
    )


def _power(one: LightReading) -> str:
    if one.power_stops is None:
        return "" if one.illuminance_lx is None else f"{one.illuminance_lx:.0f} lx flat to it"
    flat = "" if one.flat_aperture is None else f"flat {stop_number(one.flat_aperture)}"
    amount = "" if one.illuminance_lx is None else f", {one.illuminance_lx:.0f} lx flat to it"
    if one.known_by == "off":
        return f"{one.dial or '':<12}off"
    return f"{one.dial or '':<12}{flat:<17}{one.known_by} {one.spread.brief()}{amount}"


def _color(color: LightColor) -> Iterator[str]:
    """Yield which deep colours reach the face, and its light's colour where it is off."""
    for one in color.sources:
        if one.glow is not None and max(one.face_share, one.shadow_share) >= _LEAST_DEEP:
            yield from folded(deep_share_text(one), indent=4)
    face = color.face
    if face is None or abs(face.mired_from_white) < _SEEN_OFF_MIRED:
        return
    way = "warmer" if face.mired_from_white > 0 else "cooler"
    off = f"{abs(face.mired_from_white):.0f} mired {way} than the white balance"
    yield f"    colour at the face {50 * round(face.color_k / 50):.0f} K, {off}"


def modelling_lines(report: CheckReport) -> Iterator[str]:
    """Yield the pattern, the ratio, the shadows and the readings on each face."""
    for person in report.people:
        if len(report.people) > 1:
            yield f"  {person.scene.sitter.name}"
        yield from _modelling(person)


def _modelling(person: PersonReport) -> Iterator[str]:
    model = person.modelling
    if model.key is None:
        return
    side = "" if model.face_side == "neither" else f", {model.face_side} lighting"
    name = "No pattern" if model.pattern == "none" else model.pattern.capitalize()
    yield from folded(f"{name}{side}: {model.because}", indent=2)
    yield from folded(_ratio(model), indent=4)
    yield from folded(_readings(model), indent=4)
    yield from folded(_nose(model), indent=4)
    shades = [_shade(one) for one in model.eyes if _loss(one) >= LEAST_SHADE]
    yield from folded("; ".join(shades), indent=4)


def _ratio(model: Modelling) -> str:
    """Return the lighting ratio in the convention that fits, or that nothing fills."""
    told, ratio = model.told, model.ratio
    if told is not None and told.fill and ratio is not None:
        return (
            f"lighting ratio {told.text} as {told.convention}, "
            f"{ratio.key_to_fill:.1f}:1 as key : fill; {model.key} "
            f"{signed(ratio.key_over_fill_stops)} stops against the rest"
        )
    if told is not None:
        return f"lighting ratio {told.text} as {told.convention}; no fill"
    return "no lighting ratio: one cheek gets next to nothing"


def _readings(model: Modelling) -> str:
    parts = [
        ("right cheek", model.right_cheek),
        ("left cheek", model.left_cheek),
        ("forehead", model.forehead),
    ]
    told = ", ".join(f"{name} {_from_key(one)}" for name, one in parts)
    return f"{told} stops from the reading of {model.key}"


def _from_key(one: FaceReading) -> str:
    return "dark" if one.stops_from_key is None else signed(one.stops_from_key)


def _nose(model: Modelling) -> str:
    nose = model.nose
    if nose is None:
        return ""
    aside = abs(nose.falls_deg)
    way = "straight down" if aside < 5.0 else f"{aside:.0f}° from straight down towards "
    if aside >= 5.0:
        way += "camera-left" if nose.falls_deg > 0 else "camera-right"
    length = (
        "into the shadow of the cheek" if nose.length_mm is None else f"{nose.length_mm:.0f} mm"
    )
    edge = "" if nose.edge_mm is None else f", its edge {nose.edge_mm:.0f} mm soft"
    return f"shadow of the nose {length}, {way}{edge}"


def _loss(one: EyeShade) -> float:
    return one.head_share + one.rim_share


def _shade(one: EyeShade) -> str:
    parts = [("brow and nose", one.head_share), ("the rim", one.rim_share)]
    told = " and ".join(f"{100 * share:.0f} % to {name}" for name, share in parts if share >= 0.01)
    return f"{one.side} eye loses {told}"
