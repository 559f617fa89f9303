"""What a page shows of a setup while it is being changed, and after.

``live_view`` looks quickly (*drag*) or checks everything (*full*); both give the same verdicts.
``live_view_as_plain`` tells either as data for a page.
"""

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from typing import Any, Literal, get_args

from tapemark.analysis import worst_verdict
from tapemark.services.check import CheckReport, check_setup
from tapemark.services.live.plain import view_as_plain
from tapemark.services.live.seen import PersonSeen, look
from tapemark.services.plain import Plain
from tapemark.studio import Setup

Detail = Literal["drag", "full"]
Want = Literal["plan", "side", "view", "numbers", "findings"]
EVERYTHING: frozenset[Want] = frozenset(get_args(Want))


@dataclass(frozen=True, kw_only=True, eq=False)
class LiveView:
    """What a page shows of a setup.

    Attributes
    ----------
    setup : Setup
        What it is about.
    people : tuple of PersonSeen
        The sitter, then everybody else.
    report : CheckReport or None
        The whole check; None of a quick look.
    drawings : dict of str to dict
        ``plan``, ``side`` and ``view`` as far as wanted, each with ``box``, ``svg`` and its
        ``parts``; the last also with ``eyes_box``.
    wants : frozenset of str
        What was asked for.
    """

    setup: Setup
    people: tuple[PersonSeen, ...]
    report: CheckReport | None
    drawings: dict[str, Plain]
    wants: frozenset[Want]

    @property
    def verdict(self) -> str:
        """The worst of all lenses."""
        return worst_verdict(tuple(one.verdict for one in self.people))


def live_view(
    setup: Setup, *, detail: Detail = "full", wants: Iterable[Want] = EVERYTHING
) -> LiveView:
    """Return what a page shows of a setup.

    Parameters
    ----------
    setup : Setup
        As it is, or as it would be.
    detail : "drag" or "full"
        A quick look, or the whole check with its findings.
    wants : iterable of str
        Any of ``plan``, ``side``, ``view``, ``numbers``, ``findings``.
    """
    wanted = frozenset(wants) & EVERYTHING
    people = look(setup, outlined="view" in wanted)
    return LiveView(
        setup=setup,
        people=people,
        report=check_setup(setup) if detail == "full" else None,
        drawings=_drawings(people, wanted),
        wants=wanted,
    )


def live_view_as_plain(view: LiveView, *, known: Collection[str] = ()) -> Plain:
    """Return a live view as plain data, ready for JSON.

    Parameters
    ----------
    view : LiveView
        From `live_view`.
    known : collection of str
        Marks of the parts of drawings that whoever is told has; only their marks are told.

    Returns
    -------
    dict
        ``title``, ``units``, ``verdict``, ``people``, ``lights``, ``camera``, ``sitter``,
        ``exposure``, ``pattern``, ``drawings``, ``exact``; ``findings`` after a whole check. A
        quick look leaves out what only a whole check knows; its verdicts are the same.
    """
    plain = view_as_plain(view)
    if view.drawings:
        from tapemark.services.live.drawings import drawing_told

        plain["drawings"] = {name: drawing_told(one, known) for name, one in view.drawings.items()}
    return plain


def live_moves(
    setup: Setup,
    *,
    keep: Iterable[Any] = (),
    best: int = 8,
    tell: Callable[[str], None] | None = None,
) -> list[Plain]:
    """Return the smallest changes that clear the lenses, each with its whole changed setup.

    Parameters
    ----------
    setup : Setup
        As it is.
    keep : iterable of str
        What must stay; see `tapemark.planning.KEEPS`.
    best : int
        How many at most.
    tell : function of str, optional
        Called with what is being done.
    """
    from tapemark.services.moves import moves_as_plain, moves_for  # planning is slow to load

    return moves_as_plain(moves_for(setup, keep=keep, best=best, tell=tell))


def live_map(setup: Setup, light_name: str) -> Plain:
    """Return the sightline map of one light as layers for plan and elevation.

    Returns
    -------
    dict
        ``light``, ``svg`` for the plan, ``side_svg`` for the elevation, ``words`` on the best
        open place, and ``best`` with its ``setup`` or None.

    Raises
    ------
    SetupError
        There is no such light, it is off, or it is not aimed at the sitter.
    """
    from tapemark.services.live.map import map_layers  # planning is slow to load

    return map_layers(setup, light_name)


def _drawings(people: tuple[PersonSeen, ...], wants: frozenset[Want]) -> dict[str, Plain]:
    from tapemark.services.live.drawings import drawings_of  # loads what only drawing needs

    return drawings_of(people, wants) if wants & {"plan", "side", "view"} else {}
