"""Fit head, camera, glasses and lights to a picture, naming the reflections on the way.

First to the landmarks alone; then landmarks and reflections together, taken anew about the fit
until neither names nor fit change.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.matching.beliefs import Belief, first_belief
from tapemark.photo.matching.model import (
    NAMED_EDGE_MM,
    Model,
    Nearby,
    landmarks_nearby,
    nearby,
)
from tapemark.photo.matching.naming import Answer, Label, answers, retold

ROUNDS, REFITTED, SETTLED = 4, 3, 0.15  # rounds at most; in spreads
STRETCHED = 3.0  # in spreads
FREEDOM, REWEIGHED = 3.0, 4  # of the errors of landmarks, of which some are gross
FARTHEST = 4.0  # in spreads: no fit is believed beyond


@dataclass(frozen=True, kw_only=True, eq=False)
class Fit:
    """A fitted model.

    Attributes
    ----------
    near : Nearby
        The model about it.
    alone : Belief
        From landmarks alone.
    answers : tuple of Answer
        Names of all reflections, the likeliest first; one without any where none was read.
    """

    near: Nearby
    alone: Belief
    answers: tuple[Answer, ...]

    @property
    def best(self) -> Answer:
        """The likeliest answer."""
        return self.answers[0]

    @property
    def believable(self) -> bool:
        """Whether nothing had to be stretched far: else the reading itself is wrong somewhere."""
        return float(np.abs(self.best.belief.mean).max()) < STRETCHED

    def share_of(self, number: int) -> float:
        """Return how likely one reflection shows just what the best answer says, 0 to 1."""
        own = self.best.labels[number]
        return float(
            sum(np.exp(one.log_weight) for one in self.answers if one.labels[number] == own)
        )


def fitted(model: Model) -> Fit:
    """Return the fit of a model to a picture."""
    at, alone = _to_landmarks(model, np.zeros(len(model.unknowns.names)))
    near = nearby(model, at)
    if not model.regions:
        return Fit(near=near, alone=alone, answers=(_nothing(alone),))
    found = answers(model, near, alone)
    for _ in range(ROUNDS - 1):
        labels, there = found[0].labels, _held(found[0].belief.mean)
        moved = float(np.abs(there - near.fit).max())
        if moved < SETTLED:
            break
        near = nearby(model, there)
        found = answers(model, near, alone)
        if found[0].labels == labels and moved < 3.0 * SETTLED:
            break
    return Fit(near=near, alone=alone, answers=found)


def refitted(
    model: Model, fit: Fit, labels: tuple[Label, ...], *, freed: Mapping[str, float]
) -> tuple[Nearby, Answer]:
    """Return the fit with given names, some unknowns less sure than usual.

    Parameters
    ----------
    model : Model
        What was read.
    fit : Fit
        Its fit.
    labels : tuple of Label
        Names of all reflections.
    freed : mapping of str to float
        Spreads of unknowns, in the unit of their names.

    Returns
    -------
    Nearby, Answer
        The model about that fit, and the answer.
    """
    model = replace(model, edge_mm=NAMED_EDGE_MM)
    named = frozenset(one for label in labels for one in label.emitters)
    covariance, most = fit.alone.covariance.copy(), np.full(len(model.unknowns.names), FARTHEST)
    for name, spread in freed.items():
        place = model.unknowns.at(name)
        times = spread / float(model.unknowns.spread[place])
        covariance[place], covariance[:, place] = 0.0, 0.0
        covariance[place, place] = times**2
        most[place] *= times
    belief, near = Belief(mean=fit.alone.mean, covariance=covariance), fit.near
    answer = retold(model, near, belief, labels)
    for _ in range(REFITTED):
        there = np.clip(answer.belief.mean, -most, most)
        if float(np.abs(there - near.fit).max()) < SETTLED:
            break
        near = nearby(model, there, only=named)
        answer = retold(model, near, belief, labels)
    return near, answer


def _to_landmarks(model: Model, at: FloatArray) -> tuple[FloatArray, Belief]:
    """Return the fit to the landmarks alone, and what they say."""
    for _ in range(3):
        misses, slope = landmarks_nearby(model, at)
        alone = _alone(misses, slope, fit=at)
        there = _held(alone.mean)
        if float(np.abs(there - at).max()) < SETTLED:
            break
        at = there
    return at, alone


def _alone(misses: FloatArray, slope: FloatArray, *, fit: FloatArray) -> Belief:
    """Return what landmarks say, those that are far from where all others have them for less.

    Notes
    -----
    Each is weighed as by a Student distribution of `FREEDOM`, about where it then is.
    """
    sure = np.isfinite(misses)
    value, steep = misses[sure], slope[sure]
    variance = np.ones(len(value))
    for _ in range(REWEIGHED):
        found, _ = first_belief(len(fit)).after(value, steep, fit=fit, variance=variance)
        left = value + steep @ (found.mean - fit)
        variance = (FREEDOM + left**2) / (FREEDOM + 1.0)
    return found


def _held(fit: FloatArray) -> FloatArray:
    return np.clip(fit, -FARTHEST, FARTHEST)


def _nothing(belief: Belief) -> Answer:
    return Answer(labels=(), belief=belief, log_weight=0.0)
