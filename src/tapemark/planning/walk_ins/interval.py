"""How far a share found in a sample may be from the share in the whole population.

Chance alone: what the description of the population leaves open is not in these intervals.

References
----------
Interval of one share [wilson-1927]; of the difference of two shares found on the same sample
[agresti-min-2005].
"""

from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist

import numpy as np

CONFIDENCE = 0.95


@dataclass(frozen=True, kw_only=True, slots=True)
class Share:
    """A share found in a sample.

    Attributes
    ----------
    hits, count : int
        How many of how many.
    low, high : float
        Ends of the confidence interval, 0 to 1.
    """

    hits: int
    count: int
    low: float
    high: float

    @property
    def share(self) -> float:
        """Share in the sample; 0 where there is no sample. [-]"""
        return self.hits / self.count if self.count else 0.0


def share_of_mask(mask: np.ndarray) -> Share:
    """Return the share of those that something holds for, (n,) bool, see `share_of_sample`."""
    return share_of_sample(int(mask.sum()), len(mask))


def share_of_sample(hits: int, count: int, *, confidence: float = CONFIDENCE) -> Share:
    """Return a share with its Wilson score interval.

    Parameters
    ----------
    hits, count : int
        How many of how many; an empty sample gives the interval 0 to 1.
    confidence : float
        How often such an interval holds the true share. [-]

    Notes
    -----
    (p + z²/2n ± z √(p(1 − p)/n + z²/4n²)) / (1 + z²/n), which stays between 0 and 1 and holds
    for shares near either end.

    References
    ----------
    [wilson-1927]

    Examples
    --------
    >>> one = share_of_sample(81, 263)
    >>> round(one.low, 3), round(one.high, 3)
    (0.255, 0.366)
    """
    if count == 0:
        return Share(hits=0, count=0, low=0.0, high=1.0)
    z = NormalDist().inv_cdf(0.5 + confidence / 2)
    share, squared = hits / count, z * z / count
    middle = share + squared / 2
    half = z * sqrt(share * (1.0 - share) / count + squared / (4 * count))
    low, high = ((middle + sign * half) / (1.0 + squared) for sign in (-1.0, 1.0))
    return Share(
        hits=hits,
        count=count,
        low=0.0 if hits == 0 else max(low, 0.0),
        high=1.0 if hits == count else min(high, 1.0),
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Gain:
    """By how much a share grows on the same sample.

    Attributes
    ----------
    gain : float
        After less before, in the sample; may be negative. [-]
    low, high : float
        Ends of the confidence interval.
    """

    gain: float
    low: float
    high: float


def gain_of_sample(gained: int, lost: int, count: int, *, confidence: float = CONFIDENCE) -> Gain:
    """Return the gain of a change tried on every member of one sample.

    Parameters
    ----------
    gained, lost : int
        How many count only after the change, and only before it.
    count : int
        Size of the sample.
    confidence : float
        As in `share_of_sample`.

    Notes
    -----
    Wald's interval of a difference of matched pairs with half a member added to each of the
    four cells.

    References
    ----------
    [agresti-min-2005]
    """
    if count == 0:
        return Gain(gain=0.0, low=-1.0, high=1.0)
    z = NormalDist().inv_cdf(0.5 + confidence / 2)
    more, less, total = gained + 0.5, lost + 0.5, count + 2.0
    middle = (more - less) / total
    half = z * sqrt((more + less) - (more - less) ** 2 / total) / total
    return Gain(
        gain=(gained - lost) / count, low=max(middle - half, -1.0), high=min(middle + half, 1.0)
    )
