"""The test shot before the test shot: a setup as a path tracer sees it."""

from tapemark.rendering.developing import developed, sensor_values
from tapemark.rendering.image_files import IMAGE_SUFFIXES, image_bytes
from tapemark.rendering.lightbook import INDEX_FILE, LightBook, fingerprint
from tapemark.rendering.shot import EFFORTS, Effort, Photographer, Shot, Watching
from tapemark.rendering.source_colors import source_colors
from tapemark.rendering.stage import Stage, build_stage
from tapemark.rendering.tracer import Tracer, load_tracer
from tapemark.rendering.variants import Quality, Variant, choose_variant

__all__ = [
    "EFFORTS",
    "IMAGE_SUFFIXES",
    "INDEX_FILE",
    "Effort",
    "LightBook",
    "Photographer",
    "Quality",
    "Shot",
    "Stage",
    "Tracer",
    "Variant",
    "Watching",
    "build_stage",
    "choose_variant",
    "developed",
    "fingerprint",
    "image_bytes",
    "load_tracer",
    "sensor_values",
    "source_colors",
]
