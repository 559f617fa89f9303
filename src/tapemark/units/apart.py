"""Names that are read from the right, set apart from the text around them.

Otherwise the numbers beside such a name would change places with it.
"""

import re
from collections.abc import Callable, Iterable
from unicodedata import bidirectional

_ISOLATE, _END = "\N{FIRST STRONG ISOLATE}", "\N{POP DIRECTIONAL ISOLATE}"


def apart(name: str) -> str:
    """Return a name as it goes into a sentence.

    Examples
    --------
    >>> apart("key"), len(apart("א"))
    ('key', 3)
    """
    turned = any(bidirectional(letter) in ("R", "AL") for letter in name)
    return f"{_ISOLATE}{name}{_END}" if turned else name


def names_apart(names: Iterable[str]) -> Callable[[str], str]:
    """Return what sets some names apart in a text that is ready."""
    turned = sorted({one for one in names if apart(one) != one}, key=len, reverse=True)
    if not turned:
        return lambda text: text
    found = re.compile("|".join(re.escape(one) for one in turned))
    return lambda text: found.sub(lambda one: apart(one[0]), text)
