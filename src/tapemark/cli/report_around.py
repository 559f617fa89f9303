"""The parts of a report about what is around the face: background, frame, safety."""

import math
from collections.abc import Iterator

from tapemark.analysis import Background, DepthOfField, Glow, Safety
from tapemark.cli.lines import folded, signed
from tapemark.services import CheckReport
from tapemark.units import UnitSystem, format_length

_ALONE_STOPS = 10.0  # over other light: there is as good as none
INFORMS = (
    "informs and never certifies: markings of the gear, local codes and qualified people decide"
)


def background_lines(report: CheckReport) -> Iterator[str]:
    """Yield how the background comes out, what is in the frame and what is sharp."""
    frame, units = report.frame, report.scene.setup.units
    if frame.background is not None:
        yield from _background(frame.background, frame.glows, units)
    person, size = frame.framing.people[0], frame.framing
    distance = format_length(person.distance_m, system=units)
    high = format_length(size.frame_height_m, system=units)
    yield from folded(
        f"{size.crop.capitalize()}: frame {high} high at the sitter, head "
        f"{100 * person.head_share:.0f} % of it, camera {distance} from the eyes",
        indent=2,
    )
    if frame.sharpness is not None:
        yield from folded(_sharp(frame.sharpness, units), indent=2)
    outside = [one for one in frame.clearances if not one.in_frame and math.isfinite(one.gap)]
    if outside:
        nearest = min(outside, key=lambda one: one.gap)
        gap = format_length(nearest.gap_m, system=units)
        yield (
            f"  nearest to the edge of the frame: {nearest.name}, {gap} clear "
            f"({'at the ' if nearest.edge in ('top', 'bottom') else 'on '}{nearest.edge})"
        )


def _background(seen: Background, glows: tuple[Glow, ...], units: UnitSystem) -> Iterator[str]:
    yield from _tones(seen)
    for one in glows:
        wide, high = (format_length(each, system=units) for each in (one.width_m, one.height_m))
        yield from folded(
            f"glow of {one.light} with its gel, {one.gel}: {wide} by {high}, {_over(one)}, "
            f"{one.color} (sRGB {' '.join(str(each) for each in one.srgb)})",
            indent=4,
        )


def _over(glow: Glow) -> str:
    """Return how bright a glow is where it leads most, in words."""
    if glow.stops_over_others >= _ALONE_STOPS:
        return "with no other light"
    return f"{signed(glow.stops_over_others)} stops over other light"


def _tones(seen: Background) -> Iterator[str]:
    tones = (seen.mean, seen.darkest, seen.brightest)
    mean, darkest, brightest = (one.srgb for one in tones)
    levels = f"comes out at sRGB {mean}, {darkest} to {brightest}"
    stops = [one.stops_over_key for one in tones]
    if any(one is None or not math.isfinite(one) for one in stops):
        yield f"  {seen.surface.capitalize()}: {levels}"
        return
    middle, low, high = (signed(one) for one in stops if one is not None)
    yield from folded(
        f"{seen.surface.capitalize()}: light on it {middle} stops against the key, {low} to "
        f"{high} over what is seen of it (incident); {levels}",
        indent=2,
    )


def _sharp(field: DepthOfField, units: UnitSystem) -> str:
    near = format_length(field.focus_m - field.near_m, system=units)
    far = (
        "without end"
        if math.isinf(field.far_m)
        else format_length(field.far_m - field.focus_m, system=units)
    )
    return (
        f"sharp from {near} before the nearer eye to {far} behind it "
        f"(circle of confusion {field.circle_mm:.3f} mm, {field.circle_from})"
    )


def safety_lines(report: CheckReport) -> Iterator[str]:
    """Yield how the stands stand and what the circuits carry."""
    safe, units = report.safety, report.scene.setup.units
    yield from _stands(safe, units)
    for one in safe.circuits:
        if one.power_w > 0 and not one.assumed:
            yield (
                f"  {one.name}: {one.power_w:.0f} W, {one.current_a:.1f} A of "
                f"{one.breaker_a:.0f} A at {one.voltage_v:.0f} V"
            )
    yield f"  {INFORMS}"


def _stands(safe: Safety, units: UnitSystem) -> Iterator[str]:
    for one in safe.stands:
        if one.stand_assumed:
            continue
        yield from folded(
            f"{one.name}: tips at {one.weakest_deg:.0f}°, or at a push of {one.push_n:.0f} N "
            f"at {format_length(one.push_height_m, system=units)}",
            indent=2,
        )
