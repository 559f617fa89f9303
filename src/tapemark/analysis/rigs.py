"""Where do the parts of each light hang, and what holds them up?"""

from dataclasses import dataclass
from math import cos, hypot, pi, sin

from tapemark.geometry import Vec3
from tapemark.studio import Light, Setup, Stand, aim_direction

#: A head without a stated stand is taken to be on this one; common practice. [kg, m]
ASSUMED_STAND = Stand(kind="stand", weight_kg=3.0, leg_radius_m=0.5, legs=3)
#: Column behind the back of a modifier: the swivel under the head (assumption, ±0.05). [m]
SWIVEL_M = 0.12
#: Head before the opening of a reflected umbrella, or behind that of a shoot-through one, over
#: its diameter (assumption, ±0.1). [-]
UMBRELLA_REACH = 0.4
UMBRELLA_DEPTH = 0.05  # its cloth and rod behind or before the opening, over the diameter [-]
#: A column nearer to its head than this leans no arm out. [m]
LEAST_ARM_M = 0.05


@dataclass(frozen=True, kw_only=True, slots=True)
class Rig:
    """One light and what carries it, in the world.

    Attributes
    ----------
    light : Light
        As described.
    stand : Stand
        As described, or the assumed one.
    stand_assumed : bool
        Whether no stand was described.
    head_m, modifier_m : tuple of three floats
        Centres of mass of head and modifier. [m]
    base_m : tuple of two floats
        Foot of the column, on the floor. [m]
    """

    light: Light
    stand: Stand
    stand_assumed: bool
    head_m: Vec3
    modifier_m: Vec3
    base_m: tuple[float, float]

    @property
    def name(self) -> str:
        """What the photographer calls the light."""
        return self.light.name

    @property
    def on_legs(self) -> bool:
        """Whether it can tip: not fixed to the building."""
        return self.stand.kind != "fixed"


def rigs(setup: Setup) -> tuple[Rig, ...]:
    """Return where the parts of each light hang, lit or not.

    Notes
    -----
    The place of a light is that of its lit face; the head hangs behind it, along its axis. An
    upright stand is under its head. The column of a boom is where it was said to be, else
    behind the head as seen from the sitter, as far as the boom reaches out.
    """
    return tuple(_rig(light, setup) for light in setup.lights)


def _rig(light: Light, setup: Setup) -> Rig:
    stand = ASSUMED_STAND if light.stand is None else light.stand
    axis = aim_direction(light, setup=setup)
    head_along, modifier_along = _along_axis(light)
    head = _shifted(light.place.position_m, axis, head_along)
    return Rig(
        light=light,
        stand=stand,
        stand_assumed=light.stand is None,
        head_m=head,
        modifier_m=_shifted(light.place.position_m, axis, modifier_along),
        base_m=_base(light, stand, head),
    )


def _along_axis(light: Light) -> tuple[float, float]:
    """Return how far before the lit face head and modifier have their centres. [m]"""
    modifier = light.modifier
    across = modifier.face_size_m[0]
    if modifier.kind == "reflected umbrella":
        return UMBRELLA_REACH * across, -UMBRELLA_DEPTH * across
    if modifier.kind == "shoot-through umbrella":
        return -UMBRELLA_REACH * across, UMBRELLA_DEPTH * across
    if modifier.kind == "bare":
        return -modifier.depth_m / 2, -modifier.depth_m / 2
    return -modifier.depth_m - SWIVEL_M, -modifier.depth_m / 2


def _shifted(place: Vec3, axis: Vec3, along_m: float) -> Vec3:
    x, y, z = (start + along_m * step for start, step in zip(place, axis, strict=True))
    return x, y, z


def _base(light: Light, stand: Stand, head: Vec3) -> tuple[float, float]:
    if stand.base is not None:
        return stand.base.position_m
    if stand.kind != "boom":
        return head[0], head[1]
    away = hypot(head[0], head[1])
    side = light.place.side_deg * pi / 180.0
    out = (head[0] / away, head[1] / away) if away > LEAST_ARM_M else (sin(side), cos(side))
    return head[0] + stand.boom_out_m * out[0], head[1] + stand.boom_out_m * out[1]
