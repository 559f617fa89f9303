"""How far from tipping is each light on its stand or boom, and what would steady it?

The rigid model of `tapemark.geometry.balance`.  A stand is only as steady as its weakest
way: between two legs, unless a leg points under the load.
"""

from dataclasses import dataclass
from math import hypot, isfinite
from typing import NamedTuple

import numpy as np

from tapemark.analysis.rigs import LEAST_ARM_M, Rig
from tapemark.geometry import (
    FloatArray,
    Vec3,
    ballast_for_angle,
    center_of_mass,
    support_margin,
    tipping_angle,
    tipping_force,
)

#: What ballast is worked out for, at the weakest way. A planning value: the limits for lamps
#: in homes, 6 and 8 degrees, leave photographic lamps out and serve by analogy only;
#: [iec-60598-2-4], [ul-153]. [deg]
AIM_DEG = 10.0
PUSH_HEIGHT_M = 1.5  # a shoulder or an elbow, or the head of the light if lower
#: Centre of a stand with its legs spread, over the height of its head (assumption, ±0.05). [-]
STAND_CENTER_SHARE = 0.25
#: Centre of a bag hung low on the column (assumption, ±0.1); out on a leg it hangs lower, down
#: to the floor at the foot. [m]
BAG_HEIGHT_M = 0.3
ARM_CENTER_SHARE = 0.5  # centre of a boom's arm, over its reach (assumption, on the safe side)
#: Where a counterweight is worked out for, if none was said. [m]
COUNTERWEIGHT_OUT_M = 0.6


@dataclass(frozen=True, kw_only=True, slots=True)
class StandBalance:
    """How one light stands.

    Attributes
    ----------
    name : str
        Name of the light.
    kind : str
        ``stand`` or ``boom``.
    stand_assumed : bool
        Whether no stand was described.
    weight_kg : float
        Of everything together. [kg]
    lean_m : float
        Centre of mass beside the column. [m]
    center_height_m : float
        Centre of mass above the floor. [m]
    over_leg_deg, between_legs_deg : float
        Tilt at which it tips the way it leans, with a leg there and with none. [deg]
    weakest_deg : float
        Smallest tilt at which it tips any way, with its legs as described. [deg]
    weakest_leg_under_deg : float
        The same with a leg under the load. [deg]
    push_n, push_height_m : float
        Level push that tips it the weakest way, and where it is given. [N], [m]
    ballast_kg : float or None
        Least further weight, hung on the column, that brings it to `AIM_DEG`; None where none
        does. [kg]
    hung_kg, hung_out_m, hung_adds_deg : float
        The ballast that hangs now, how far out along a leg, and what it adds to
        `weakest_deg`. [kg], [m], [deg]
    leg_under_load : bool
        Whether a leg was said to point under the load.
    counterweight_kg, counterweight_out_m, hung_counterweight_kg : float or None
        What balances a boom's arm over its column, where, and what hangs there now.
        [kg], [m], [kg]
    balanced_deg : float or None
        `weakest_deg` with that counterweight. [deg]
    head_height_m, highest_m : float
        Where the head hangs, and how high the stand reaches. [m]
    arm_m, boom_out_m : float
        Column to head along the floor as placed, and what the boom reaches. [m]
    """

    name: str
    kind: str
    stand_assumed: bool
    weight_kg: float
    lean_m: float
    center_height_m: float
    over_leg_deg: float
    between_legs_deg: float
    weakest_deg: float
    weakest_leg_under_deg: float
    push_n: float
    push_height_m: float
    ballast_kg: float | None
    hung_kg: float
    hung_out_m: float
    hung_adds_deg: float
    leg_under_load: bool
    counterweight_kg: float | None
    counterweight_out_m: float | None
    hung_counterweight_kg: float | None
    balanced_deg: float | None
    head_height_m: float
    highest_m: float
    arm_m: float
    boom_out_m: float


def stand_balances(rigs: tuple[Rig, ...]) -> tuple[StandBalance, ...]:
    """Return how each light on legs stands; lights fixed to the building are left out.

    Parameters
    ----------
    rigs : tuple of Rig
        Lights with what carries them.

    Notes
    -----
    Sandbags out along a leg are taken to hang on a leg nearest to the load, the worst case: at
    its foot they add nothing about the edges that meet there.

    References
    ----------
    [iec-60598-2-4], [ul-153] for the kind of limit; the model is rigid-body statics.
    """
    on_legs = [rig for rig in rigs if rig.on_legs]
    if not on_legs:
        return ()
    loads = [_load(rig) for rig in on_legs]
    wanted = [_counterweight(rig, load) for rig, load in zip(on_legs, loads, strict=True)]
    swapped = [
        load if one is None else load.balanced(*one)
        for load, one in zip(loads, wanted, strict=True)
    ]
    hung = np.array([rig.stand.ballast_kg for rig in on_legs])
    as_is, with_bare_legs, with_balanced_arm = _stability(
        np.array([[load.masses for load in each] for each in (loads, loads, swapped)]),
        np.array([[load.places for load in each] for each in (loads, loads, swapped)]),
        legs=_Legs.of(on_legs),
        ballast=np.stack([hung, 0.0 * hung, hung]),
    )
    return tuple(
        _result(
            rig,
            as_is[index],
            counterweight=one,
            bare_deg=with_bare_legs[index].weakest_deg,
            balanced_deg=with_balanced_arm[index].weakest_deg,
        )
        for index, (rig, one) in enumerate(zip(on_legs, wanted, strict=True))
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class _Load:
    """Masses and where they hang: from the foot of the column, x along the arm. [kg, m]"""

    masses: tuple[float, float, float, float, float]  # stand, head, modifier, arm, counterweight
    places: tuple[Vec3, Vec3, Vec3, Vec3, Vec3]

    def balanced(self, weight_kg: float, out_m: float) -> "_Load":
        height = self.places[-1][2]
        return _Load(
            masses=(*self.masses[:-1], weight_kg),
            places=(*self.places[:-1], (-out_m, 0.0, height)),
        )


@dataclass(frozen=True, kw_only=True, eq=False, slots=True)
class _Legs:
    """The legs of all stands."""

    radius: FloatArray
    half_angle: FloatArray  # between two of them [rad]
    under_load: FloatArray  # 1 where a leg points under the load
    boom: FloatArray  # 1 where the load is out on an arm
    ballast_out: FloatArray

    @classmethod
    def of(cls, rigs: list[Rig]) -> "_Legs":
        rows = [
            (
                rig.stand.leg_radius_m,
                np.pi / rig.stand.legs,
                float(rig.stand.leg_under_load),
                float(rig.stand.kind == "boom"),
                rig.stand.ballast_out_m,
            )
            for rig in rigs
        ]
        radius, half_angle, under_load, boom, ballast_out = np.array(rows).T
        return cls(
            radius=radius,
            half_angle=half_angle,
            under_load=under_load,
            boom=boom,
            ballast_out=ballast_out,
        )


class _Stability(NamedTuple):
    """Statics of one stand."""

    over_leg_deg: float
    between_legs_deg: float
    weakest_deg: float
    weakest_leg_under_deg: float
    weakest_margin: float
    total_kg: float
    lean_m: float
    height_m: float
    ballast_kg: float


def _load(rig: Rig) -> _Load:
    stand, height = rig.stand, rig.head_m[2]
    ahead = (rig.modifier_m[0] - rig.head_m[0], rig.modifier_m[1] - rig.head_m[1])
    reach, arm = 0.0, (1.0, 0.0)
    if stand.kind == "boom":
        span = (rig.head_m[0] - rig.base_m[0], rig.head_m[1] - rig.base_m[1])
        apart = hypot(*span)
        reach = max(apart, stand.boom_out_m)
        arm = (span[0] / apart, span[1] / apart) if apart > LEAST_ARM_M else arm
    beyond = ahead[0] * arm[0] + ahead[1] * arm[1]
    beside = ahead[1] * arm[0] - ahead[0] * arm[1]
    boom = stand.kind == "boom"
    return _Load(
        masses=(
            stand.weight_kg,
            rig.light.head.weight_kg,
            rig.light.modifier.assumed_weight_kg,
            stand.boom_weight_kg if boom else 0.0,
            stand.counterweight_kg if boom else 0.0,
        ),
        places=(
            (0.0, 0.0, STAND_CENTER_SHARE * height),
            (reach, 0.0, height),
            (reach + beyond, beside, rig.modifier_m[2]),
            (ARM_CENTER_SHARE * reach, 0.0, height),
            (-stand.counterweight_out_m, 0.0, height),
        ),
    )


def _stability(
    masses: FloatArray, places: FloatArray, *, legs: _Legs, ballast: FloatArray
) -> list[list[_Stability]]:
    """Return the statics of (variants, stands), all at once."""
    total, center = center_of_mass(masses, places=places)
    # Angles from the way it leans. Under a boom the leg is under the arm, which need not be that.
    under = -np.arctan2(center[..., 1], center[..., 0]) * legs.boom
    turn = np.where(legs.under_load > 0.0, under, legs.half_angle)
    out = ballast * legs.ballast_out
    whole = total + ballast
    along = (total * np.hypot(center[..., 0], center[..., 1]) + out * np.cos(turn)) / whole
    bag_height = BAG_HEIGHT_M * np.maximum(1.0 - legs.ballast_out / legs.radius, 0.0)
    height = (total * center[..., 2] + ballast * bag_height) / whole
    place = np.stack([along, out * np.sin(turn) / whole], axis=-1)
    to_edge = legs.radius * np.cos(legs.half_angle)
    margins = np.empty((4, *along.shape))
    margins[0], margins[1] = legs.radius - along, to_edge - along
    margins[2:] = support_margin(
        place,
        leg_radius=legs.radius,
        legs=np.pi / legs.half_angle,
        leg_turn=np.stack([turn, under]),
    )
    angles = np.degrees(tipping_angle(margins, height=height))
    needed = ballast_for_angle(
        margins[2],
        mass_kg=whole,
        height=height,
        angle=float(np.deg2rad(AIM_DEG)),
        ballast_margin=to_edge,
        ballast_height=BAG_HEIGHT_M,
    )
    table = np.stack([*angles, margins[2], whole, along, height, needed], axis=-1)
    return [[_Stability(*row) for row in rows] for rows in table.tolist()]


def _counterweight(rig: Rig, load: _Load) -> tuple[float, float] | None:
    """Return the weight that balances the arm over the column, and how far out. [kg, m]"""
    if rig.stand.kind != "boom":
        return None
    out = rig.stand.counterweight_out_m or COUNTERWEIGHT_OUT_M
    carried = zip(load.masses[1:4], load.places[1:4], strict=True)
    moment = sum(mass * place[0] for mass, place in carried)
    return max(moment, 0.0) / out, out


def _result(
    rig: Rig,
    now: _Stability,
    *,
    counterweight: tuple[float, float] | None,
    bare_deg: float,
    balanced_deg: float,
) -> StandBalance:
    push_height = max(min(PUSH_HEIGHT_M, rig.head_m[2]), LEAST_ARM_M)
    push = tipping_force(np.array(now.weakest_margin), mass_kg=now.total_kg, height=push_height)
    weight, out = (None, None) if counterweight is None else counterweight
    return StandBalance(
        name=rig.name,
        kind=rig.stand.kind,
        stand_assumed=rig.stand_assumed,
        weight_kg=now.total_kg,
        lean_m=now.lean_m,
        center_height_m=now.height_m,
        over_leg_deg=now.over_leg_deg,
        between_legs_deg=now.between_legs_deg,
        weakest_deg=now.weakest_deg,
        weakest_leg_under_deg=now.weakest_leg_under_deg,
        push_n=float(push),
        push_height_m=push_height,
        ballast_kg=now.ballast_kg if isfinite(now.ballast_kg) else None,
        hung_kg=rig.stand.ballast_kg,
        hung_out_m=rig.stand.ballast_out_m,
        leg_under_load=rig.stand.leg_under_load,
        hung_adds_deg=now.weakest_deg - bare_deg,
        counterweight_kg=weight,
        counterweight_out_m=out,
        hung_counterweight_kg=None if weight is None else rig.stand.counterweight_kg,
        balanced_deg=None if weight is None else balanced_deg,
        head_height_m=rig.head_m[2],
        highest_m=rig.stand.highest_m,
        arm_m=hypot(rig.head_m[0] - rig.base_m[0], rig.head_m[1] - rig.base_m[1]),
        boom_out_m=rig.stand.boom_out_m,
    )
