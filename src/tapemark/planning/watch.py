"""Being told how far a long search is, and asked to stop it."""

from collections.abc import Callable
from dataclasses import dataclass, field


@dataclass(kw_only=True)
class Watch:
    """How a search and whoever waits for it talk.

    Attributes
    ----------
    tell : callable
        Told now and then, in a few words, how far it is.
    stopped : bool
        Set from outside: the search ends soon, with the best it has.
    """

    tell: Callable[[str], None] = field(default=lambda text: None)
    stopped: bool = False
