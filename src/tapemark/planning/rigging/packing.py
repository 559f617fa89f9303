"""What goes into the cases for a setup, counted."""

from collections import Counter
from dataclasses import dataclass
from math import ceil, hypot

from tapemark.analysis import Rig, StandBalance, rigs
from tapemark.analysis.circuits import circuit_of
from tapemark.analysis.stand_findings import MOST_BALLAST_KG
from tapemark.studio import Light, Modifier, Setup
from tapemark.units import format_length, format_mass

#: What one sandbag weighs at most, to be carried by one hand; common practice. [kg]
BAG_KG = 10.0
USUAL_BAG_KG = 5.0  # what one weighs at least, filled; common practice [kg]
#: Cable that does not lie straight: over the way along the floor; common practice. [-]
CABLE_SLACK = 1.3


@dataclass(frozen=True, kw_only=True, slots=True)
class PackingItem:
    """One line of the packing list.

    Attributes
    ----------
    kind : str
        ``camera``, ``head``, ``modifier``, ``grid``, ``stand``, ``ballast``, ``gel``, ``power``,
        ``surround`` or ``small``.
    count : int
        How many.
    what : str
        What it is.
    """

    kind: str
    count: int
    what: str


def packing_items(setup: Setup, *, stands: tuple[StandBalance, ...]) -> tuple[PackingItem, ...]:
    """Return what a setup is built from, counted.

    Parameters
    ----------
    setup : Setup
        What is built; lights that are off are packed as well.
    stands : tuple of StandBalance
        How each light stands, for the ballast.
    """
    return (
        *_camera(setup),
        *_lights(setup),
        *_ballast(setup, stands),
        *_power(setup),
        *_around(setup),
        *_small(setup),
    )


def modifier_text(modifier: Modifier, *, setup: Setup) -> str:
    """Return what a modifier is: its trade description, else its kind and size."""
    if modifier.preset is not None:
        return modifier.preset
    if modifier.kind == "bare":
        return "bare head"
    sides = [format_length(side, system=setup.units) for side in modifier.face_size_m]
    size = sides[0] if modifier.diameter_m is not None else " × ".join(sides)
    return f"{modifier.kind} {size}"


def head_text(light: Light) -> str:
    """Return what a head is: its trade description, else its kind and strength."""
    head = light.head
    if head.preset is not None:
        return head.preset
    if head.kind == "flash":
        strong = f"{head.energy_j:g} Ws " if head.energy_j is not None else ""
        if not strong and head.guide_number_m is not None:
            strong = f"guide number {head.guide_number_m:g} m "
        return f"{strong}flash head"
    strong = f"{head.lumens:g} lm " if head.lumens is not None else ""
    return f"{strong}{head.lamp} head"


def stand_text(rig: Rig, *, setup: Setup) -> str:
    """Return what carries a light, in words."""
    stand = rig.stand
    if rig.stand_assumed:
        return "light stand"
    if stand.preset is not None:
        return stand.preset
    if stand.kind == "fixed":
        return "fixed to the building"
    high = format_length(stand.highest_m, system=setup.units)
    return f"{'boom stand' if stand.kind == 'boom' else 'light stand'} to {high}"


def _camera(setup: Setup) -> list[PackingItem]:
    lens = f"camera with {setup.camera.focal_length_mm:g} mm lens, tripod"
    return [PackingItem(kind="camera", count=1, what=lens)]


def _lights(setup: Setup) -> list[PackingItem]:
    heads = Counter(head_text(light) for light in setup.lights)
    shapers = Counter(
        modifier_text(light.modifier, setup=setup)
        for light in setup.lights
        if light.modifier.kind != "bare"
    )
    grids = Counter(
        f"honeycomb grid {light.modifier.grid_deg:g}° for {light.name}"
        for light in setup.lights
        if light.modifier.grid_deg is not None
    )
    gels = Counter(light.gel.label for light in setup.lights if light.gel is not None)
    stands = Counter(stand_text(rig, setup=setup) for rig in rigs(setup) if rig.on_legs)
    items = _counted("head", heads) + _counted("modifier", shapers) + _counted("grid", grids)
    items += _counted("gel", Counter({f"gel {name}": count for name, count in gels.items()}))
    return items + _counted("stand", stands)


def _counted(kind: str, found: Counter[str]) -> list[PackingItem]:
    return [PackingItem(kind=kind, count=count, what=what) for what, count in found.items()]


def _ballast(setup: Setup, stands: tuple[StandBalance, ...]) -> list[PackingItem]:
    bags, mass, heavy, arms = 0, 0.0, False, []
    for one in stands:
        weight = hung_kg(one)
        bags += max(1, ceil(weight / BAG_KG - 1e-9))
        mass += max(weight, USUAL_BAG_KG)
        heavy = heavy or weight > USUAL_BAG_KG
        if one.counterweight_kg is not None and one.counterweight_kg > 0.0:
            arms.append(format_mass(one.counterweight_kg, system=setup.units))
    bags += len(setup.panels)
    mass += USUAL_BAG_KG * len(setup.panels)
    if not bags:
        return []
    together = f", {format_mass(mass, system=setup.units)} together" if heavy else ""
    items = [PackingItem(kind="ballast", count=bags, what=f"sandbag{together}")]
    items += [
        PackingItem(kind="ballast", count=1, what=f"counterweight {arm} for the boom")
        for arm in arms
    ]
    return items


def hung_kg(one: StandBalance) -> float:
    """Return the ballast that a stand should carry: what hangs, and what is still wanted. [kg]"""
    more = one.ballast_kg or 0.0
    return one.hung_kg + (more if more <= MOST_BALLAST_KG else 0.0)


def _power(setup: Setup) -> list[PackingItem]:
    mains = [rig for rig in rigs(setup) if rig.light.head.mains_w != 0.0]
    battery = len(setup.lights) - len(mains)
    flashes = sum(light.head.kind == "flash" for light in setup.lights)
    items = []
    if mains:
        items.append(PackingItem(kind="power", count=len(mains), what="mains lead"))
        items.append(PackingItem(kind="power", count=len(mains), what=_extension(mains, setup)))
    if battery:
        items.append(PackingItem(kind="power", count=battery, what="spare battery"))
    if flashes:
        items.append(PackingItem(kind="power", count=1, what="trigger on the camera"))
        items.append(PackingItem(kind="power", count=flashes, what="receiver, or built in"))
    return items


def _extension(mains: list[Rig], setup: Setup) -> str:
    ways = []
    for rig in mains:
        circuit = circuit_of(rig.light, setup=setup)
        if circuit is not None and circuit.outlet is not None:
            x, y = circuit.outlet.position_m
            ways.append(hypot(rig.base_m[0] - x, rig.base_m[1] - y))
    if not ways:
        return "extension lead, unrolled"
    longest = format_length(ceil(CABLE_SLACK * max(ways)), system=setup.units)
    return f"extension lead, unrolled, {longest} for the farthest"


def _around(setup: Setup) -> list[PackingItem]:
    items = []
    if setup.backdrop is not None:
        width, height = (
            format_length(one, system=setup.units)
            for one in (setup.backdrop.width_m, setup.backdrop.height_m)
        )
        what = f"backdrop {width} × {height}, with what it hangs from and clamps"
        items.append(PackingItem(kind="surround", count=1, what=what))
    for panel in setup.panels:
        sides = [format_length(one, system=setup.units) for one in (panel.width_m, panel.height_m)]
        what = f"{panel.name} {' × '.join(sides)}, with its holder and stand"
        items.append(PackingItem(kind="surround", count=1, what=what))
    items += [PackingItem(kind="surround", count=1, what=one.name) for one in setup.screens]
    seats = sum(one.posture == "seated" for one in setup.people)
    if seats:
        items.append(PackingItem(kind="surround", count=seats, what="stool"))
    return items


def _small(setup: Setup) -> list[PackingItem]:
    found = ["hand meter with dome", "tape measure", "marking tape", "cloth tape for cables"]
    if setup.walkways:
        found.append("cable ramps or mats for the ways")
    if any(one.glasses is not None for one in setup.people):
        found.append("cloth and spray for glasses")
    return [PackingItem(kind="small", count=1, what=what) for what in found]
