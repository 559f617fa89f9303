"""The test shot before the test shot: a setup as a path tracer sees it."""

from tapemark.rendering.developing import developed, sensor_values
from tapemark.rendering.efforts import EFFORTS, Effort
from tapemark.rendering.image_files import IMAGE_SUFFIXES, check_writable, image_bytes
from tapemark.rendering.interruption import Dropped, Patience
from tapemark.rendering.lightbook import INDEX_FILE, LightBook, fingerprint
from tapemark.rendering.photographer import Photographer
from tapemark.rendering.shot import Shot, Step, Watching
from tapemark.rendering.source_colors import source_colors
from tapemark.rendering.stage import Stage, build_stage
from tapemark.rendering.tracer import Tracer, load_tracer
from tapemark.rendering.variants import Quality, Variant, choose_variant

__all__ = [
    "EFFORTS",
    "IMAGE_SUFFIXES",
    "INDEX_FILE",
    "Dropped",
    "Effort",
    "LightBook",
    "Patience",
    "Photographer",
    "Quality",
    "Shot",
    "Stage",
    "Step",
    "Tracer",
    "Variant",
    "Watching",
    "build_stage",
    "check_writable",
    "choose_variant",
    "developed",
    "fingerprint",
    "image_bytes",
    "load_tracer",
    "sensor_values",
    "source_colors",
]
