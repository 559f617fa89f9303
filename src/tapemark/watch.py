"""Being told how far long work is, and asked to stop it.

It lies at the bottom so that whoever only waits loads nothing of what is waited for.
"""

from collections.abc import Callable
from dataclasses import dataclass, field


@dataclass(kw_only=True)
class Watch:
    """How long work and whoever waits for it talk.

    Attributes
    ----------
    tell : callable
        Told now and then, in a few words, how far it is.
    stopped : bool
        Set from outside: the work ends soon, with the best it has.
    """

    tell: Callable[[str], None] = field(default=lambda text: None)
    stopped: bool = False
