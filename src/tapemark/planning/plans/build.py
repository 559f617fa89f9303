"""What is packed, in which order is it built and tested, and how long does that take?

Times and orders are common practice, no published source: for somebody used to the gear, ±50 %.
"""

from collections import Counter

from tapemark.planning.plans.candidates import Rig
from tapemark.studio import Brief, Light, Modifier, Setup
from tapemark.units import format_length, format_mass

CAMERA_MIN, BACKDROP_MIN, PANEL_MIN, HEAD_MIN, SHOT_MIN, LAST_MIN = 3.0, 5.0, 2.0, 2.0, 1.0, 2.0
_MODIFIER_MIN = {
    "softbox": 3.0,
    "strip": 3.0,
    "octagonal box": 3.0,
    "reflected umbrella": 1.0,
    "shoot-through umbrella": 1.0,
    "beauty dish": 1.0,
    "reflector dish": 0.5,
    "bare": 0.0,
}


def minutes_for(rig: Rig) -> float:
    """Return how long building and testing a rig takes one person [min]."""
    lights = sum(HEAD_MIN + _MODIFIER_MIN[kit.modifier.modifier.kind] for kit in rig.kits)
    around = BACKDROP_MIN * rig.backdrop + PANEL_MIN * (rig.panel_use != "none")
    return CAMERA_MIN + around + lights + SHOT_MIN * len(rig.kits) + LAST_MIN


def packing_list(rig: Rig, setup: Setup, *, brief: Brief) -> tuple[str, ...]:
    """Return what goes into the cases, with counts."""
    gear = Counter(kit.head.name for kit in rig.kits)
    gear.update(kit.modifier.name for kit in rig.kits)
    gear.update("light stand" if kit.stand is None else kit.stand.name for kit in rig.kits)
    if rig.panel is not None:
        gear[f"{rig.panel.name} with its holder"] += 1
    found = [f"camera with {setup.camera.focal_length_mm:g} mm and its tripod"]
    found += [f"{count} × {name}" for name, count in gear.items()]
    if setup.backdrop is not None:
        system = brief.units
        width = format_length(setup.backdrop.width_m, system=system)
        height = format_length(setup.backdrop.height_m, system=system)
        found.append(f"backdrop {width} × {height} with what it hangs from")
    if setup.sitter.posture == "seated":
        found.append("stool")
    flashes = [kit for kit in rig.kits if kit.head.head.kind == "flash"]
    battery = [kit for kit in rig.kits if kit.head.head.mains_w == 0.0]
    mains = len(rig.kits) - len(battery)
    found += [f"trigger, {len(flashes)} × receiver"] if flashes else []
    found += [f"{mains} × mains lead"] if mains else []
    found += ["spare batteries"] if battery else []
    return (*found, f"{len(rig.kits)} × sandbag", "meter, tape measure, marking tape")


def build_order(rig: Rig, setup: Setup) -> tuple[str, ...]:
    """Return the order in which things are put up, each waiting for nothing after it."""
    steps = ["Tape the sitter mark, then all other marks"]
    seated = setup.sitter.posture == "seated"
    if setup.backdrop is not None:
        steps.append("Hang the backdrop before anything stands in its way")
    steps.append(
        f"Camera on its mark, framed on a stand-in {'on the stool' if seated else 'on the mark'}"
    )
    behind = [one for one in setup.lights if one.name.startswith("background")]
    front = [one for one in setup.lights if one not in behind]
    for light in (*behind, *front):
        aim = "aim it at the ceiling" if rig.pattern == "bounce" else "aim it"
        steps.append(f"{_upper(light.name)}: stand, {_weight(light, setup)}; raise it, {aim}")
    steps += [
        f"{_upper(panel.name)} last, for it stands in everybody's way" for panel in setup.panels
    ]
    return tuple(steps)


def _weight(light: Light, setup: Setup) -> str:
    """Return how a stand is steadied before it goes up."""
    stand = light.stand
    if stand is None:
        return "a leg under the load and a sandbag, then head and modifier"
    bag = ""
    if stand.ballast_kg > 0.0:
        bag = f" and {format_mass(stand.ballast_kg, system=setup.units)} hung on the column"
    return f"a leg under the load{bag}, then head and modifier"


def test_shots(
    rig: Rig, setup: Setup, *, readings: dict[str, str], together: str, modelled: str
) -> tuple[str, ...]:
    """Return the test shots, one light at a time.

    Parameters
    ----------
    rig, setup : Rig, Setup
        What was built.
    readings : dict of str to str
        What each light meters alone at the face, by name.
    together, modelled : str
        What all meter together, and the pattern and ratio that are expected.
    """
    glasses = any(one.glasses is not None for one in setup.people)
    lenses = "lenses free, " if glasses else ""
    shots = ["Lights off: the frame is black, or it shows what the room adds"]
    for name in rig.names:
        if name.startswith("background"):
            shots.append(f"{_upper(name)} alone: the background only, nothing on nose or cheeks")
        elif name == "fill":
            shots.append(f"Fill alone: {readings.get(name, '')}; {lenses}no shadow that crosses")
        else:
            look = f"{lenses}a catchlight in both eyes"
            shots.append(f"{_upper(name)} alone: {readings.get(name, '')}; {look}")
    shots += [
        f"{_upper(panel.name)} in: the shadow side opens; look for it in the lenses"
        for panel in setup.panels
    ]
    last = "All together" if len(rig.kits) > 1 or setup.panels else "The first frame"
    shots.append(f"{last}: {together} at the face, dome to the camera; {modelled}")
    return tuple(shots)


def modifier_words(modifier: Modifier) -> str:
    """Return what a modifier is, for a table."""
    return modifier.preset or modifier.kind


def _upper(name: str) -> str:
    return f"{name[:1].upper()}{name[1:]}"
