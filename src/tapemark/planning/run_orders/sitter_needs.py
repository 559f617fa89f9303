"""What each sitter of a day needs: heights that follow the eyes, and lenses that stay clear.

Everything that looks at the sitter keeps its place relative to the eyes.  Where the glasses
then show a light, that light goes up or out by the least that clears them.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, floor, hypot, log2

from tapemark.analysis import Verdict
from tapemark.planning.moves.lens_clearing import Known, Way, clear_lenses
from tapemark.planning.run_orders.appointments import Appointment
from tapemark.planning.run_orders.controls import Control, setup_for
from tapemark.studio import Glasses, Setup, Sitter, changed
from tapemark.units import INCH

#: Eyes this near to a mark are served from it: nobody re-sets a camera for less. [m]
SAME_MARK_M = 0.02
#: What a hand can set. [m]
METRIC_STEP_M, US_STEP_M = 0.01, INCH
LEAST_POWER_STOPS = 0.1  # smaller differences of light are left

Busy = Callable[[int], bool]


@dataclass(frozen=True, kw_only=True)
class SitterNeeds:
    """How everything is set for one sitter.

    Attributes
    ----------
    sitter : Sitter
        The person, posed.
    eye_height_guessed : bool
        Whether their eye height follows from body height or the mean of adults.
    settings : tuple of float
        In the order of the controls.
    verdict : str or None
        What their lenses show then; None where nobody looked.
    shown : tuple of str
        What still shows in the lenses.
    notes : tuple of str
        What could not be set as it should.
    """

    sitter: Sitter
    eye_height_guessed: bool
    settings: tuple[float, ...]
    verdict: Verdict | None
    shown: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def needs_of(
    setup: Setup,
    appointments: Sequence[Appointment],
    *,
    controls: tuple[Control, ...],
    busy: Busy | None = None,
) -> tuple[SitterNeeds, ...]:
    """Return what each sitter needs, in the order of the list.

    Parameters
    ----------
    setup : Setup
        With one person in it, for whom it is right.
    appointments : sequence of Appointment
        Who comes.
    controls : tuple of Control
        What can be set.
    busy : callable, optional
        Told how many sitters are done; says whether to stop looking into lenses.

    Notes
    -----
    Seated or standing alone decides nothing here: eye heights do. What cleared a kind of glasses
    at one eye height is tried first at the next, and searched anew only where it fails there.
    """
    sitters = [sitter_of(one, like=setup.sitter) for one in appointments]
    marks = eye_marks_m([one.eye_height_m for one in sitters], setup=setup)
    known: dict[Glasses, Known] = {}
    judged: dict[tuple[object, ...], tuple[Way, Verdict, tuple[str, ...]]] = {}
    found: list[SitterNeeds] = []
    stopped = False
    for index, (sitter, mark_m) in enumerate(zip(sitters, marks, strict=True)):
        stopped = stopped or (busy is not None and busy(index))
        seated = sitter.posture == "seated"
        level = _Level(setup=setup, controls=controls, mark_m=mark_m, seated=seated)
        key = (sitter.glasses, sitter.eye_height_m, mark_m, sitter.posture)
        if sitter.glasses is None or stopped:
            answer: tuple[Way, Verdict | None, tuple[str, ...]]
            answer = ({}, "clear" if sitter.glasses is None else None, ())
        else:
            if key not in judged:
                like = known.setdefault(sitter.glasses, Known())
                judged[key] = _cleared(level, sitter, known=like)
            answer = judged[key]
        way, verdict, shown = answer
        found.append(
            SitterNeeds(
                sitter=sitter,
                eye_height_guessed=appointments[index].eye_height_m is None,
                settings=level.settings(way),
                verdict=verdict,
                shown=shown,
                notes=level.notes(),
            )
        )
    return tuple(found)


def sitter_of(appointment: Appointment, *, like: Sitter) -> Sitter:
    """Return somebody on the list, posed and turned as the setup's sitter is."""
    kept = ("seat_height_m", "turn_deg", "chin_deg", "tip_deg", "gaze", "skin_reflectance")
    values = {name: getattr(like, name) for name in kept if name in like.model_fields_set}
    values |= {
        "name": appointment.name,
        "posture": appointment.posture or like.posture,
        "body_height_m": appointment.body_height_m,
        "eye_height_m": appointment.eye_height_m,
        "glasses": appointment.glasses,
    }
    return changed(Sitter(), values)


def eye_marks_m(eyes_m: Sequence[float], *, setup: Setup) -> tuple[float, ...]:
    """Return the height mark that serves each pair of eyes, as few marks as do. [m]

    Notes
    -----
    Eyes near those of the setup's own sitter are served as it stands. The others are gathered
    from below into bands twice `SAME_MARK_M` high, each served from its middle.
    """
    own_m = setup.sitter.eye_height_m
    marks = {eye: own_m for eye in eyes_m if abs(eye - own_m) <= SAME_MARK_M + 1e-9}
    rest = sorted({eye for eye in eyes_m if eye not in marks})
    while rest:
        band = [eye for eye in rest if eye <= rest[0] + 2 * SAME_MARK_M + 1e-9]
        middle_m = (band[0] + band[-1]) / 2
        marks |= dict.fromkeys(band, own_m + _to_step(middle_m - own_m, setup=setup))
        rest = rest[len(band) :]
    return tuple(marks[eye] for eye in eyes_m)


def height_step_m(setup: Setup) -> float:
    """Return the step in which heights are set: whole centimetres, or whole inches. [m]"""
    return METRIC_STEP_M if setup.units == "metric" else US_STEP_M


def _to_step(length_m: float, *, setup: Setup) -> float:
    step_m = height_step_m(setup)
    return step_m * floor(length_m / step_m + 0.5)


@dataclass(frozen=True, kw_only=True)
class _Level:
    """The settings for eyes at one mark, and what limits them."""

    setup: Setup
    controls: tuple[Control, ...]
    mark_m: float
    seated: bool

    @property
    def up_m(self) -> float:
        """How far everything goes up."""
        return self.mark_m - self.setup.sitter.eye_height_m

    def settings(self, way: Way) -> tuple[float, ...]:
        """Return the settings with some lights raised [m] and swung out [deg] beyond that."""
        values = {(one.kind, one.name): self._plain(one, way) for one in self.controls}
        for light in self.setup.lights:
            if ("power", light.name) in values:
                height_m = values["height", light.name]
                values["power", light.name] += self._more_power(light.name, height_m)
        return tuple(values[one.kind, one.name] for one in self.controls)

    def _plain(self, control: Control, way: Way) -> float:
        raised_m, swung_deg = way.get(control.name, (0.0, 0.0))
        if control.kind == "stool":
            return float(self.seated)
        if control.kind in ("camera", "height", "panel"):
            extra_m = raised_m if control.kind == "height" else 0.0
            return self._within(control, control.start + self.up_m + extra_m)
        if control.kind == "side":
            outwards = 1.0 if control.start >= 0 else -1.0
            return control.start + outwards * swung_deg
        return control.start

    def _within(self, control: Control, wanted: float) -> float:
        """Return a height inside its limits, a whole number of steps from where it started."""
        if control.low <= wanted <= control.high:
            return wanted
        limit = min(max(wanted, control.low), control.high)
        step_m = height_step_m(self.setup)
        steps = (limit - control.start) / step_m
        inside = floor(steps + 1e-9) if wanted > limit else ceil(steps - 1e-9)
        return control.start + inside * step_m

    def _more_power(self, name: str, height_m: float) -> float:
        """Return by how much the power makes up for the way to the eyes. [stops]"""
        light = next(one for one in self.setup.lights if one.name == name)
        flat_m, eyes_m = light.place.distance_m, self.setup.sitter.eye_height_m
        before = hypot(flat_m, light.place.height_m - eyes_m)
        stops = 2 * log2(hypot(flat_m, height_m - self.mark_m) / before)
        step = light.head.power_step_stops
        steps = floor(stops / step + 0.5)
        least = min(light.head.lowest_power_stops, light.power_stops)
        more = min(max(steps * step, least - light.power_stops), -light.power_stops)
        return more if abs(more) >= LEAST_POWER_STOPS - 1e-9 else 0.0

    def notes(self) -> tuple[str, ...]:
        """Return what does not follow the eyes, and why."""
        stuck: dict[str, list[str]] = {}
        for one in self.controls:
            wanted = one.start + self.up_m
            if one.kind not in ("camera", "height", "panel"):
                continue
            if wanted > one.high + 1e-9:
                stuck.setdefault(f"up: {one.limit} is in the way", []).append(one.name)
            elif wanted < one.low - 1e-9:
                stuck.setdefault("down: the floor is in the way", []).append(one.name)
        return tuple(
            f"{_listed(names)} cannot follow the eyes {why}" for why, names in stuck.items()
        )


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _cleared(
    level: _Level, sitter: Sitter, *, known: Known
) -> tuple[Way, Verdict, tuple[str, ...]]:
    """Return which lights go up or out for somebody's glasses, and what shows then."""

    def set_for(way: Way) -> Setup:
        return setup_for(level.setup, sitter, level.settings(way), controls=level.controls)

    movable = {one.name for one in level.controls if one.kind == "height"}
    way, seen = clear_lenses(set_for, movable=movable, known=known)
    if seen.verdict == "clear":
        return way, "clear", ()
    shown = {
        part.source: None
        for lens in seen.people[0].lenses
        if lens.verdict != "clear"
        for part in lens.reflections
    }
    return way, seen.verdict, tuple(shown)
