"""The setup put right by a photo: lights where they show, the sitter as fitted."""

from __future__ import annotations

import numpy as np

from tapemark.analysis import Scene
from tapemark.errors import SetupError
from tapemark.photo.matching.fitting import Fit
from tapemark.photo.matching.model import Model
from tapemark.photo.matching.result import Contradiction
from tapemark.planning.moves.stool_shift import shifted_person
from tapemark.studio import Glasses, Setup, Sitter, changed, with_light
from tapemark.units import fine_m

NOTICED_M = 0.02  # a sitter nearer to the mark than this is on it
_FIELDS = {"height": "height_m", "side": "side_deg", "distance": "distance_m"}
#: Parts of a fit that go into a setup: how finely, and what is allowed there. [mm], [deg], [D]
_GLASSES = {
    "pantoscopic_tilt_deg": (0.5, -10.0, 30.0),
    "face_form_deg": (0.5, -10.0, 35.0),
    "vertex_distance_mm": (0.5, 4.0, 35.0),
    "slipped_mm": (0.5, 0.0, 25.0),
}


def corrected_setup(setup: Setup, found: tuple[Contradiction, ...]) -> Setup | None:
    """Return a setup with lights where the photo shows them; None where nothing is to be changed.

    Parameters
    ----------
    setup : Setup
        As written.
    found : tuple of Contradiction
        What the photo contradicts.
    """
    put = setup
    for one in found:
        light = next(light for light in put.lights if light.name == one.light)
        value = (
            round(one.shown)
            if one.what == "side"
            else fine_m(round(one.shown, 2), system=setup.units)
        )
        place = changed(light.place, {_FIELDS[one.what]: float(value)})
        try:
            put = with_light(put, changed(light, {"place": place}))
        except SetupError:  # beyond a wall or the ceiling: the photo cannot be right there
            continue
    return None if put is setup else put


def fitted_setup(setup: Setup, *, scene: Scene, model: Model, fit: Fit) -> Setup:
    """Return a setup with one person as fitted to the photo.

    Parameters
    ----------
    setup : Setup
        Corrected or as written.
    scene : Scene
        About that person, as written.
    model : Model
        What was read.
    fit : Fit
        Its fit.
    """
    index = next(at for at, one in enumerate(scene.setup.people) if one is scene.sitter)
    value = {name: _value(model, fit, name) for name in model.unknowns.names if ":" not in name}
    person = _person(setup.people[index], value, model=model)
    put = _with_person(setup, person, index=index)
    across, forward = (
        value[name] - at
        for name, at in zip(("across_m", "forward_m"), scene.sitter.mark_m, strict=True)
    )
    if np.hypot(across, forward) < NOTICED_M:
        return put
    try:
        return shifted_person(put, index=index, across_m=across, forward_m=forward)
    except SetupError:  # what then lies elsewhere cannot be there
        return put


def _value(model: Model, fit: Fit, name: str) -> float:
    return model.unknowns.value(fit.best.belief.mean, name)


def _person(person: Sitter, value: dict[str, float], *, model: Model) -> Sitter:
    changes: dict[str, object] = {
        "eye_height_m": fine_m(value["height_m"], system=model.setup.units),
        "turn_deg": _rounded(value["yaw_deg"], 0.5, -90.0, 90.0),
        "chin_deg": _rounded(value["pitch_deg"], 0.5, -45.0, 45.0),
        "tip_deg": _rounded(value["roll_deg"], 0.5, -45.0, 45.0),
    }
    if model.landmarks.with_lenses:
        changes["glasses"] = _glasses(model.unknowns.glasses, value)
    return changed(person, changes)


def _glasses(glasses: Glasses, value: dict[str, float]) -> Glasses:
    changes: dict[str, object] = {
        name: _rounded(value[name], *how) for name, how in _GLASSES.items()
    }
    changes["base_curve_d"] = _rounded(value["base_curve_d"], 0.1, 0.1, 12.0)
    return changed(glasses, changes)


def _with_person(setup: Setup, person: Sitter, *, index: int) -> Setup:
    if index == 0:
        return changed(setup, {"sitter": person})
    companions = list(setup.companions)
    companions[index - 1] = person  # type: ignore[call-overload]
    return changed(setup, {"companions": tuple(companions)})


def _rounded(value: float, step: float, low: float, high: float) -> float:
    return float(np.clip(round(value / step) * step, low, high))
