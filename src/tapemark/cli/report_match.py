"""Whose light a photo shows, as text."""

from tapemark.cli.lines import folded
from tapemark.photo.matching.result import (
    UNKNOWN,
    Estimate,
    NamedReflection,
    ShotMatch,
    WearerMatch,
)
from tapemark.units import UnitSystem, format_length, format_side, number_text

_SURE = 0.995
_DOUBT = 0.05


def match_text(match: ShotMatch) -> str:
    """Return what a photo says about its setup as lines for the terminal."""
    lines = [f"Against the setup {match.setup.title or 'without a title'}"]
    for note in match.notes:
        lines += folded(note, indent=2)
    many = len(match.wearers) > 1
    for one in match.wearers:
        lines += _wearer_lines(one, many=many, system=match.setup.units)
    return "\n".join(lines)


def _wearer_lines(one: WearerMatch, *, many: bool, system: UnitSystem) -> list[str]:
    lines = [f"  {one.person}, person {one.number} from camera-left"] if many else []
    for named in one.reflections:
        lines += folded(_named(named, system=system), indent=2)
    if not one.reflections:
        lines.append("  no reflection to name")
    lines += _fitted_lines(one, system=system)
    for note in one.notes:
        lines += folded(note, indent=2)
    for found in one.contradictions:
        text = f"{found.text}: {found.shown_text} instead of {found.written_text}"
        lines += folded(f"SETUP    {text}", indent=2)
    if one.corrected_setup is not None:
        lines += folded("--corrected FILE writes the setup put right", indent=11)
    if one.move is not None:
        lead = "MOVE    " if one.move.clean else "LEAST BAD MOVE"
        lines += folded(f"{lead} {one.move.text}", indent=2)
        lines += [line for text in one.move.losses for line in folded(f"cost: {text}", indent=11)]
        lines += folded("One change at a time, then a test shot.", indent=11)
    return lines


def _named(named: NamedReflection, *, system: UnitSystem) -> str:
    lens = f"{named.side} lens, reflection {named.index + 1}:"
    if named.light == UNKNOWN:
        return f"{lens} none of the setup's lights{_doubt(named)}{_where(named, system=system)}"
    surface = "both surfaces" if named.both_surfaces else f"the {named.surface} surface"
    also = f", with {' and '.join(named.also)}" if named.also else ""
    return f"{lens} {named.light} in {surface}{also}{_doubt(named)}"


def _doubt(named: NamedReflection) -> str:
    if named.probability > _SURE:
        return ""
    text = f", {100 * named.probability:.0f} % sure"
    other = named.runner_up
    if not other or named.runner_up_probability < _DOUBT:
        return text
    what = "something else" if other == UNKNOWN else other
    return f"{text} (else {what}, {100 * named.runner_up_probability:.0f} %)"


def _where(named: NamedReflection, *, system: UnitSystem) -> str:
    """Return where something unknown is to be looked for."""
    if named.side_deg is None or named.height_m is None or named.distance_m is None:
        return ""
    away = format_length(named.distance_m, system=system)
    side = format_side(round(named.side_deg))
    up = format_length(abs(named.height_m), system=system)
    if named.height_m < 0.0:
        return f"; look towards {side}, at the floor"
    return f"; look towards {side}: at {away} from the sitter it would be {up} up"


def _fitted_lines(one: WearerMatch, *, system: UnitSystem) -> list[str]:
    pose = one.pose
    height = format_length(pose.height_m.value, system=system)
    parts = [
        f"turned {_degrees(pose.yaw_deg, 'camera-left', 'camera-right')}",
        f"chin {_degrees(pose.pitch_deg, 'up', 'down')}",
        f"tipped {_degrees(pose.roll_deg, 'camera-left', 'camera-right')}",
        f"eyes {height} up",
    ]
    lines = list(folded(f"head     {', '.join(parts)}", indent=2))
    if one.glasses is not None:
        own = one.glasses
        tilt, base = own.pantoscopic_tilt_deg, own.base_curve_d
        text = f"tilt {_number(tilt, 'deg')}, base curve {_number(base, 'D')}"
        lines += folded(f"glasses  {text}", indent=2)
    for lens in one.lens_estimates:
        radius = lens.front_radius_mm
        text = (
            f"{lens.side} lens measured by {lens.light}: front radius "
            f"{radius.value:.0f} ± {radius.spread:.0f} mm, base curve "
            f"{_number(lens.base_curve_d, 'D')}"
        )
        lines += folded(text, indent=11)
    return lines


def _degrees(one: Estimate, positive: str, negative: str) -> str:
    size = number_text(round(abs(one.value)))
    way = positive if one.value > 0 else negative
    return f"{size}° {way} ± {one.spread:.0f}°" if size != "0" else f"0° ± {one.spread:.0f}°"


def _number(one: Estimate, unit: str) -> str:
    mark = "°" if unit == "deg" else f" {unit}"
    return f"{one.value:.1f} ± {one.spread:.1f}{mark}"
