"""Legs turned and sandbags hung, so that no stand of a plan tips easily."""

import math

from tapemark.analysis import rigs
from tapemark.analysis.stand_findings import LEAST_DEG
from tapemark.analysis.stands import stand_balances
from tapemark.studio import Light, Setup, changed
from tapemark.units import KILOGRAM_PER_POUND

BAG_KG, BAG_US_KG = 5.0, 10.0 * KILOGRAM_PER_POUND  # a sandbag: 5 kg, 10 lb (common practice)
MOST_BAGS = 3


def steadied(setup: Setup) -> Setup:
    """Return a setup with a leg under each load, and sandbags where that is not enough.

    Parameters
    ----------
    setup : Setup
        Stands that were described are steadied; assumed ones are left to the findings.
    """
    turned = changed(setup, {"lights": tuple(_leg_turned(light) for light in setup.lights)})
    lights = {light.name: light for light in turned.lights}
    bag = BAG_US_KG if setup.units == "us" else BAG_KG
    for one in stand_balances(rigs(turned)):
        if one.stand_assumed or one.weakest_deg >= LEAST_DEG or one.ballast_kg is None:
            continue
        bags = math.ceil(one.ballast_kg / bag)
        if bags <= MOST_BAGS:
            lights[one.name] = _with_ballast(lights[one.name], bags * bag)
    return changed(turned, {"lights": tuple(lights.values())})


def _leg_turned(light: Light) -> Light:
    if light.stand is None or light.stand.kind == "fixed":
        return light
    return changed(light, {"stand": changed(light.stand, {"leg_under_load": True})})


def _with_ballast(light: Light, ballast_kg: float) -> Light:
    if light.stand is None:
        return light
    hung = light.stand.ballast_kg + ballast_kg
    return changed(light, {"stand": changed(light.stand, {"ballast_kg": hung})})
