"""The data of a studio: frozen, checked, read from TOML and written back. No physics here."""

import importlib
import typing

from tapemark.studio.aiming import aim_direction, aim_point_m
from tapemark.studio.aims import AimName
from tapemark.studio.appearance import Appearance
from tapemark.studio.camera import SENSORS, Camera
from tapemark.studio.changing import changed, with_light
from tapemark.studio.gels import GEL_PRESETS, Gel
from tapemark.studio.glasses import Glasses, Prescription
from tapemark.studio.glasses_facts import (
    ASSUMED_COATING_REFLECTANCE,
    MATERIAL_INDEX,
    OUTLINE_SHAPES,
)
from tapemark.studio.lights import Head, Light, Meter, Modifier
from tapemark.studio.luminaires import Luminaire
from tapemark.studio.place import Place, Spot
from tapemark.studio.presets import (
    GLASSES_PRESETS,
    HEAD_PRESETS,
    MODIFIER_PRESETS,
    STAND_PRESETS,
    Preset,
)
from tapemark.studio.reading import setup_from_mapping, setup_from_toml
from tapemark.studio.room import Room
from tapemark.studio.schema import json_schema
from tapemark.studio.setup import SCHEMA_VERSION, Setup
from tapemark.studio.sitter import Companion, FaceMeasures, Sitter
from tapemark.studio.stands import Stand
from tapemark.studio.surroundings import Backdrop, Panel, Screen, Window
from tapemark.studio.wiring import Circuit, Walkway
from tapemark.studio.writing import setup_to_mapping, setup_to_toml

if typing.TYPE_CHECKING:
    from tapemark.studio.brief import (
        MOODS,
        BackgroundGear,
        Brief,
        BriefCamera,
        HeadGear,
        ModifierGear,
        PanelGear,
        StandGear,
    )
    from tapemark.studio.brief_reading import brief_from_mapping, brief_from_toml
    from tapemark.studio.parts import GEAR, PARTS, Part, part_from_mapping, part_to_mapping
    from tapemark.studio.population import (
        LENS_KINDS,
        PROGRESSIVE_FROM_YEARS,
        AgeBand,
        KindShare,
        Population,
        PoseSpread,
        population_from_toml,
    )
    from tapemark.studio.population_parts import Build, Fit, Frames, OutlineShare, Refraction

__all__ = [
    "ASSUMED_COATING_REFLECTANCE",
    "GEAR",
    "GEL_PRESETS",
    "GLASSES_PRESETS",
    "HEAD_PRESETS",
    "LENS_KINDS",
    "MATERIAL_INDEX",
    "MODIFIER_PRESETS",
    "MOODS",
    "OUTLINE_SHAPES",
    "PARTS",
    "PROGRESSIVE_FROM_YEARS",
    "SCHEMA_VERSION",
    "SENSORS",
    "STAND_PRESETS",
    "AgeBand",
    "AimName",
    "Appearance",
    "Backdrop",
    "BackgroundGear",
    "Brief",
    "BriefCamera",
    "Build",
    "Camera",
    "Circuit",
    "Companion",
    "FaceMeasures",
    "Fit",
    "Frames",
    "Gel",
    "Glasses",
    "Head",
    "HeadGear",
    "KindShare",
    "Light",
    "Luminaire",
    "Meter",
    "Modifier",
    "ModifierGear",
    "OutlineShare",
    "Panel",
    "PanelGear",
    "Part",
    "Place",
    "Population",
    "PoseSpread",
    "Prescription",
    "Preset",
    "Refraction",
    "Room",
    "Screen",
    "Setup",
    "Sitter",
    "Spot",
    "Stand",
    "StandGear",
    "Walkway",
    "Window",
    "aim_direction",
    "aim_point_m",
    "brief_from_mapping",
    "brief_from_toml",
    "changed",
    "json_schema",
    "part_from_mapping",
    "part_to_mapping",
    "population_from_toml",
    "setup_from_mapping",
    "setup_from_toml",
    "setup_to_mapping",
    "setup_to_toml",
    "with_light",
]

#: Where names are that a check has no use for; see `tapemark.services`.
_LATER = {
    "GEAR": "tapemark.studio.parts",
    "PARTS": "tapemark.studio.parts",
    "Part": "tapemark.studio.parts",
    "part_from_mapping": "tapemark.studio.parts",
    "part_to_mapping": "tapemark.studio.parts",
    "AgeBand": "tapemark.studio.population",
    "BackgroundGear": "tapemark.studio.brief",
    "Brief": "tapemark.studio.brief",
    "BriefCamera": "tapemark.studio.brief",
    "Build": "tapemark.studio.population_parts",
    "Fit": "tapemark.studio.population_parts",
    "Frames": "tapemark.studio.population_parts",
    "HeadGear": "tapemark.studio.brief",
    "KindShare": "tapemark.studio.population",
    "LENS_KINDS": "tapemark.studio.population",
    "MOODS": "tapemark.studio.brief",
    "ModifierGear": "tapemark.studio.brief",
    "OutlineShare": "tapemark.studio.population_parts",
    "PROGRESSIVE_FROM_YEARS": "tapemark.studio.population",
    "PanelGear": "tapemark.studio.brief",
    "Population": "tapemark.studio.population",
    "PoseSpread": "tapemark.studio.population",
    "Refraction": "tapemark.studio.population_parts",
    "StandGear": "tapemark.studio.brief",
    "brief_from_mapping": "tapemark.studio.brief_reading",
    "brief_from_toml": "tapemark.studio.brief_reading",
    "population_from_toml": "tapemark.studio.population",
}


def __getattr__(name: str) -> object:
    """Return a public name whose module is loaded when it is first asked for."""
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(_LATER[name]), name)
