"""The lines of the table on a rig sheet: where each thing stands and how it is set."""

from dataclasses import dataclass, replace

from tapemark.analysis import Rig, StandBalance, rigs
from tapemark.planning.plans.marks import marks_of
from tapemark.planning.rigging.packing import head_text, modifier_text, stand_text
from tapemark.planning.rigging.steps import ballast_text
from tapemark.planning.rigging.tapes import Tapes, ThingKind, format_tape
from tapemark.studio import Panel, Screen, Setup
from tapemark.units import format_length, format_side

FLAG_BELOW = 0.1  # a panel that gives back less takes light away [-]


@dataclass(frozen=True, kw_only=True, slots=True)
class RigLine:
    """One thing on the floor, as it is set.

    Attributes
    ----------
    number : int
        As at its cross on the plan; 0 for a reference point.
    name : str
        What the photographer calls it.
    kind : str
        ``sitter``, ``person``, ``camera``, ``light``, ``panel`` or ``screen``.
    first, second : str
        Tapes from the two reference points, as read off; empty for a point itself.
    side : str
        On which side of the line between them.
    point : str
        Which point of it the tapes lead to.
    height : str
        Of the middle of the lit face, of the lens or of the eyes.
    stand_height : str
        At which the head hangs on its stand; empty for what is no light.
    gear : str
        Modifier on head, lens, or size.
    power : str
        As dialled; ``off``; empty for what has none.
    aim : str
        What it points at.
    reading : str
        What the meter shows of it alone; empty where it does not reach the face.
    stand : str
        What carries it and what holds that down.
    """

    number: int = 0
    name: str
    kind: ThingKind
    first: str = ""
    second: str = ""
    side: str = ""
    point: str = ""
    height: str = ""
    stand_height: str = ""
    gear: str = ""
    power: str = ""
    aim: str = ""
    reading: str = ""
    stand: str = ""


def rig_lines(
    setup: Setup,
    tapes: Tapes,
    *,
    dials: dict[str, str],
    readings: dict[str, str],
    stands: tuple[StandBalance, ...],
) -> tuple[RigLine, ...]:
    """Return one line for each thing on the floor: people, camera, lights, panels, screens.

    Parameters
    ----------
    setup : Setup
        What is built.
    tapes : Tapes
        Where everything is.
    dials, readings : dict of str to str
        Power as dialled and what the meter shows of each light, by name.
    stands : tuple of StandBalance
        How each light stands.
    """
    aims = [one.aim for one in marks_of(setup, what={})]
    people, lights = len(setup.people), len(setup.lights)
    build = _Lines(
        setup=setup,
        rigs={one.name: one for one in rigs(setup)},
        stands={one.name: one for one in stands},
        dials=dials,
        readings=readings,
    )
    lines = [build.person(number) for number in range(people)]
    lines.append(build.camera(aims[people]))
    lines += [
        build.light(number, aim)
        for number, aim in enumerate(aims[people + 1 : people + 1 + lights])
    ]
    lines += [
        build.panel(panel, aim)
        for panel, aim in zip(setup.panels, aims[people + 1 + lights :], strict=True)
    ]
    lines += [build.screen(screen) for screen in setup.screens]
    return _taped(lines, tapes, setup)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Lines:
    """What lines are made from."""

    setup: Setup
    rigs: dict[str, Rig]
    stands: dict[str, StandBalance]
    dials: dict[str, str]
    readings: dict[str, str]

    def person(self, number: int) -> RigLine:
        one = self.setup.people[number]
        turn = f"face {format_side(one.turn_deg)}" if one.turn_deg else "face to the camera"
        return RigLine(
            name=one.name or ("sitter" if number == 0 else f"person {number + 1}"),
            kind="sitter" if number == 0 else "person",
            height=f"eyes {self._length(one.eye_height_m)}",
            gear=one.posture,
            aim=turn,
        )

    def camera(self, aim: str) -> RigLine:
        camera = self.setup.camera
        return RigLine(
            name="camera",
            kind="camera",
            height=f"lens {self._length(camera.place.height_m)}",
            gear=f"{round(camera.focal_length_mm, 1):g} mm, {camera.orientation}",
            aim=aim,
            stand="tripod",
        )

    def light(self, number: int, aim: str) -> RigLine:
        light = self.setup.lights[number]
        rig, own = self.rigs[light.name], self.stands.get(light.name)
        carried = stand_text(rig, setup=self.setup)
        held = "" if own is None else f", {ballast_text(own, setup=self.setup)}"
        return RigLine(
            name=light.name,
            kind="light",
            height=self._length(light.place.height_m),
            stand_height=self._length(rig.head_m[2]),
            gear=_gear_text(self.setup, number),
            power=self.dials.get(light.name, "full") if light.on else "off",
            aim=aim,
            reading=self.readings.get(light.name, ""),
            stand=f"{carried}{held}",
        )

    def panel(self, panel: Panel, aim: str) -> RigLine:
        size = " × ".join(self._length(one) for one in (panel.width_m, panel.height_m))
        kind = "flag" if panel.reflectance < FLAG_BELOW else "reflector"
        return RigLine(
            name=panel.name,
            kind="panel",
            height=self._length(panel.place.height_m),
            gear=f"{kind} {size}",
            aim=aim,
            stand="holder and stand, one sandbag",
        )

    def screen(self, screen: Screen) -> RigLine:
        return RigLine(
            name=screen.name,
            kind="screen",
            height=self._length(screen.place.height_m),
            gear="lit screen",
            aim="the eyes" if screen.aim == "face" else "",
        )

    def _length(self, length_m: float) -> str:
        return format_length(length_m, system=self.setup.units)


def _gear_text(setup: Setup, number: int) -> str:
    light = setup.lights[number]
    parts = [f"{modifier_text(light.modifier, setup=setup)} on {head_text(light)}"]
    if light.modifier.kind == "bare":
        parts = [f"bare {head_text(light)}"]
    if light.modifier.grid_deg is not None:
        parts.append(f"grid {light.modifier.grid_deg:g}°")
    if light.gel is not None:
        parts.append(f"gel {light.gel.label}")
    return ", ".join(parts)


def _taped(lines: list[RigLine], tapes: Tapes, setup: Setup) -> tuple[RigLine, ...]:
    """Return the lines with their tapes; what is a reference point itself has none."""
    found, number = [], 0
    things = {(one.kind, one.name): one for one in tapes.things}
    for one in lines:
        thing = things.get((one.kind, one.name))
        if thing is None:
            found.append(one)
            continue
        number += 1
        first, second = (
            format_tape(size, system=setup.units) for size in (thing.first_m, thing.second_m)
        )
        found.append(
            replace(
                one,
                number=number,
                first=first,
                second=second,
                side=thing.side,
                point=thing.point,
            )
        )
    return tuple(found)
