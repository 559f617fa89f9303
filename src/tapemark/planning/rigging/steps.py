"""In which order is a setup built, metered and tried, safe things first?

Common practice, no published source.
"""

from tapemark.analysis import StandBalance
from tapemark.analysis.stand_findings import MOST_BALLAST_KG
from tapemark.planning.rigging.packing import USUAL_BAG_KG, hung_kg
from tapemark.planning.rigging.tapes import Tapes, format_tape
from tapemark.studio import Light, Setup
from tapemark.units import format_mass

MOST_NAMES = 8
LONG_S = 0.3  # from here on cameras show seconds, not fractions [s]


def build_steps(setup: Setup, *, tapes: Tapes, stands: tuple[StandBalance, ...]) -> tuple[str, ...]:
    """Return what is done before the first meter reading, in order.

    Parameters
    ----------
    setup : Setup
        What is built.
    tapes : Tapes
        The reference points that are taped first.
    stands : tuple of StandBalance
        How each light stands.
    """
    steps = [_mains(setup), _marks(setup, tapes)]
    if setup.backdrop is not None:
        steps.append("Hang the backdrop before anything stands in its way.")
    seats = any(one.posture == "seated" for one in setup.people)
    on = "stool on its mark" if seats else "stand-in on the mark"
    steps.append(f"Camera on its mark, {on}: set the frame.")
    steps += _raising(setup, stands)
    steps += [f"{_upper(one.name)} last: it stands in everybody's way." for one in setup.panels]
    if _on_mains(setup):
        steps.append("Tape every cable to the floor, or lead it round the ways. Then switch on.")
    return tuple(steps)


def test_steps(setup: Setup, *, readings: dict[str, str], together: str) -> tuple[str, ...]:
    """Return how light is metered and the first frames are looked at.

    Parameters
    ----------
    setup : Setup
        What was built.
    readings : dict of str to str
        What each light meters alone at the face, by name; lights without are left out.
    together : str
        What all meter together.
    """
    camera = setup.camera
    lit = [light for light in setup.lights if light.on]
    alone = [f"{light.name} {readings[light.name]}" for light in lit if light.name in readings]
    behind = [light.name for light in lit if light.name not in readings]
    steps = ["All lights off, one frame: black, or what the room adds."]
    if len(lit) > 1 and alone:
        steps.append(
            f"Meter each alone, dome at the face, pointed at the camera: {_named(alone)}. "
            "Change power, not places."
        )
    if behind:
        steps.append(f"{_upper(_named(behind))} alone: nothing of it on nose or cheeks.")
    if together:
        steps.append(
            f"Meter all together: {together}. Camera at f/{camera.aperture:g}, "
            f"{shutter_text(camera.shutter_s)}, ISO {camera.iso}."
        )
    else:
        steps.append("Expect no light at the face: none of the lights reaches it as they stand.")
    glasses = any(one.glasses is not None for one in setup.people)
    look = "lenses free, " if glasses else ""
    steps.append(f"Test shot, at full size: {look}a catchlight in both eyes, nothing in the frame.")
    return tuple(steps)


def shutter_text(shutter_s: float) -> str:
    """Return a shutter time as it is set."""
    if shutter_s < LONG_S:
        return f"1/{1 / shutter_s:.0f} s"
    return f"{shutter_s:g} s"


def ballast_text(one: StandBalance, *, setup: Setup) -> str:
    """Return what holds a stand down, in words."""
    weight = hung_kg(one)
    if one.ballast_kg is None or one.ballast_kg > MOST_BALLAST_KG:
        return "heavier stand: bags alone are not enough"
    if weight <= USUAL_BAG_KG:
        return "one sandbag"
    return f"{format_mass(_rounded_up(weight), system=setup.units)} on the column"


def _rounded_up(mass_kg: float) -> float:
    return float(-(-mass_kg // 0.5) * 0.5)


def _on_mains(setup: Setup) -> list[Light]:
    return [light for light in setup.lights if light.head.mains_w != 0.0]


def _mains(setup: Setup) -> str:
    if not _on_mains(setup):
        return "Clear the ways. Batteries charged, leads checked."
    circuits = ", ".join(one.name for one in setup.circuits)
    on = f" Circuits: {circuits}." if circuits else ""
    return f"Clear the ways. Look over leads and plugs; unroll cables; lights stay off.{on}"


def _marks(setup: Setup, tapes: Tapes) -> str:
    first, second = tapes.first, tapes.second
    base = format_tape(tapes.base_m, system=setup.units)
    return (
        f"Tape {first.letter} and {second.letter}, {base} apart; then a numbered cross for each "
        "line of the table."
    )


def _raising(setup: Setup, stands: tuple[StandBalance, ...]) -> list[str]:
    on_legs = {one.name for one in stands}
    names = [light.name for light in setup.lights if light.name in on_legs]
    fixed = [light.name for light in setup.lights if light.name not in on_legs]
    steps = []
    if names:
        steps.append(
            f"Stands low on their crosses, legs wide, one leg under the load: {_named(names)}."
        )
        steps.append("Sandbags on, off the floor, before anything goes up.")
        steps.append(
            "Head and modifier on, tightened; raise to the height in the table, a hand on the "
            "column. Aim."
        )
    if fixed:
        steps.append(f"Fixed to the building, with a safety line: {_named(fixed)}. Aim.")
    return steps


def _named(names: list[str]) -> str:
    more = len(names) - MOST_NAMES
    told = names[:MOST_NAMES]
    if more > 0:
        return f"{', '.join(told)} and {more} more"
    return told[0] if len(told) == 1 else f"{', '.join(told[:-1])} and {told[-1]}"


def _upper(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"
