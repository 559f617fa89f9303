"""Changing frozen data: a copy with some fields changed, checked again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from pydantic import ValidationError

from tapemark.errors import SetupError
from tapemark.studio.base import Data
from tapemark.studio.explaining import explain
from tapemark.studio.lights import Light
from tapemark.studio.setup import Setup

__all__ = ["changed", "with_light"]

_Thing = TypeVar("_Thing", bound=Data)


def changed(thing: _Thing, changes: Mapping[str, object]) -> _Thing:
    """Return a copy of a part of a setup with some fields changed, checked again.

    Parameters
    ----------
    thing : Data
        A setup or a part of one.
    changes : mapping of str to object
        New values by field name, in the unit of the field.

    Returns
    -------
    Data
        Of the same type. Fields never stated stay so, and follow from the changed ones.

    Raises
    ------
    SetupError
        If the changed data are not valid.

    Examples
    --------
    >>> from tapemark.studio import Place
    >>> changed(Place(distance_m=1.2, height_m=1.4), {"height_m": 1.9}).height_m
    1.9
    """
    values = {name: getattr(thing, name) for name in thing.model_fields_set} | dict(changes)
    try:
        return type(thing).model_validate(values)
    except ValidationError as error:
        problems = explain(error, model=type(thing), data=values)
        raise SetupError(tuple(problems), name=f"changed {type(thing).__name__.lower()}") from None


def with_light(setup: Setup, light: Light) -> Setup:
    """Return a setup in which a light replaces the one of the same name, or is added.

    Raises
    ------
    SetupError
        If the light cannot be there.
    """
    names = [other.name for other in setup.lights]
    lights = [light if other.name == light.name else other for other in setup.lights]
    if light.name not in names:
        lights.append(light)
    return changed(setup, {"lights": tuple(lights)})
