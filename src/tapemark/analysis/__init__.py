"""One question about a setup per module, answered by a result dataclass."""

from tapemark.analysis.catchlights import Catchlight, catchlights, clock_text
from tapemark.analysis.cover import CoverMap, cover_map
from tapemark.analysis.emitter import Emitter
from tapemark.analysis.emitters import emitters, light_face
from tapemark.analysis.exposure import Exposure, LightReading, Ratio, exposure
from tapemark.analysis.eye_sight import EyeSight, eye_sight
from tapemark.analysis.face_light import FaceLight, face_light
from tapemark.analysis.finding import Finding, in_order
from tapemark.analysis.findings import (
    catchlight_findings,
    data_findings,
    exposure_findings,
    flip_findings,
    lens_findings,
    sight_findings,
)
from tapemark.analysis.glare import (
    LensGlare,
    Reflection,
    Verdict,
    lens_glare,
    verdict_for,
)
from tapemark.analysis.lens_view import LensView, Surface, lattice_for, view_lenses
from tapemark.analysis.light_faces import BowlFace, FlatFace
from tapemark.analysis.outlines import ReflectionOutline, reflection_outlines
from tapemark.analysis.scene import Scene, build_scene, lenses_for
from tapemark.analysis.spread import GuessOutcome, guess_outcomes

__all__ = [
    "BowlFace",
    "Catchlight",
    "CoverMap",
    "Emitter",
    "Exposure",
    "EyeSight",
    "FaceLight",
    "Finding",
    "FlatFace",
    "GuessOutcome",
    "LensGlare",
    "LensView",
    "LightReading",
    "Ratio",
    "Reflection",
    "ReflectionOutline",
    "Scene",
    "Surface",
    "Verdict",
    "build_scene",
    "catchlight_findings",
    "catchlights",
    "clock_text",
    "cover_map",
    "data_findings",
    "emitters",
    "exposure",
    "exposure_findings",
    "eye_sight",
    "face_light",
    "flip_findings",
    "guess_outcomes",
    "in_order",
    "lattice_for",
    "lens_findings",
    "lens_glare",
    "lenses_for",
    "light_face",
    "reflection_outlines",
    "sight_findings",
    "verdict_for",
    "view_lenses",
]
