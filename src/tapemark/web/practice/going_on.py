"""A round of drills that was broken off, to go on with."""

from dataclasses import dataclass

from tapemark.errors import TapemarkError
from tapemark.services.library.keeping import Library, open_setup
from tapemark.services.practice import ROUND, card_of, cards_made, round_mark

DEMO = "demo"


@dataclass(frozen=True, kw_only=True, slots=True)
class BrokenOff:
    """Where a round goes on.

    Attributes
    ----------
    address : str
        Of the first drill that was not answered.
    number : int
        Of that drill in its round.
    name : str
        Of the setup that the round is made from; empty for the demo's.
    """

    address: str
    number: int
    name: str


def broken_off(library: Library) -> BrokenOff | None:
    """Return where the round answered last goes on; None if it is through, or its setup gone."""
    latest = library.practice.latest()
    if latest is None:
        return None
    try:
        setup = open_setup(library, latest.base) if latest.base else None
        name = library.get(latest.base).name if latest.base else ""
    except TapemarkError:
        return None
    mark = round_mark(setup, latest.seed)
    known = {one.number for one in library.practice.answered(base=latest.base, seed=latest.seed)}
    left = set(range(1, (cards_made(mark) or ROUND) + 1)) - known
    if not left or card_of(mark, 1) is None:  # through, or the setup is another by now
        return None
    number = min(left)
    address = f"/practice/{latest.base or DEMO}/{latest.seed}/{number}"
    return BrokenOff(address=address, number=number, name=name)
