"""A move as a photographer says it to an assistant."""

from typing import TYPE_CHECKING

from tapemark.planning.moves.single import SingleMove
from tapemark.studio import Place, Setup, Sitter
from tapemark.units import (
    INCH,
    UnitSystem,
    dialled_power,
    format_length,
    format_mark,
    format_side,
    number_text,
)

if TYPE_CHECKING:
    from tapemark.planning.judge import Judged

_QUARTERS = {0: "", 1: " 1/4", 2: " 1/2", 3: " 3/4"}


def amount_text(amount: float, *, unit: str, system: UnitSystem) -> str:
    """Return the amount of a move: ``18 cm``, ``7 1/4 in``, ``12.5°``.

    Examples
    --------
    >>> amount_text(0.18, unit="m", system="metric")
    '18 cm'
    >>> amount_text(0.18415, unit="m", system="us")
    '7 1/4 in'
    """
    if unit == "deg":
        return f"{number_text(round(amount, 1))}\N{DEGREE SIGN}"
    if unit == "once":
        return ""
    if system == "metric":
        return f"{amount * 100:.0f} cm" if amount < 1 else f"{amount:.2f} m"
    whole, quarters = divmod(round(4 * amount / INCH), 4)
    part = f"{whole or ''}{_QUARTERS[quarters]}".strip()
    return f"{part} in"


def move_text(move: SingleMove, steps: int, *, before: Setup, after: Setup) -> str:
    """Return a move in words, with where the thing then is.

    Parameters
    ----------
    move : SingleMove
        What is moved.
    steps : int
        How many steps.
    before, after : Setup
        The setup without and with it.
    """
    system = before.units
    by = amount_text(move.amount(steps), unit=move.unit, system=system)
    if move.what == "light":
        return _light_text(move, by, before=before, after=after)
    if move.what == "camera":
        return _camera_text(move, by, before=before, after=after)
    who = whose(before, before.people[move.person])
    person = after.people[move.person]
    if move.family == "head":
        return f"turn {who}'s head {by} to {move.toward}, so that it points {_turn(person)}"
    if move.family == "body":
        return (
            f"turn {who} {by} to {move.toward}, body, head and eyes together, "
            f"so that the nose points {_turn(person)}"
        )
    where = {"camera": "towards the camera", "away": "towards the background"}
    stool = f"{who}'s stool" if person.posture == "seated" else f"{who}'s mark"
    return f"shift {stool} {by} {where.get(move.toward, f'to {move.toward}')}"


def whose(setup: Setup, person: Sitter) -> str:
    """Return what a person is called in a sentence: by name only where there are several."""
    return person.name.partition(",")[0] if len(setup.people) > 1 else "the sitter"


def also_found(judged: "Judged") -> tuple[str, ...]:
    """Return what a check finds to fail the frame besides the lenses, one sentence each."""
    lenses = ("lens-veiled", "lens-edge")
    return tuple(
        one.text for one in judged.findings if one.severity == "trouble" and one.code not in lenses
    )


def place_text(place: Place, *, system: UnitSystem) -> str:
    """Return a place as a tape mark: ``1.50 m out, 38° camera-left, 2.10 m up``."""
    out, up = (format_length(one, system=system) for one in (place.distance_m, place.height_m))
    return f"{out} out, {format_side(place.side_deg)}, {up} up"


def power_text(change_stops: float, power_stops: float, *, step_stops: float) -> str:
    """Return how the power of a moved light follows: ``turn it up 0.3 stops, to 1/4``."""
    if change_stops == 0.0:
        return ""
    way = "up" if change_stops > 0 else "down"
    size = f"{abs(change_stops):.1f}"
    word = "stop" if size == "1.0" else "stops"
    return f"turn it {way} {size} {word}, to {dialled_power(power_stops, step_stops=step_stops)}"


def _light_text(move: SingleMove, by: str, *, before: Setup, after: Setup) -> str:
    old, new = (
        next(one for one in setup.lights if one.name == move.name) for setup in (before, after)
    )
    name, place = move.name, new.place
    height, out = (
        format_mark(one, system=before.units) for one in (place.height_m, place.distance_m)
    )
    if move.family == "height":
        return f"{'raise' if move.toward == 'up' else 'lower'} {name} {by}, to {height}"
    if move.family == "swing":
        farther = old.place.side_deg * move.sign >= 0 and abs(place.side_deg) <= 180
        more = "farther " if farther and abs(old.place.side_deg) > 0.25 else ""
        return f"swing {name} {by} {more}to {move.toward}, to {_side(place)}"
    if move.family == "back":
        return f"pull {name} back {by}, to {out} from the sitter at the same height"
    if move.family == "bounce":
        return f"aim {name} at the ceiling"
    way = {"up": "upwards", "down": "downwards"}.get(move.toward, f"to {move.toward}")
    return f"turn {name} {by} {way} in its place, so that the face gets its edge"


def _camera_text(move: SingleMove, by: str, *, before: Setup, after: Setup) -> str:
    place, system = after.camera.place, before.units
    if move.family == "height":
        way = "raise" if move.toward == "up" else "lower"
        height = format_mark(place.height_m, system=system)
        return f"{way} the camera {by}, to {height}, aimed where it was"
    if move.family == "swing":
        return f"swing the camera {by} to {move.toward} around the sitter, to {_side(place)}"
    out = format_mark(place.distance_m, system=system)
    return (
        f"take the camera back {by}, to {out}, and set {after.camera.focal_length_mm:.0f} mm "
        f"instead of {before.camera.focal_length_mm:.0f} mm"
    )


def _turn(person: Sitter) -> str:
    if abs(person.turn_deg) < 0.25:
        return "at the camera mark"
    side = "camera-left" if person.turn_deg > 0 else "camera-right"
    return f"{number_text(round(abs(person.turn_deg), 1))}\N{DEGREE SIGN} {side}"


def _side(place: Place) -> str:
    size = number_text(round(abs(place.side_deg), 1))
    if size in ("0", "180"):
        return "straight in front" if size == "0" else "straight behind"
    return f"{size}\N{DEGREE SIGN} {'camera-left' if place.side_deg > 0 else 'camera-right'}"
