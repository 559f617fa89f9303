"""Where the photo shows a light elsewhere than the setup says.

Every light that shows is let free in one way: its height, its side or its distance.  If the
reflections are then far likelier, and it ends up farther off than the fit is uncertain, the
photo contradicts the setup.  One light that shows alone may as well be explained by a chin or a
tilt of the glasses; what is left open by that is in the spread, and nothing is said then.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tapemark.photo.matching.beliefs import Belief
from tapemark.photo.matching.fitting import Fit, refitted
from tapemark.photo.matching.model import Model
from tapemark.photo.matching.naming import Label, weighed_answers
from tapemark.photo.matching.result import Contradiction, What
from tapemark.planning.moves.words import amount_text
from tapemark.units import UnitSystem, format_length, format_side

#: How far a light may have got from where it was written, before it is looked for. [m], [deg], [m]
FREE = {"height_m": 0.4, "side_deg": 20.0, "distance_m": 0.5}
#: Less is no contradiction: so exactly nobody tapes. [m], [deg], [m]
LEAST = {"height_m": 0.08, "side_deg": 5.0, "distance_m": 0.15}
TRIED, WIDTH = 3, 10  # ways, the most promising first; answers kept for each
STRAINED = 0.8  # in spreads: fits that need less agree with the setup
LIKELIER = 1.5  # log of how much likelier the reflections have to be, besides the wider choice
BEYOND = 2.5  # spreads from where it was written
AS_WELL = 2.0  # log: what is less likely than the best by no more is said too
_WHAT: dict[str, What] = {"height_m": "height", "side_deg": "side", "distance_m": "distance"}


def contradictions(
    model: Model, fit: Fit, *, labels: tuple[Label, ...]
) -> tuple[Contradiction, ...]:
    """Return where the photo contradicts the place of a light: the likeliest one, or none.

    Parameters
    ----------
    model : Model
        What was read.
    fit : Fit
        Its fit.
    labels : tuple of Label
        Names of the reflections, as far as they are sure.
    """
    strained = float(np.abs(fit.best.belief.mean).max()) > STRAINED
    if not fit.believable or not strained or not any(one.images for one in labels):
        return ()
    found = []
    for gain, name, names in sorted(_gains(model, fit, labels), key=lambda one: -one[0])[:TRIED]:
        one = _shown(model, fit, names, name) if gain > LIKELIER else None
        if one is not None:
            found.append((gain, one))
    return tuple(_with_other(gain, one, found) for gain, one in found[:1])


def _with_other(
    gain: float, one: Contradiction, found: list[tuple[float, Contradiction]]
) -> Contradiction:
    """Return a contradiction with what another light would explain nearly as well in its text."""
    for own, other in found:
        if other.light != one.light and own > gain - AS_WELL:
            return replace(one, text=f"{one.text}, or {other.text}")
    return one


def _gains(
    model: Model, fit: Fit, labels: tuple[Label, ...]
) -> list[tuple[float, str, tuple[Label, ...]]]:
    """Return how much likelier the reflections are where each light may be elsewhere.

    With the name of what is free, and the reflections named anew: front and back of a lens are
    taken for one another where a light is not where it is looked for.
    """
    shown = {model.shining[one].emitter.name for label in labels for one in label.emitters}
    _, written = weighed_answers(model, fit.near, fit.alone, width=WIDTH)
    gains = []
    for name in model.unknowns.names:
        light, _, what = name.rpartition(": ")
        if light not in shown:
            continue
        place = model.unknowns.at(name)
        covariance = fit.alone.covariance.copy()
        covariance[place, place] = (FREE[what] / model.unknowns.spread[place]) ** 2
        freed = Belief(mean=fit.alone.mean, covariance=covariance)
        named, free = weighed_answers(model, fit.near, freed, width=WIDTH)
        gains.append((free - written, name, named[0].labels))
    return gains


def _shown(model: Model, fit: Fit, labels: tuple[Label, ...], name: str) -> Contradiction | None:
    """Return where a light is shown; None where that is as written, or not known enough."""
    light, _, what = name.rpartition(": ")
    unknowns = model.unknowns
    _, answer = refitted(model, fit, labels, freed={name: FREE[what]})
    shown = unknowns.estimate(answer.belief.mean, answer.belief.covariance, name)
    mark = float(unknowns.mean[unknowns.at(name)])
    away = shown.value - mark
    if abs(away) < max(LEAST[what], BEYOND * shown.spread):
        return None
    system = model.setup.units
    return Contradiction(
        light=light,
        what=_WHAT[what],
        written=mark,
        shown=shown.value,
        spread=shown.spread,
        written_text=_place_text(mark, what, system=system),
        shown_text=_place_text(shown.value, what, system=system),
        text=f"{light} is {_away_text(away, what, written=mark, system=system)} than written",
    )


def _place_text(value: float, what: str, *, system: UnitSystem) -> str:
    if what == "side_deg":
        return format_side(float(np.round(value)))
    return format_length(value, system=system)


def _away_text(away: float, what: str, *, written: float, system: UnitSystem) -> str:
    if what == "side_deg":
        size = amount_text(float(np.round(abs(away))), unit="deg", system=system)
        way = "camera-left" if away > 0 else "camera-right"
        return f"{size} {'farther ' if away * written > 0 else 'more '}to {way}"
    words = {"height_m": ("lower", "higher"), "distance_m": ("nearer", "farther")}
    return f"{amount_text(abs(away), unit='m', system=system)} {words[what][away > 0]}"
