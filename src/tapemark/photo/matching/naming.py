"""Whose reflection is whose: all of them at once, with what each answer says of the others.

Every reflection is one of the images that an emitter has in one lens (by its front, its back or
both), a further piece of such an image, or something that the setup does not have.  Answers are
built up from the largest reflection on; each narrows what is believed about head and glasses, and
so what the next may be.  The best few dozen are kept, and their weights are the probabilities.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.matching.beliefs import USUAL_MM, Belief
from tapemark.photo.matching.followed_back import Excess
from tapemark.photo.matching.model import Model, Nearby
from tapemark.photo.matching.seen_regions import SeenRegion

BEAM, CANDIDATES = 24, 7
EDGE_SHARE = 0.03  # of a reflection's size: its edges are not known better than that
VAGUE_TIMES = 3.0  # less exactly where the reading may have cut at the eye
#: An edge farther off than so many spreads was read wrongly, which happens; what it counts.
FAR_OFF, GROSS = 2.5, -3.6
LENS_MM = 45.0  # something unknown may have its edges anywhere on the lens
#: How often what is read is no light of the setup: more often where it is small. [-]
PRIOR_UNKNOWN, PRIOR_UNKNOWN_SMALL, SMALL_MM = 0.06, 0.25, 4.5
PRIOR_SURFACES = {(0,): 0.35, (1,): 0.25, (0, 1): 0.4}
PRIOR_PIECE = 0.15
PRIOR_TOGETHER = 0.35  # of two lights, shared between every two
TOGETHER = 3  # emitters that are tried two at a time
BRIGHT_STOPS, BRIGHT_MOST = 1.3, 4.5  # spread of brightness, and how much it counts at most
UNSEEN_STOPS = -4.5  # fainter is not read
UNKNOWN_BRIGHT = -0.9
ONE_SIDED_UNKNOWN = float(np.log(0.6))
_GONE = 1e9


@dataclass(frozen=True, slots=True)
class Label:
    """What a reflection may be.

    Attributes
    ----------
    images : tuple of (int, int)
        Which emitters show in it, by which surface: 0 front, 1 back. Empty for something unknown.
    piece : bool
        Whether it is a further piece of an image.
    """

    images: tuple[tuple[int, int], ...] = ()
    piece: bool = False

    @property
    def emitters(self) -> tuple[int, ...]:
        """The emitters that show in it."""
        return tuple(dict.fromkeys(emitter for emitter, _ in self.images))

    @property
    def surfaces(self) -> tuple[int, ...]:
        """The surfaces that show it."""
        return tuple(sorted({surface for _, surface in self.images}))


UNKNOWN_LABEL = Label()


@dataclass(frozen=True, kw_only=True, eq=False)
class Answer:
    """One answer for all reflections: labels, how likely, and what is then believed."""

    labels: tuple[Label, ...]
    belief: Belief
    log_weight: float


def answers(model: Model, near: Nearby, belief: Belief) -> tuple[Answer, ...]:
    """Return the likeliest answers, best first, their weights as log probabilities."""
    return weighed_answers(model, near, belief)[0]


def weighed_answers(
    model: Model, near: Nearby, belief: Belief, *, width: int = BEAM
) -> tuple[tuple[Answer, ...], float]:
    """Return the likeliest answers, best first, and the log of what all of them weigh.

    Parameters
    ----------
    model : Model
        What was read, and what shines.
    near : Nearby
        The model about a fit.
    belief : Belief
        From landmarks alone.
    width : int
        How many answers are kept while they are built up.

    Returns
    -------
    tuple of Answer, float
        Their own weights are log probabilities.
    """
    order = np.argsort([-one.size_mm for one in model.regions])
    beam = [Answer(labels=(UNKNOWN_LABEL,) * len(order), belief=belief, log_weight=0.0)]
    done: list[int] = []
    for number in (int(one) for one in order):
        choices = _choices(model, near, belief, number)
        grown = [
            _with(model, near, one, number=number, label=label, done=done)
            for one in beam
            for label in choices
        ]
        found = [one for one in grown if one is not None]
        found.sort(key=lambda one: -one.log_weight)
        beam = found[:width]
        done.append(number)
    weights = np.array([one.log_weight for one in beam])
    total = weights.max() + np.log(np.exp(weights - weights.max()).sum())
    named = tuple(replace(one, log_weight=one.log_weight - float(total)) for one in beam)
    return named, float(total)


def retold(model: Model, near: Nearby, belief: Belief, labels: tuple[Label, ...]) -> Answer:
    """Return a given answer, with what is then believed."""
    found = Answer(labels=labels, belief=belief, log_weight=0.0)
    for number in (int(one) for one in np.argsort([-one.size_mm for one in model.regions])):
        log, after = measured(model, near, found.belief, number=number, label=labels[number])
        found = replace(found, belief=after, log_weight=found.log_weight + log)
    return found


def largest(model: Model, near: Nearby, label: Label, *, number: int) -> int:
    """Return which emitter makes up most of a reflection; -1 for something unknown.

    Where two run into each other, it is the one whose face fills more of the reflection's box.
    """
    if len(label.emitters) < 2:
        return label.emitters[0] if label.emitters else -1
    return max(label.emitters, key=lambda one: _filled(near.excess[one], number))


def _filled(excess: Excess, number: int) -> float:
    """Return how much of a reflection's box a face fills, by the surface that fills more."""
    size = np.maximum(excess.size_mm[:, number], 0.1)
    beyond = np.maximum(np.nan_to_num(excess.mm[:, number], nan=99.0), 0.0).reshape(2, 2, 2)
    share = np.clip(1.0 - beyond.sum(axis=-1) / size, 0.0, 1.0)
    return float(share.prod(axis=-1).max())


def measured(
    model: Model, near: Nearby, belief: Belief, *, number: int, label: Label
) -> tuple[float, Belief]:
    """Return how well a reflection fits a label, as a log density, and the belief after it."""
    region = model.regions[number]
    if not label.images:
        return _unknown(near, number), belief
    own = np.stack([near.excess[one].mm[surface, number] for one, surface in label.images])
    if not np.isfinite(own).all():
        return -_GONE, belief
    slope = np.stack([near.slope[one, surface, number] for one, surface in label.images])
    now = own + slope @ (belief.mean - near.fit)
    chosen, edge = now.argmin(axis=0), np.arange(4)
    value, steep, here = own[chosen, edge], slope[chosen, edge], now[chosen, edge]
    cut, vague = (
        np.stack(
            [getattr(near.excess[one], name)[surface, number] for one, surface in label.images]
        )[chosen, edge]
        for name in ("cut", "vague")
    )
    if label.piece:
        cut = np.ones(4, dtype=bool)
    soft = max(model.shining[one].soft for one in label.emitters)
    spread = _spreads(region, vague, soft=soft, edge_mm=model.edge_mm)
    added = np.array(
        [near.excess[one].added_stops[surface, number] for one, surface in label.images]
    )
    log = _brightness(region, added)
    if not label.piece:
        gross = ~cut & _gross(here, steep, spread, belief)
        log += GROSS * int(gross.sum())
        use = ~cut & ~gross
    else:
        use = np.zeros(4, dtype=bool)
    if use.any():
        belief, density = belief.after(
            value[use], steep[use], fit=near.fit, variance=spread[use] ** 2
        )
        log += density
    for one in np.flatnonzero(cut & (here > 0.0)):
        pick = slice(one, one + 1)
        total = float(steep[one] @ belief.covariance @ steep[one]) + spread[one] ** 2
        away = float(value[one] + steep[one] @ (belief.mean - near.fit))
        if 0.0 < away < FAR_OFF * np.sqrt(total):
            belief, _ = belief.after(
                value[pick], steep[pick], fit=near.fit, variance=spread[pick] ** 2
            )
        log -= min(0.5 * max(away, 0.0) ** 2 / total, -GROSS)
    return log, belief


def _gross(here: FloatArray, slope: FloatArray, spread: FloatArray, belief: Belief) -> np.ndarray:
    """Return which edges were read wrongly, if this label is right: at most one a way."""
    total = np.sqrt(np.einsum("ei,ij,ej->e", slope, belief.covariance, slope) + spread**2)
    off = np.abs(here) / total
    worse = off.reshape(2, 2) == off.reshape(2, 2).max(axis=1, keepdims=True)
    return np.asarray((off > FAR_OFF) & worse.reshape(4))


def _spreads(region: SeenRegion, vague: np.ndarray, *, soft: float, edge_mm: float) -> FloatArray:
    """Return how exactly the edges of a reflection are known, (4,) [mm]."""
    exact = float(np.hypot(edge_mm, EDGE_SHARE * region.size_mm))
    spread = np.where(vague, VAGUE_TIMES * exact, exact)
    return np.asarray(np.hypot(spread, soft * region.size_mm))


def _unknown(near: Nearby, number: int) -> float:
    cut = near.excess[0].cut[0, number] if near.excess else np.zeros(4, dtype=bool)
    edges = int((~cut).sum())
    usual = float(np.log(USUAL_MM * np.sqrt(2.0 * np.pi) / LENS_MM))
    return edges * usual + (4 - edges) * ONE_SIDED_UNKNOWN + UNKNOWN_BRIGHT


def _brightness(region: SeenRegion, added_stops: FloatArray) -> float:
    """Return how well the brightness of a reflection fits, as a log density."""
    added = float(np.log2((2.0**added_stops).sum()))
    if added < UNSEEN_STOPS:
        return -_GONE
    off = region.added_stops - added
    if region.clipped:
        off = max(off, 0.0)  # it may be brighter than could be told
    return -min(0.5 * (off / BRIGHT_STOPS) ** 2, BRIGHT_MOST)


def _choices(model: Model, near: Nearby, belief: Belief, number: int) -> list[Label]:
    """Return what a reflection may be, the likeliest first, something unknown always."""
    numbers = range(len(model.shining))
    single = [
        Label(images=tuple((one, surface) for surface in surfaces))
        for one in numbers
        for surfaces in PRIOR_SURFACES
    ]
    found = _rated(model, near, belief, number=number, labels=single)
    best = found[:CANDIDATES]
    near_by = [one for one in dict.fromkeys(label.emitters[0] for label in best)][:TOGETHER]
    joint = [
        Label(images=tuple((each, surface) for each in (one, other) for surface in surfaces))
        for at, one in enumerate(near_by)
        for other in near_by[at + 1 :]
        for surfaces in PRIOR_SURFACES
    ]
    pieces = [Label(images=((one, 0), (one, 1)), piece=True) for one in near_by]
    together = _rated(model, near, belief, number=number, labels=joint)[:TOGETHER]
    return [*best, *together, *pieces, UNKNOWN_LABEL]


def _rated(
    model: Model, near: Nearby, belief: Belief, *, number: int, labels: list[Label]
) -> list[Label]:
    """Return labels that a reflection may have, the likeliest first."""
    found = []
    for at, label in enumerate(labels):
        log, _ = measured(model, near, belief, number=number, label=label)
        if log > -_GONE:
            found.append((log + _prior(model, label, number), -at, label))
    return [label for _, _, label in sorted(found, key=lambda one: one[:2], reverse=True)]


def _prior(model: Model, label: Label, number: int) -> float:
    small = model.regions[number].size_mm < SMALL_MM
    unknown = PRIOR_UNKNOWN_SMALL if small else PRIOR_UNKNOWN
    if not label.images:
        return float(np.log(unknown))
    known = (1.0 - unknown) / len(model.shining)
    if len(label.emitters) > 1:
        return float(np.log(known * PRIOR_TOGETHER * PRIOR_SURFACES[label.surfaces]))
    return float(np.log(known * (PRIOR_PIECE if label.piece else PRIOR_SURFACES[label.surfaces])))


def _with(
    model: Model, near: Nearby, one: Answer, *, number: int, label: Label, done: list[int]
) -> Answer | None:
    """Return an answer with one more reflection named; None where that cannot be."""
    lens = model.regions[number].lens
    taken = {
        image
        for other in done
        if model.regions[other].lens == lens and not one.labels[other].piece
        for image in one.labels[other].images
    }
    shared = taken & set(label.images)
    if bool(shared) != label.piece:
        return None
    log, belief = measured(model, near, one.belief, number=number, label=label)
    if log <= -_GONE:
        return None
    labels = (*one.labels[:number], label, *one.labels[number + 1 :])
    weight = one.log_weight + log + _prior(model, label, number)
    return Answer(labels=labels, belief=belief, log_weight=weight)
