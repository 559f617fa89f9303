"""Find the smallest changes that clear the lenses, and tell them as plain data."""

from collections.abc import Callable, Iterable

from tapemark.planning import KEEPS, Keep, Move, MovesFound, find_moves
from tapemark.services.plain import Plain, rounded
from tapemark.studio import Setup, setup_to_mapping
from tapemark.units import write_angle_deg, write_length_m


def moves_for(
    setup: Setup,
    *,
    keep: Iterable[Keep] = (),
    best: int,
    tell: Callable[[str], None] | None = None,
) -> MovesFound:
    """Return the smallest changes that clear the lenses of everybody, best first.

    Parameters
    ----------
    setup : Setup
        The setup as it is.
    keep : iterable of str
        Of `KEEPS`: what must stay.
    best : int
        How many to return at most.
    tell : function of str, optional
        Called with what is being done.
    """
    wanted = frozenset(one for one in KEEPS if one in set(keep))
    return find_moves(setup, keep=wanted, best=best, tell=tell)


def moves_as_plain(found: MovesFound) -> list[Plain]:
    """Return moves as lists, dictionaries, numbers and text, best first.

    Returns
    -------
    list of dict
        Each with ``what``, ``name``, ``change``, ``amount``, ``verdict_after``,
        ``side_effects``, ``power_change_stops`` and ``setup`` (of the same shape as a setup
        file), and with ``clean``, ``losses``, ``disturbance`` and ``steps``. A pair has two
        steps; what, name and amount are those of the first, and change tells both.
    """
    return [_move(one) for one in found.moves]


def _move(one: Move) -> Plain:
    system = one.setup.units
    first = one.steps[0]
    steps = [
        {
            "what": step.what,
            "name": step.name,
            "way": f"{step.family} {step.toward}",
            "change": step.text,
            "amount": _amount(step.amount, unit=step.unit, system=system),
            "power_change_stops": rounded(step.power_change_stops, 2),
        }
        for step in one.steps
    ]
    return {
        "what": first.what,
        "name": first.name,
        "change": one.text,
        "amount": steps[0]["amount"],
        "verdict_after": one.verdict_after,
        "side_effects": list(one.side_effects),
        "power_change_stops": rounded(one.power_change_stops, 2),
        "clean": one.clean,
        "losses": list(one.losses),
        "clear_to": one.clear_to or None,
        "disturbance": rounded(one.points, 2),
        "steps": steps,
        "setup": setup_to_mapping(one.setup),
    }


def _amount(amount: float, *, unit: str, system: str) -> str:
    if unit == "m":
        return write_length_m(amount, system="us" if system == "us" else "metric")
    return write_angle_deg(amount) if unit == "deg" else ""
