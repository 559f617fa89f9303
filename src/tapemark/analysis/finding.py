"""One thing the photographer should know, and how its numbers are said."""

from dataclasses import dataclass
from typing import Literal

from tapemark.photometry import nominal_aperture

Severity = Literal["trouble", "caution", "note"]
Topic = Literal["eyes", "exposure", "modelling", "background", "safety"]

#: The order in which a report goes through a setup, and of what is worse.
TOPICS: tuple[Topic, ...] = ("eyes", "exposure", "modelling", "background", "safety")
SEVERITIES: tuple[Severity, ...] = ("trouble", "caution", "note")


@dataclass(frozen=True, kw_only=True, slots=True)
class Finding:
    """One thing the photographer should know.

    Attributes
    ----------
    code : str
        Stable name of the kind of finding.
    severity : str
        ``trouble`` (the frame fails), ``caution`` (look at it) or ``note``.
    text : str
        What was found.
    what_to_do : str
        The next thing to try.
    topic : str
        Part of the report it belongs to; see `TOPICS`. Colour goes with the
        exposure, framing and flare with the background.
    sitter : str
        Whom it is about; empty where it is about the setup as a whole.
    """

    code: str
    severity: Severity
    text: str
    what_to_do: str
    topic: Topic = "eyes"
    sitter: str = ""


def percent(share: float) -> str:
    """Return a share as a percentage, to a tenth below ten: ``3.4 %``, ``12 %``."""
    return f"{100 * share:.1f} %" if share < 0.0995 else f"{100 * share:.0f} %"


def aperture_text(aperture: float) -> str:
    """Return the nearest aperture as lenses print it: ``f/5.6``."""
    return f"f/{float(nominal_aperture(aperture)):g}"


def stops_text(stops: float) -> str:
    """Return a size in stops, to a tenth and without its sign: ``0.7 stops``, ``1.0 stop``."""
    size = round(abs(stops), 1)
    return f"{size:.1f} {'stop' if size == 1.0 else 'stops'}"


def in_order(findings: list[Finding]) -> tuple[Finding, ...]:
    """Return findings sorted by topic, the worst of each topic first; otherwise as found."""
    ranked = sorted(
        findings, key=lambda one: (TOPICS.index(one.topic), SEVERITIES.index(one.severity))
    )
    return tuple(ranked)
