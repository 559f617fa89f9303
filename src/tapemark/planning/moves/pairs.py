"""Which moves, or pairs of moves, are worth trying, and about what do they cost?

A pair is two moves in order: of two lights that both show, of one light, or of one light and
a person or the camera.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from math import atan2, degrees, radians, sin

import numpy as np

from tapemark.planning.moves.joint_leads import JointLook
from tapemark.planning.moves.leads import Lead, QuickLook
from tapemark.planning.moves.side_effects import VIEW_POINTS_PER_DEG
from tapemark.planning.moves.single import SingleMove
from tapemark.planning.moves.trials import Chain
from tapemark.studio import Setup

PAIR_POINTS = 1.0  # for two changes instead of one
_NAMED_LEADS = 4  # of each light, for pairs
_SHARED = 0.7  # of what a lens may show: for each move of a pair
_SLOPE = 0.1  # of a pair about which no more is known
_FIRST_SHARES = (0.25, 0.5, 0.75, 1.0)  # of how far the first move of a pair can go
_LOOKING_STEPS = 6  # amounts of a move of person or camera that are tried with each light

#: What each kind of move costs on the set: at once, and for each metre or degree. [points]
EFFORT = {
    ("light", "height"): (1.0, 2.0),
    ("light", "swing"): (1.5, 2.0),
    ("light", "back"): (1.5, 2.0),
    ("light", "feather"): (1.0, 0.1),
    ("light", "bounce"): (4.0, 0.0),
    ("sitter", "head"): (1.5, 0.12),
    ("sitter", "body"): (3.5, 0.12),
    ("sitter", "stool"): (2.5, 6.0),
    ("camera", "height"): (2.0, 6.0),
    ("camera", "swing"): (2.5, 0.2),
    ("camera", "back"): (2.0, 2.0),
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Plan:
    """Moves to try: about how far, and about what they cost.

    Attributes
    ----------
    chain : tuple of (SingleMove, int)
        The moves, with the steps to start from.
    slope : float
        By how much the logarithm of the excess falls at each step of the last.
    points : float
        What they cost, about.
    clear_to : int
        Up to how many steps a single move stays clear, about.
    """

    chain: Chain
    slope: float
    points: float
    clear_to: int = 0

    @classmethod
    def of(cls, lead: Lead, *, setup: Setup) -> "Plan":
        """Return the plan of a single move."""
        return cls(
            chain=((lead.move, lead.first),),
            slope=lead.slope,
            points=guessed_points(lead, setup),
            clear_to=lead.clear_to,
        )


def effort(move: SingleMove, steps: int, setup: Setup) -> float:
    """Return what a move costs on the set. [points]"""
    once, each = EFFORT[move.what, move.family]
    amount = move.amount(steps)
    if move.what == "light" and move.family == "swing":
        light = next(one for one in setup.lights if one.name == move.name)
        amount = 2.0 * light.place.distance_m * sin(radians(amount) / 2.0)
    return once + each * amount


def cost(move: SingleMove, steps: int, setup: Setup) -> float:
    """Return about what a move costs, with how else the face is seen. [points]"""
    amount, turned = move.amount(steps), 0.0
    if move.unit == "deg" and move.what != "light":
        turned = amount
    elif move.what == "camera" or move.family == "stool":
        square_on = move.toward not in ("camera", "away")
        turned = degrees(atan2(amount, setup.camera.place.distance_m)) if square_on else 0.0
    return effort(move, steps, setup) + 2.0 * VIEW_POINTS_PER_DEG * turned


def guessed_points(lead: Lead, setup: Setup) -> float:
    """Return about what a move costs where it seems to clear. [points]"""
    return cost(lead.move, lead.first, setup)


def light_pairs(leads: dict[str, list[Lead]], *, setup: Setup) -> Iterator[Plan]:
    """Yield pairs of moves of the two lights that show most, each clearing its own.

    Parameters
    ----------
    leads : dict of str to list of Lead
        Of each light that shows, worst first, alone.
    setup : Setup
        The setup.
    """
    if len(leads) < 2:
        return

    def cheapest(own: list[Lead]) -> list[Lead]:
        clearing = [lead for lead in own if lead.clears]
        return sorted(clearing, key=lambda lead: guessed_points(lead, setup))[:_NAMED_LEADS]

    one, other = list(leads.values())[:2]
    for both in product(cheapest(one), cheapest(other)):
        yield Plan(
            chain=tuple((lead.move, lead.first_below(_SHARED)) for lead in both),
            slope=both[1].slope,
            points=sum(guessed_points(lead, setup) for lead in both) + PAIR_POINTS,
        )


def pairs_of_one_light(look: QuickLook, leads: dict[str, list[Lead]]) -> Iterator[Plan]:
    """Yield pairs of two ways of moving the light that shows most, the others clear."""
    if not leads:
        return
    name, own = next(iter(leads.items()))
    light = next(one for one in look.setup.lights if one.name == name)
    rest = [one.name for one in look.sending if one.name not in look.sent_by(light)]
    if look.excess_of(rest) >= 1.0:
        return
    walked = [lead for lead in own if lead.move.family in ("height", "swing", "back")]
    for first, second in product(walked, walked):
        if first.move.family >= second.move.family:
            continue
        for share in _FIRST_SHARES:
            steps = max(round(share * int(first.steps[-1])), 1)
            lead = look.light_lead(second.move, beside=rest, before=(first.move, steps))
            if lead is not None and lead.clears:
                yield _pair((first.move, steps), (second.move, lead.first), lead, look.setup)
                break


def mixed_pairs(
    look: QuickLook, looking: list[Lead], leads: dict[str, list[Lead]]
) -> Iterator[Plan]:
    """Yield pairs of a move of one light and one of a person or the camera."""
    moves = [lead for lead in looking if lead.move.what != "light" and lead.move.family != "body"]
    chosen = {
        lead.move: np.unique(np.linspace(1, lead.steps[-1], _LOOKING_STEPS).astype(int))
        for lead in moves
    }
    jointly = JointLook(look, chosen)
    for own in leads.values() if chosen else ():
        ways = [lead.move for lead in own if lead.move.family in ("height", "swing", "back")]
        yield from _mixed_with(jointly, ways, setup=look.setup)


def _mixed_with(jointly: JointLook, ways: list[SingleMove], *, setup: Setup) -> Iterator[Plan]:
    """Yield, for each way of one light, the cheapest pair with a move of person or camera."""
    for way in ways:
        best: Plan | None = None
        for steps, move, other in jointly.clearings(way):
            points = cost(way, steps, setup) + cost(move, other, setup) + PAIR_POINTS
            if best is None or points < best.points:
                best = Plan(chain=((way, steps), (move, other)), slope=_SLOPE, points=points)
        if best is not None:
            yield best


def _pair(
    first: tuple[SingleMove, int], second: tuple[SingleMove, int], lead: Lead, setup: Setup
) -> Plan:
    points = sum(cost(move, steps, setup) for move, steps in (first, second)) + PAIR_POINTS
    return Plan(chain=(first, second), slope=lead.slope, points=points)
