"""One question about a setup per module, answered by a result dataclass."""

from tapemark.analysis.ambient import Ambient, RoomEstimate
from tapemark.analysis.backdrop_light import BackdropLight, backdrop_light
from tapemark.analysis.background import Background, SitterShadow, Tone, background, clear_gap_m
from tapemark.analysis.background_findings import (
    background_findings,
    flare_findings,
    glow_findings,
    spill_findings,
)
from tapemark.analysis.cables import CableCrossing, StandInWay
from tapemark.analysis.camera_frame import CameraView, camera_view, frame_view
from tapemark.analysis.catchlights import Catchlight, catchlights, clock_text
from tapemark.analysis.cheek_shadow import CheekShadow
from tapemark.analysis.circuits import CircuitLoad
from tapemark.analysis.color import LightColor, MixedColor, SourceColor, light_color
from tapemark.analysis.color_findings import color_findings
from tapemark.analysis.cover import CoverMap, cover_map
from tapemark.analysis.depth_of_field import DepthOfField, FeatureSharpness, depth_of_field
from tapemark.analysis.emitter import Emitter
from tapemark.analysis.emitters import emitters, light_face
from tapemark.analysis.exposure import Exposure, LightReading, Ratio, exposure
from tapemark.analysis.exposure_findings import exposure_findings, setting_findings
from tapemark.analysis.eye_shade import EyeShade
from tapemark.analysis.eye_sight import EyeSight, eye_sight
from tapemark.analysis.face_light import FaceLight, SteadyLight, face_light, steady_light
from tapemark.analysis.face_map import FaceLightMap, face_light_map
from tapemark.analysis.face_zones import FaceZones, face_zones
from tapemark.analysis.falloff import Falloff, FalloffCurve, FalloffMark, UsefulDepth, falloff
from tapemark.analysis.finding import Finding, aperture_text, in_order
from tapemark.analysis.findings import (
    catchlight_findings,
    data_findings,
    flip_findings,
    lens_findings,
    prescription_findings,
    sight_findings,
)
from tapemark.analysis.flare import Flare, flares
from tapemark.analysis.flash_rate import CloseFlash, FlashRate
from tapemark.analysis.frame_clearance import Clearance, frame_clearances
from tapemark.analysis.frame_report import FrameReport, all_findings, frame_report
from tapemark.analysis.framing import Framing, Overhang, PersonInFrame, Perspective, framing
from tapemark.analysis.framing_findings import (
    clearance_findings,
    framing_findings,
    perspective_findings,
    sharpness_findings,
)
from tapemark.analysis.glare import (
    LensGlare,
    Reflection,
    Verdict,
    lens_glare,
    verdict_for,
    worst_verdict,
)
from tapemark.analysis.head_output import HeadOutput, head_output
from tapemark.analysis.heat import HotLight
from tapemark.analysis.key_light import KeyLight, key_light
from tapemark.analysis.lens_view import LensView, Surface, lattice_for, view_lenses
from tapemark.analysis.light_at_places import light_at_places
from tapemark.analysis.light_faces import BowlFace, FlatFace
from tapemark.analysis.modelling import FaceReading, Modelling, modelling
from tapemark.analysis.modelling_findings import modelling_findings
from tapemark.analysis.nose_shadow import NoseShadow
from tapemark.analysis.outlines import ReflectionOutline, reflection_outlines
from tapemark.analysis.overhead import Overhead
from tapemark.analysis.person_report import PersonReport, checked_view, person_report, shown_lenses
from tapemark.analysis.photochromic import DarkeningLenses
from tapemark.analysis.power_advice import PowerAdvice, power_advice
from tapemark.analysis.rigs import Rig, rigs
from tapemark.analysis.safety import Safety, safety
from tapemark.analysis.safety_findings import safety_findings
from tapemark.analysis.scene import Scene, build_scene, build_scenes, lenses_for
from tapemark.analysis.sheen import Sheen
from tapemark.analysis.spill import (
    FlagPlace,
    Glow,
    Spill,
    cutting_flag,
    cutting_grid_deg,
    glows,
    spills,
)
from tapemark.analysis.spread import GuessOutcome, GuessViews, guess_outcomes
from tapemark.analysis.stands import StandBalance
from tapemark.analysis.uncertainty import Spread

__all__ = [
    "Ambient",
    "BackdropLight",
    "Background",
    "BowlFace",
    "CableCrossing",
    "CameraView",
    "Catchlight",
    "CheekShadow",
    "CircuitLoad",
    "Clearance",
    "CloseFlash",
    "CoverMap",
    "DarkeningLenses",
    "DepthOfField",
    "Emitter",
    "Exposure",
    "EyeShade",
    "EyeSight",
    "FaceLight",
    "FaceLightMap",
    "FaceReading",
    "FaceZones",
    "Falloff",
    "FalloffCurve",
    "FalloffMark",
    "FeatureSharpness",
    "Finding",
    "FlagPlace",
    "Flare",
    "FlashRate",
    "FlatFace",
    "FrameReport",
    "Framing",
    "Glow",
    "GuessOutcome",
    "GuessViews",
    "HeadOutput",
    "HotLight",
    "KeyLight",
    "LensGlare",
    "LensView",
    "LightColor",
    "LightReading",
    "MixedColor",
    "Modelling",
    "NoseShadow",
    "Overhang",
    "Overhead",
    "PersonInFrame",
    "PersonReport",
    "Perspective",
    "PowerAdvice",
    "Ratio",
    "Reflection",
    "ReflectionOutline",
    "Rig",
    "RoomEstimate",
    "Safety",
    "Scene",
    "Sheen",
    "SitterShadow",
    "SourceColor",
    "Spill",
    "Spread",
    "StandBalance",
    "StandInWay",
    "SteadyLight",
    "Surface",
    "Tone",
    "UsefulDepth",
    "Verdict",
    "all_findings",
    "aperture_text",
    "backdrop_light",
    "background",
    "background_findings",
    "build_scene",
    "build_scenes",
    "camera_view",
    "catchlight_findings",
    "catchlights",
    "checked_view",
    "clear_gap_m",
    "clearance_findings",
    "clock_text",
    "color_findings",
    "cover_map",
    "cutting_flag",
    "cutting_grid_deg",
    "data_findings",
    "depth_of_field",
    "emitters",
    "exposure",
    "exposure_findings",
    "eye_sight",
    "face_light",
    "face_light_map",
    "face_zones",
    "falloff",
    "flare_findings",
    "flares",
    "flip_findings",
    "frame_clearances",
    "frame_report",
    "frame_view",
    "framing",
    "framing_findings",
    "glow_findings",
    "glows",
    "guess_outcomes",
    "head_output",
    "in_order",
    "key_light",
    "lattice_for",
    "lens_findings",
    "lens_glare",
    "lenses_for",
    "light_at_places",
    "light_color",
    "light_face",
    "modelling",
    "modelling_findings",
    "person_report",
    "perspective_findings",
    "power_advice",
    "prescription_findings",
    "reflection_outlines",
    "rigs",
    "safety",
    "safety_findings",
    "setting_findings",
    "sharpness_findings",
    "shown_lenses",
    "sight_findings",
    "spill_findings",
    "spills",
    "steady_light",
    "verdict_for",
    "view_lenses",
    "worst_verdict",
]
