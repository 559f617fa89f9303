"""What carries each light: column, legs, arm and counterweight as solid shapes in the room.

Feet, reaches and legs are those that the look at safety takes, see `tapemark.analysis.rigs`.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis import Rig, rigs
from tapemark.geometry import FloatArray
from tapemark.studio import Light, Setup

#: A head nearer to its column than this hangs on no arm. [m]
_LEAST_ARM_M = 0.05
#: A counterweight along the arm, across it and high (assumption). [m]
_BLOCK_M = (0.16, 0.12, 0.20)
_KNEE_OVER_REACH = 0.55  # height at which legs meet the column, over how far they reach [-]
_LOW_M = 0.06  # end of the column, above the floor
_FIRST_LEG_RAD = np.pi / 6  # of a stand whose load does not lean


@dataclass(frozen=True, kw_only=True, eq=False)
class StandShape:
    """What carries one light.

    Attributes
    ----------
    foot : (3,) array
        Foot of the column, on the floor. [m]
    legs : tuple of (2, 3) arrays
        Column to foot of each leg. [m]
    column : (2, 3) array or None
        Top and lower end; None of what is fixed to the building. [m]
    arm : (2, 3) array or None
        From the head over the column to the counterweight or the column. [m]
    counterweight : (8, 3) array or None
        Corners of the block at the other end of the arm. [m]
    """

    foot: FloatArray
    legs: tuple[FloatArray, ...] = ()
    column: FloatArray | None = None
    arm: FloatArray | None = None
    counterweight: FloatArray | None = None

    @property
    def points(self) -> FloatArray:
        """All its points, (n, 3). [m]"""
        parts = [self.foot[None], *self.legs]
        parts += [one for one in (self.column, self.arm, self.counterweight) if one is not None]
        return np.concatenate(parts)


def rig_of(light: Light, setup: Setup) -> Rig:
    """Return where the parts of one light hang."""
    return next(one for one in rigs(setup) if one.name == light.name)


def leans_out(rig: Rig) -> bool:
    """Return whether the column stands elsewhere than under the head."""
    gap = np.subtract(rig.head_m[:2], rig.base_m)
    return rig.on_legs and float(np.hypot(*gap)) > _LEAST_ARM_M


def stand_shape(rig: Rig) -> StandShape:
    """Return the shape of what carries a light.

    Notes
    -----
    The arm of a boom is drawn level at the height of the head, or rising from the highest that
    its column reaches. Unless a leg was said to point under the load, the load is drawn between
    two legs, which is how safety is looked at.
    """
    foot = np.array([*rig.base_m, 0.0])
    if not rig.on_legs:
        return StandShape(foot=foot)
    head = np.array(rig.head_m)
    leaning = leans_out(rig)
    high = min(head[2], rig.stand.highest_m) if leaning else head[2]
    top = _above(foot, high)
    legs = _legs(rig, foot, high=high, towards=head - foot if leaning else None)
    column = np.stack([top, _above(foot, min(_LOW_M, high / 2))])
    if not leaning:
        return StandShape(foot=foot, legs=legs, column=column)
    back = _arm_end(rig, top, head)
    block = _block(back, head) if rig.stand.counterweight_kg > 0 else None
    return StandShape(
        foot=foot, legs=legs, column=column, arm=np.stack([head, top, back]), counterweight=block
    )


def _legs(
    rig: Rig, foot: FloatArray, *, high: float, towards: FloatArray | None
) -> tuple[FloatArray, ...]:
    count, reach = rig.stand.legs, rig.stand.leg_radius_m
    start = _FIRST_LEG_RAD
    if towards is not None:
        between = 0.0 if rig.stand.leg_under_load else np.pi / count
        start = float(np.arctan2(towards[1], towards[0])) + between
    knee = _above(foot, min(_KNEE_OVER_REACH * reach, 0.5 * high))
    turns = start + np.arange(count) * (2 * np.pi / count)
    feet = foot + reach * np.stack([np.cos(turns), np.sin(turns), np.zeros(count)], axis=-1)
    return tuple(np.stack([knee, one]) for one in feet)


def _arm_end(rig: Rig, top: FloatArray, head: FloatArray) -> FloatArray:
    """Return the end of the arm away from the head: the counterweight, or the column."""
    if rig.stand.counterweight_kg == 0:
        return top
    run = top - head
    along_floor = np.hypot(run[0], run[1])
    return np.asarray(top + run * (rig.stand.counterweight_out_m / along_floor))


def _block(middle: FloatArray, head: FloatArray) -> FloatArray:
    run = (middle - head)[:2]
    along = np.array([*(run / np.hypot(*run)), 0.0])
    axes = np.stack([along, (-along[1], along[0], 0.0), (0.0, 0.0, 1.0)])
    signs = np.array([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], dtype=float)
    return np.asarray(middle + (signs * np.array(_BLOCK_M) / 2) @ axes)


def _above(foot: FloatArray, height_m: float) -> FloatArray:
    return np.array([foot[0], foot[1], height_m])
