"""How curved and how tilted a lens is, from the size of a light that it mirrors.

A light of known size at a known distance, and its image in the front of a lens: this is a
keratometer, with the lens for a cornea.  The mirror equation gives the radius,

    m = (R/2) / (d + R/2),    R = 2 d m / (1 - m);

here it is solved with the whole trace, for the lens is seen from the side and the image not on
its axis.  The place of the image on the lens gives the tilt.

References
----------
[keratometer], [openstax-mirror]
"""

from __future__ import annotations

import numpy as np

from tapemark.optics import convex_magnification
from tapemark.photo.matching.fitting import Fit, refitted
from tapemark.photo.matching.model import Model, Nearby
from tapemark.photo.matching.naming import UNKNOWN_LABEL, Label
from tapemark.photo.matching.result import Estimate, LensEstimate

RADIUS_TIMES_BASE = 530.0  # [mm D] what a base curve is the label of
LEAST_BASE_D = 0.25
OPEN_SPREAD_D = 4.0  # before a lens is measured any curve is about as likely
SURE_SHARE = 0.6  # that it is this light by these surfaces
USEFUL_SHARE = 0.3  # of the radius: estimates that are less exact are left out


def radius_of(base: Estimate) -> Estimate:
    """Return the radius of a base curve. [mm]

    Examples
    --------
    >>> radius_of(Estimate(value=5.3, spread=0.53))
    Estimate(value=100.0, spread=10.0)
    """
    curve = max(base.value, LEAST_BASE_D)
    radius = RADIUS_TIMES_BASE / curve
    return Estimate(value=radius, spread=radius * base.spread / curve)


def lens_estimates(
    model: Model, fit: Fit, *, labels: tuple[Label, ...]
) -> tuple[LensEstimate, ...]:
    """Return what each lens is like by the lights that it shows whole.

    Parameters
    ----------
    model : Model
        What was read.
    fit : Fit
        Its fit.
    labels : tuple of Label
        Names of the reflections, as far as they are sure.
    """
    if not fit.believable:
        return ()
    found = []
    for lens in (0, 1):
        kept = [
            number
            for number, label in enumerate(labels)
            if model.regions[number].lens == lens
            and _measures(model, fit.near, number, label)
            and fit.share_of(number) >= SURE_SHARE
        ]
        if not kept:
            continue
        own = tuple(one if at in kept else UNKNOWN_LABEL for at, one in enumerate(labels))
        estimate = _estimate(model, own, fit, lens=lens, first=kept[0])
        if estimate.front_radius_mm.spread < USEFUL_SHARE * estimate.front_radius_mm.value:
            found.append(estimate)
    return tuple(found)


def _measures(model: Model, near: Nearby, number: int, label: Label) -> bool:
    """Return whether a reflection shows a light whole, across or up."""
    if len(label.emitters) != 1 or label.piece or 0 not in label.surfaces:
        return False
    if model.shining[label.emitters[0]].emitter.kind != "light":
        return False
    excess = near.excess[label.emitters[0]]
    known = ~(excess.cut[0, number] | excess.vague[0, number])
    return bool((known[0] and known[1]) or (known[2] and known[3]))


def _estimate(
    model: Model, labels: tuple[Label, ...], fit: Fit, *, lens: int, first: int
) -> LensEstimate:
    unknowns = model.unknowns
    near, answer = refitted(model, fit, labels, freed={"base_curve_d": OPEN_SPREAD_D})
    belief = answer.belief
    base = unknowns.estimate(belief.mean, belief.covariance, "base_curve_d")
    apart = unknowns.value(belief.mean, "base_apart_d")
    own = Estimate(value=base.value + (0.5, -0.5)[lens] * apart, spread=base.spread)
    radius = radius_of(own)
    shining = model.shining_at(near.fit, labels[first].emitters[0])
    middle = model.lenses_of(near.fit).boxed_origin[lens]
    distance = float(np.linalg.norm(shining.center - middle))
    return LensEstimate(
        side=("right", "left")[lens],
        light=shining.emitter.name,
        front_radius_mm=radius,
        base_curve_d=own,
        tilt_deg=unknowns.estimate(belief.mean, belief.covariance, "pantoscopic_tilt_deg"),
        magnification=float(convex_magnification(distance, radius_m=radius.value / 1000.0)),
    )
