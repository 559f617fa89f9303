"""A setup as a page that an assistant rigs from, alone and without asking: plain data."""

from dataclasses import dataclass

from tapemark.analysis import Exposure, Finding, StandBalance, Verdict, aperture_text
from tapemark.analysis.finding import Severity
from tapemark.planning.rigging.lines import RigLine, rig_lines
from tapemark.planning.rigging.packing import PackingItem, packing_items
from tapemark.planning.rigging.steps import build_steps, shutter_text, test_steps
from tapemark.planning.rigging.tapes import Tapes, format_tape, tapes_of
from tapemark.studio import Setup
from tapemark.units import format_length

#: What the page says beside every caution.
SAFETY_DEFERS = (
    "Cautions inform and never certify: markings of the gear, local codes and qualified people "
    "decide."
)
READING_NOTE = "alone, dome at the face, to the camera"
LEAST_APERTURE = 0.5  # what meters less has no reading worth a number [-]


@dataclass(frozen=True, kw_only=True, slots=True)
class EyeLine:
    """What the glasses of one person show.

    Attributes
    ----------
    name : str
        Who.
    verdict : str
        The worse of both lenses; empty without glasses.
    """

    name: str
    verdict: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Caution:
    """Something the check warns of.

    Attributes
    ----------
    severity : str
        ``trouble`` or ``caution``.
    safety : bool
        Whether somebody could be hurt.
    text, what_to_do : str
        What it is, and the next thing to try.
    sitter : str
        Whom it is about; empty for the setup as a whole.
    """

    severity: Severity
    safety: bool
    text: str
    what_to_do: str
    sitter: str = ""

    @property
    def in_short(self) -> str:
        """What it is up to the first colon or semicolon, with the name of whom it is about."""
        lead = f"{self.sitter}: " if self.sitter and self.text.startswith(self.sitter) else ""
        rest = self.text[len(lead) :]
        ends = [rest.index(mark) for mark in (": ", "; ") if mark in rest]
        return lead + (rest[: min(ends)] + "." if ends else rest)


@dataclass(frozen=True, kw_only=True, eq=False)
class RigSheet:
    """Everything the page says.

    Attributes
    ----------
    title : str
        Of the setup.
    setup : Setup
        What is built.
    camera : str
        Lens, aperture, shutter time, ISO speed.
    tapes : Tapes
        The reference points, and where everything is from them.
    base : str
        From one reference point to the other, as read off the tape.
    lines : tuple of RigLine
        Everything on the floor: reference points, people, camera, lights, panels, screens.
    backdrop : str
        Where it hangs; empty without one.
    together : str
        What all lights meter together; empty in the dark.
    reading_note : str
        How the readings are taken.
    people : tuple of EyeLine
        Everybody, and what their glasses show.
    packing : tuple of PackingItem
        What goes into the cases.
    build, test : tuple of str
        Order of work.
    cautions : tuple of Caution
        From the check, the worst first; of one rank, what is about safety before the rest.
    defers : str
        Who decides about safety.
    """

    title: str
    setup: Setup
    camera: str
    tapes: Tapes
    base: str
    lines: tuple[RigLine, ...]
    backdrop: str
    together: str
    reading_note: str
    people: tuple[EyeLine, ...]
    packing: tuple[PackingItem, ...]
    build: tuple[str, ...]
    test: tuple[str, ...]
    cautions: tuple[Caution, ...]
    defers: str


def rig_sheet(
    setup: Setup,
    *,
    reading: Exposure,
    verdicts: tuple[Verdict, ...],
    stands: tuple[StandBalance, ...],
    findings: tuple[Finding, ...],
) -> RigSheet:
    """Return what the page about a checked setup says.

    Parameters
    ----------
    setup : Setup
        What is built.
    reading : Exposure
        At the sitter's face.
    verdicts : tuple of str
        The worse of both lenses of each person, in the setup's order.
    stands : tuple of StandBalance
        How each light stands.
    findings : tuple of Finding
        What the check found.
    """
    tapes = tapes_of(setup)
    readings = _readings(setup, reading)
    dials = {one.name: one.dial or "full" for one in reading.lights}
    together = "" if reading.aperture is None else aperture_text(reading.aperture)
    return RigSheet(
        title=setup.title or setup.sitter.name or "Untitled setup",
        setup=setup,
        camera=_camera_text(setup),
        tapes=tapes,
        base=format_tape(tapes.base_m, system=setup.units),
        lines=rig_lines(setup, tapes, dials=dials, readings=readings, stands=stands),
        backdrop=_backdrop_text(setup),
        together=together,
        reading_note=READING_NOTE,
        people=_people(setup, verdicts),
        packing=packing_items(setup, stands=stands),
        build=build_steps(setup, tapes=tapes, stands=stands),
        test=test_steps(setup, readings=readings, together=together),
        cautions=(*_outside(setup, tapes), *_cautions(findings)),
        defers=SAFETY_DEFERS,
    )


def _camera_text(setup: Setup) -> str:
    camera = setup.camera
    return (
        f"{round(camera.focal_length_mm, 1):g} mm, {camera.orientation}, f/{camera.aperture:g}, "
        f"{shutter_text(camera.shutter_s)}, ISO {camera.iso}"
    )


def _readings(setup: Setup, reading: Exposure) -> dict[str, str]:
    """Return what each light meters alone, by name; those that do not reach the face left out."""
    lit = {light.name for light in setup.lights if light.on}
    found = {}
    for one in reading.lights:
        if one.name in lit and one.aperture is not None and one.aperture >= LEAST_APERTURE:
            lux = "" if one.illuminance_lx is None else f", {one.illuminance_lx:.0f} lx"
            found[one.name] = f"{aperture_text(one.aperture)}{lux}"
    return found


def _people(setup: Setup, verdicts: tuple[Verdict, ...]) -> tuple[EyeLine, ...]:
    found = []
    for number, (one, verdict) in enumerate(zip(setup.people, verdicts, strict=True), 1):
        glasses = "" if one.glasses is None else str(verdict)
        found.append(EyeLine(name=one.name or f"person {number}", verdict=glasses))
    return tuple(found)


def _backdrop_text(setup: Setup) -> str:
    if setup.backdrop is None:
        return ""
    away = format_length(setup.backdrop.distance_m, system=setup.units)
    width = format_length(setup.backdrop.width_m, system=setup.units)
    return f"backdrop {away} behind the sitter mark, square to the line to the camera, {width} wide"


def _outside(setup: Setup, tapes: Tapes) -> tuple[Caution, ...]:
    """Return what is taped where there is no floor of this room."""
    room = setup.room
    return tuple(
        Caution(
            severity="trouble",
            safety=True,
            text=f"The mark of {one.name} lies outside the room.",
            what_to_do="Move it, or say where its column stands, with base in its stand.",
        )
        for one in tapes.things
        if not (room.x_min_m <= one.x_m <= room.x_max_m and room.y_min_m <= one.y_m <= room.y_max_m)
    )


def _cautions(findings: tuple[Finding, ...]) -> tuple[Caution, ...]:
    rank = {"trouble": 0, "caution": 1}
    told = [one for one in findings if one.severity in rank]
    told.sort(key=lambda one: (rank[one.severity], one.topic != "safety"))
    return tuple(
        Caution(
            severity=one.severity,
            safety=one.topic == "safety",
            text=one.text,
            what_to_do=one.what_to_do,
            sitter=one.sitter,
        )
        for one in told
    )
