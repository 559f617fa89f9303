"""Light from sources to the subject, and from the subject to camera settings, on arrays."""

from tapemark.photometry.area_source import (
    disc_on_axis_factor,
    patch_illuminance,
    polygon_illuminance,
    rectangle_parallel_factor,
    rectangle_perpendicular_factor,
)
from tapemark.photometry.exposure import (
    DOME,
    FLAT,
    NOMINAL_APERTURES,
    aperture_from_exposure,
    exact_aperture,
    exposure_value,
    exposure_value_from_illuminance,
    illuminance_from_exposure_value,
    nominal_aperture,
    required_flash_exposure,
    stops_between,
)
from tapemark.photometry.flash import (
    TYPICAL_EFFICACY_LM_PER_W,
    bare_tube_intensity,
    bounced_exposure,
    face_luminance,
    flash_light_output,
    guide_number_m,
    intensity_from_guide_number,
)

__all__ = [
    "DOME",
    "FLAT",
    "NOMINAL_APERTURES",
    "TYPICAL_EFFICACY_LM_PER_W",
    "aperture_from_exposure",
    "bare_tube_intensity",
    "bounced_exposure",
    "disc_on_axis_factor",
    "exact_aperture",
    "exposure_value",
    "exposure_value_from_illuminance",
    "face_luminance",
    "flash_light_output",
    "guide_number_m",
    "illuminance_from_exposure_value",
    "intensity_from_guide_number",
    "nominal_aperture",
    "patch_illuminance",
    "polygon_illuminance",
    "rectangle_parallel_factor",
    "rectangle_perpendicular_factor",
    "required_flash_exposure",
    "stops_between",
]
