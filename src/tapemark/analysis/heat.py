"""Which hot lamps are close to something that burns or melts?"""

from dataclasses import dataclass
from typing import Literal

from tapemark.analysis.rigs import Rig
from tapemark.studio import Setup

NearHot = Literal["gel", "cloth", "backdrop", "ceiling"]

#: Lamps of more than this get hot enough to ask; common practice, no published source. [W]
HOT_W = 100.0
#: Nearer than this to a hot head is called out: no clearance that binds was found, the
#: marking on the luminaire decides. [m]
HOT_CLEARANCE_M = 0.5
_HOT_LAMPS = ("halogen", "discharge")
_CLOTH = (
    *("softbox", "strip", "octagonal box"),
    *("reflected umbrella", "shoot-through umbrella"),
)


@dataclass(frozen=True, kw_only=True, slots=True)
class HotLight:
    """A hot lamp and what is close to it.

    Attributes
    ----------
    light : str
        Its name.
    lamp : str
        ``halogen`` or ``discharge``.
    power_w : float or None
        Of the lamp; None where it is not known. [W]
    near : tuple of str
        ``gel``, ``cloth`` of its modifier, ``backdrop``, ``ceiling``.
    """

    light: str
    lamp: str
    power_w: float | None
    near: tuple[NearHot, ...]


def hot_lights(setup: Setup, rigs: tuple[Rig, ...]) -> tuple[HotLight, ...]:
    """Return the hot lamps that are on and close to gel, cloth, backdrop or ceiling."""
    found = []
    for rig in rigs:
        head = rig.light.head
        power = head.mains_w if head.kind == "continuous" else head.modelling_lamp_w
        if not rig.light.on or head.lamp not in _HOT_LAMPS:
            continue
        if power is not None and power <= HOT_W:
            continue
        near = _near(rig, setup)
        if near:
            found.append(HotLight(light=rig.name, lamp=head.lamp, power_w=power, near=near))
    return tuple(found)


def _near(rig: Rig, setup: Setup) -> tuple[NearHot, ...]:
    near: list[NearHot] = []
    if rig.light.gel is not None:
        near.append("gel")
    if rig.light.modifier.kind in _CLOTH:
        near.append("cloth")
    if _backdrop_distance_m(rig, setup) < HOT_CLEARANCE_M:
        near.append("backdrop")
    if setup.room.height_m - rig.head_m[2] < HOT_CLEARANCE_M:
        near.append("ceiling")
    return tuple(near)


def _backdrop_distance_m(rig: Rig, setup: Setup) -> float:
    """Return how far the head is from a backdrop; infinite without one. [m]"""
    backdrop = setup.backdrop
    if backdrop is None:
        return float("inf")
    x, y, z = rig.head_m
    beside = max(abs(x) - backdrop.width_m / 2, 0.0)
    above = max(z - backdrop.height_m, 0.0)
    return float((beside**2 + (y + backdrop.distance_m) ** 2 + above**2) ** 0.5)
