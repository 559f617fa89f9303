"""How well is the light of a head known, and a sum of several?"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

KnownBy = Literal[
    "own reading",
    "own reading carried over",
    "photometric file",
    "photometric file carried over",
    "guide number",
    "guide number carried over",
    "stated light",
    "stored energy",
    "off",
]


@dataclass(frozen=True, kw_only=True, slots=True)
class Spread:
    """How far a reading may be off.

    Attributes
    ----------
    low_stops : float
        How much less light there may be, 0 or less. [stops]
    high_stops : float
        How much more, 0 or more. [stops]
    """

    low_stops: float
    high_stops: float

    def text(self) -> str:
        """Return it in words: ``±0.2 stops`` or ``+0.6 to -1.5 stops``."""
        low, high = abs(round(self.low_stops, 1)), round(self.high_stops, 1)
        return f"±{high:.1f} stops" if low == high else f"+{high:.1f} to -{low:.1f} stops"

    def brief(self) -> str:
        """Return it for a table: ``±0.2`` or ``+0.6/-1.5``."""
        return self.text().removesuffix(" stops").replace(" to ", "/")


#: How well each way of knowing a head is known [stops]. The two last lines are the spread of
#: the efficacies that are met, 15 to 50 lm/W around 40, [flash-efficacy]; a guide number that
#: of the meter constants makers imply, 171 to 250, and of the room that helped,
#: [navedtra-14209]; all else is an assumption.
SPREADS: dict[str, Spread] = {
    "own reading": Spread(low_stops=-0.2, high_stops=0.2),
    "own reading carried over": Spread(low_stops=-0.7, high_stops=0.7),
    "photometric file": Spread(low_stops=-0.2, high_stops=0.2),
    "photometric file carried over": Spread(low_stops=-0.6, high_stops=0.6),
    "guide number": Spread(low_stops=-0.8, high_stops=0.3),
    "guide number carried over": Spread(low_stops=-1.0, high_stops=0.7),
    "stated light": Spread(low_stops=-0.2, high_stops=0.2),
    "modifier stated": Spread(low_stops=-0.2, high_stops=0.2),
    "modifier assumed": Spread(low_stops=-0.5, high_stops=0.5),
    "grid not metered": Spread(low_stops=-0.7, high_stops=0.0),
    "gel": Spread(low_stops=-0.3, high_stops=0.3),
    "efficacy stated": Spread(low_stops=-0.3, high_stops=0.3),
    "efficacy assumed": Spread(low_stops=-1.4, high_stops=0.3),
    "off": Spread(low_stops=0.0, high_stops=0.0),
}


def joined(*spreads: Spread) -> Spread:
    """Return the spread of causes that have nothing to do with each other, multiplied."""
    low = -float(np.sqrt(sum(one.low_stops**2 for one in spreads)))
    high = float(np.sqrt(sum(one.high_stops**2 for one in spreads)))
    return Spread(low_stops=low, high_stops=high)


def added(parts: list[tuple[float, Spread]]) -> Spread:
    """Return the spread of amounts (amount, its spread) added up.

    Notes
    -----
    They are taken to be off together, for heads of one kind err the same way.
    """
    total = sum(amount for amount, _ in parts)
    if total <= 0:
        return SPREADS["off"]
    low = sum(amount * 2.0**one.low_stops for amount, one in parts) / total
    high = sum(amount * 2.0**one.high_stops for amount, one in parts) / total
    return Spread(low_stops=float(np.log2(low)), high_stops=float(np.log2(high)))
