"""How a report is laid out in a terminal: width, wrapping, numbers."""

import textwrap
from collections.abc import Iterator

from tapemark.photometry import nominal_aperture

WIDTH = 92
_HANGING = 11  # what a wrapped line is moved in by


def wrapped(lead: str, text: str) -> Iterator[str]:
    """Yield a text after a lead, wrapped under its own first line."""
    first, *rest = textwrap.wrap(text, WIDTH - _HANGING) or [""]
    yield f"{lead} {first}"
    for line in rest:
        yield f"{'':<{_HANGING}}{line}"


def folded(text: str, *, indent: int) -> Iterator[str]:
    """Yield a text moved in, its further lines moved in by two more."""
    lead = " " * indent
    yield from textwrap.wrap(
        text, WIDTH, initial_indent=lead, subsequent_indent=f"{lead}  ", break_on_hyphens=False
    )


def percent(share: float) -> str:
    """Return a share as a percentage that lines up: `` 3.4 %``."""
    return f"{100 * share:4.1f} %"


def stop_number(aperture: float | None) -> str:
    """Return a reading as meters show it, or that there is none."""
    if aperture is None:
        return "no light"
    nominal = float(nominal_aperture(aperture))
    return f"f/{nominal:g}" if aperture > 0.95 * nominal else f"below f/{nominal:g}"


def signed(stops: float) -> str:
    """Return a number of stops with its sign, to a tenth: ``+0.3``, never ``-0.0``."""
    return f"{round(stops, 1) + 0.0:+.1f}"
