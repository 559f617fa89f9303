"""How much light does a head give through its modifier, and how well is that known?

In order of trust: the photographer's own meter reading, the lamp's photometric file, a guide
number, the energy stored or the light stated.  What is known with one modifier is carried to
another by way of all the light of the head.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.emitter import Emitter
from tapemark.analysis.lamp_spread import (
    lamp_distribution,
    light_per_candela,
    luminaire_distribution,
)
from tapemark.analysis.light_faces import Face, modifier_face
from tapemark.analysis.uncertainty import SPREADS, KnownBy, Spread, joined
from tapemark.photometry import (
    DOME,
    FLAT,
    beam_exponent,
    exact_aperture,
    flash_light_output,
    intensity_from_guide_number,
    luminous_flux,
    required_flash_exposure,
)
from tapemark.studio import Camera, Gel, Head, Light, Meter, Modifier

#: What a head's own reflector sends on of the light of its tube; as for a bare head. [-]
OWN_REFLECTOR_EFFICIENCY = 0.9
OWN_REFLECTORS = ("bare", "reflector dish")
#: Flash lost to pulsing along with the shutter just beyond the sync limit; then a stop for each
#: stop of shutter. [stops], [high-speed-sync]
HIGH_SPEED_SYNC_STOPS = 2.3
LUMINANCE_OF_RGB = (0.2126, 0.7152, 0.0722)  # shares of red, green and blue, [wcag22]


@dataclass(frozen=True, kw_only=True, eq=False)
class HeadOutput:
    """What leaves a light in one exposure.

    Attributes
    ----------
    brightness : float
        Luminous exposure of the lit face along its axis. [cd·s/m²]
    exponent : float
        Power of the cosine with which intensity falls; 1 for an even face.
    lm_per_cd : float
        Light of its beam for each candela on the axis. [lm/cd]
    light_lm_s : float
        All that leaves the front, before a grid cuts it. [lm·s]
    known_by : str
        What it is worked out from.
    spread : Spread
        How far it may be off.
    """

    brightness: float
    exponent: float
    lm_per_cd: float
    light_lm_s: float
    known_by: KnownBy
    spread: Spread

    @property
    def intensity_cd_s(self) -> float:
        """Intensity on the axis, far away, times time. [cd·s]"""
        return self.light_lm_s / self.lm_per_cd


def head_output(light: Light, *, camera: Camera) -> HeadOutput:
    """Return what a light sends out in one exposure.

    Parameters
    ----------
    light : Light
        Head, modifier, gel, power, and the reading of it if there is one.
    camera : Camera
        Its shutter decides how much of a continuous light counts.

    Notes
    -----
    A reading is of the light as it stands: with its gel, and with its grid unless it was
    taken with another modifier.
    """
    modifier = light.modifier
    lm_per_cd = _lm_per_cd(light.head, modifier)
    area = _face_at_origin(modifier).sending_area_m2
    if light.meter is not None:
        brightness, known_by = _from_reading(light, light.meter)
    else:
        leaving, known_by = _leaving(light.head, modifier)
        passed = 2.0 ** -(gel_loss_stops(light.gel) + (modifier.grid_loss_stops or 0.0))
        brightness = leaving * passed / lm_per_cd / area
    brightness *= _amount(light, camera)
    return HeadOutput(
        brightness=brightness,
        exponent=modifier_exponent(modifier),
        lm_per_cd=lm_per_cd,
        light_lm_s=brightness * area * lm_per_cd,
        known_by=known_by if light.on else "off",
        spread=_spread(light, known_by) if light.on else SPREADS["off"],
    )


def modifier_exponent(modifier: Modifier) -> float:
    """Return the cosine power whose half-intensity angle is half the beam of a modifier."""
    beam_deg = modifier.assumed_beam_deg
    return 1.0 if beam_deg is None else float(beam_exponent(np.deg2rad(beam_deg)))


def _lm_per_cd(head: Head, modifier: Modifier) -> float:
    """Return the light of a head's beam through a modifier for each candela on its axis."""
    measured = lamp_distribution(head, modifier=modifier)
    return light_per_candela(measured, exponent=modifier_exponent(modifier))


def gel_loss_stops(gel: Gel | None) -> float:
    """Return the light a gel takes [stops]: stated, else from the colour it lets through."""
    if gel is None:
        return 0.0
    if gel.loss_stops is not None:
        return gel.loss_stops
    if gel.shares is None:
        return 0.0
    passed = sum(part * share for part, share in zip(LUMINANCE_OF_RGB, gel.shares, strict=True))
    return float(-np.log2(passed))


def flash_loss_stops(camera: Camera) -> float:
    """Return what flash loses to a shutter beyond the sync limit [stops]."""
    if not camera.high_speed_sync or camera.shutter_s >= camera.sync_s:
        return 0.0
    return HIGH_SPEED_SYNC_STOPS + float(np.log2(camera.sync_s / camera.shutter_s))


def _amount(light: Light, camera: Camera) -> float:
    """Return the share of full power, times the shutter time for a continuous head."""
    if not light.on:
        return 0.0
    if light.head.kind == "continuous":
        return float(2.0**light.power_stops) * camera.shutter_s
    return float(2.0 ** (light.power_stops - flash_loss_stops(camera)))


def _leaving(head: Head, modifier: Modifier) -> tuple[float, KnownBy]:
    """Return the light that leaves a modifier at full power [lm·s, or lm], and how it is known."""
    if head.kind == "flash" and head.guide_number_m is not None:
        reflected = _light_of_guide_number(head, head.guide_number_m)
        if modifier.kind in OWN_REFLECTORS:
            return reflected, "guide number"
        passed = modifier.assumed_efficiency / OWN_REFLECTOR_EFFICIENCY
        return reflected * passed, "guide number carried over"
    if head.kind == "continuous":
        return _leaving_lamp(head, modifier)
    tube = float(flash_light_output(head.energy_j or 0.0, efficacy_lm_per_w=head.efficacy_lm_per_w))
    return tube * modifier.assumed_efficiency, "stored energy"


def _leaving_lamp(head: Head, modifier: Modifier) -> tuple[float, KnownBy]:
    """Return the light that leaves a modifier on a continuous head [lm], and how it is known.

    Light that the user states scales the candela of a photometric file; that of a preset does
    not. What a file tells has left the lamp's own optics: a bare head loses nothing more.
    """
    if head.luminaire is None:
        return float(head.lumens or 0.0) * modifier.assumed_efficiency, "stated light"
    stated = head.lumens if "lumens" in head.model_fields_set else None
    sent = luminous_flux(luminaire_distribution(head.luminaire)) if stated is None else stated
    if modifier.kind == "bare":
        passed = 1.0 if modifier.efficiency is None else modifier.efficiency
        return sent * passed, "photometric file" if stated is None else "stated light"
    carried: KnownBy = "photometric file carried over" if stated is None else "stated light"
    return sent * modifier.assumed_efficiency, carried


def _light_of_guide_number(head: Head, guide_number_m: float) -> float:
    """Return the light that a head's own reflector sends at full power [lm·s]."""
    intensity = intensity_from_guide_number(guide_number_m, iso=float(head.guide_number_iso))
    exponent = float(beam_exponent(np.deg2rad(head.guide_number_beam_deg)))
    measured = None if head.luminaire is None else luminaire_distribution(head.luminaire)
    return float(intensity) * light_per_candela(measured, exponent=exponent)


def _from_reading(light: Light, meter: Meter) -> tuple[float, KnownBy]:
    """Return the brightness along the axis at full power [cd·s/m², or cd/m²] from a reading."""
    taken_with = light.modifier if meter.modifier is None else meter.modifier
    per_brightness = _reading_per_brightness(light.head, taken_with, meter.distance_m)
    metered = _metered(meter) / per_brightness * 2.0**-meter.power_stops
    if _alike(taken_with, light.modifier):
        return metered, "own reading"
    area = _face_at_origin(taken_with).sending_area_m2
    sent = metered * area * _lm_per_cd(light.head, taken_with)
    loss = (taken_with.grid_loss_stops or 0.0) - (light.modifier.grid_loss_stops or 0.0)
    passed = light.modifier.assumed_efficiency / taken_with.assumed_efficiency * 2.0**loss
    on_axis = sent * passed / _lm_per_cd(light.head, light.modifier)
    area = _face_at_origin(light.modifier).sending_area_m2
    return on_axis / area, "own reading carried over"


def _metered(meter: Meter) -> float:
    """Return what a meter received: lx·s for a flash, lx for a continuous light."""
    if meter.illuminance_lx is not None:
        return meter.illuminance_lx
    constant = FLAT if meter.receptor == "flat" else DOME
    n = exact_aperture(float(meter.aperture or 0.0))
    return float(required_flash_exposure(n, iso=float(meter.iso), calibration=constant))


def _reading_per_brightness(head: Head, modifier: Modifier, distance_m: float) -> float:
    """Return what a receptor on the axis gets from a face of unit brightness, near or far."""
    face = _face_at_origin(modifier)
    grid_rad = None if modifier.grid_deg is None else float(np.deg2rad(modifier.grid_deg))
    source = Emitter(
        name="",
        kind="light",
        face=face,
        brightness=1.0,
        beam_exponent=modifier_exponent(modifier),
        distribution=lamp_distribution(head, modifier=modifier),
        grid_rad=grid_rad,
    )
    ahead = face.axes[:, 1]
    return float(source.exposure_at(face.center + distance_m * ahead, normal=-ahead))


def _face_at_origin(modifier: Modifier) -> Face:
    return modifier_face(modifier, center=np.zeros(3), axes=np.eye(3))


def _alike(first: Modifier, second: Modifier) -> bool:
    """Return whether two modifiers pass light on alike."""
    keys = [
        (
            one.kind,
            one.face_size_m,
            one.assumed_beam_deg,
            one.assumed_efficiency,
            one.grid_deg,
            one.grid_loss_stops,
        )
        for one in (first, second)
    ]
    return keys[0] == keys[1]


def _spread(light: Light, known_by: KnownBy) -> Spread:
    """Return how far what is known in one way may be off, with what is put before the head."""
    head, modifier = light.head, light.modifier
    if light.meter is not None:
        return SPREADS[known_by]
    stated = modifier.efficiency is not None
    passing = [SPREADS["modifier stated" if stated else "modifier assumed"]]
    if known_by == "stored energy":
        sure = "efficacy_lm_per_w" in head.model_fields_set
        parts = [SPREADS["efficacy stated" if sure else "efficacy assumed"], *passing]
    elif known_by == "stated light":
        parts = [SPREADS[known_by], *passing]
    else:
        parts = [SPREADS[known_by]]
    if modifier.grid_deg is not None and modifier.grid_loss_stops is None:
        parts.append(SPREADS["grid not metered"])
    if light.gel is not None:
        parts.append(SPREADS["gel"])
    return joined(*parts)
