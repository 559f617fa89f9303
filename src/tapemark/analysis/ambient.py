"""How much of the picture is light that burns all the time, and what does the room add?

Windows, screens, continuous heads and the room's own lamps go by the shutter,
flash does not.  Which of them are one light and which fill is seen elsewhere.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from tapemark.analysis.emitter import Emitter
from tapemark.analysis.light_faces import FlatFace
from tapemark.photometry import (
    DOME,
    ambient_stops_under,
    exact_aperture,
    exposure_value,
    exposure_value_from_illuminance,
    nominal_shutter_s,
    room_exposure,
    shutter_for_stops_under,
    stops_between,
)
from tapemark.studio import Camera, Room

#: Steady light this far under the flash is not seen (common practice, no published source). [stops]
UNSEEN_STOPS = 5.0
BRIGHTEST_ROOM = 0.95  # mean reflectance up to which the estimate of a room is followed [-]
#: What a dome before a head takes in of light that comes from all sides, over what a wall gets: a
#: dome in the open gets twice that, and the head hides the back half, which counts less. [-]
DOME_BEFORE_HEAD = 1.5
ROOM_SURFACES = ("ceiling", "wall", "floor")


@dataclass(frozen=True, kw_only=True, slots=True)
class Ambient:
    """Steady light at the sitter, as a dome at the face sees it.

    Attributes
    ----------
    exposure_lx_s : float
        Over the shutter time. [lx·s]
    illuminance_lx : float
        The same as illuminance. [lx]
    share : float
        Share of all the light, 0 to 1. [-]
    stops_under_flash : float or None
        Flash over steady light; None without both. [stops]
    stops_under_setting : float or None
        The camera's setting over what steady light alone calls for; None without any. [stops]
    sources : tuple of str
        Where it comes from, the strongest first.
    shutter_s : float or None
        Longest printed shutter time at which it is not seen beside the flash; None without
        flash, if it is not seen as it is, or if the sync limit does not allow it. [s]
    """

    exposure_lx_s: float
    illuminance_lx: float
    share: float
    stops_under_flash: float | None
    stops_under_setting: float | None
    sources: tuple[str, ...]
    shutter_s: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class RoomEstimate:
    """What the whole room throws back, as one number: an estimate, to a factor of two.

    Attributes
    ----------
    exposure_lx_s : float
        With a dome at the face, beyond the surfaces that are followed one by one. [lx·s]
    reflectance : float
        Mean of the room's surfaces by area. [-]
    """

    exposure_lx_s: float
    reflectance: float


def steady_shares(emitters: tuple[Emitter, ...]) -> tuple[float, ...]:
    """Return the share of each emitter's light, 0 to 1, that burns all the time."""
    own = {one.name: float(one.steady) for one in emitters if not one.fed_by}
    return tuple(
        sum(
            share * own.get(name, 0.0)
            for name, share in zip(one.fed_by, one.fed_shares, strict=True)
        )
        if one.fed_by
        else float(one.steady)
        for one in emitters
    )


def ambient(steady: Mapping[str, float], *, flash_lx_s: float, camera: Camera) -> Ambient:
    """Return how steady light stands to the flash.

    Parameters
    ----------
    steady : mapping
        What a dome at the face gets from each steady source over the shutter time. [lx·s]
    flash_lx_s : float
        What it gets from flash. [lx·s]
    camera : Camera
        Aperture, shutter, ISO and sync limit.
    """
    total = sum(steady.values())
    both = total > 0 and flash_lx_s > 0
    illuminance = total / camera.shutter_s
    under = float(stops_between(flash_lx_s, reference=total)) if both else None
    ranked = sorted(((amount, name) for name, amount in steady.items() if amount > 0), reverse=True)
    return Ambient(
        exposure_lx_s=total,
        illuminance_lx=illuminance,
        share=total / (total + flash_lx_s) if total > 0 else 0.0,
        stops_under_flash=under,
        stops_under_setting=_under_setting(illuminance, camera) if total > 0 else None,
        sources=tuple(name for _, name in ranked),
        shutter_s=None
        if under is None or under >= UNSEEN_STOPS
        else _shutter_s(flash_lx_s, illuminance, camera),
    )


def _under_setting(illuminance_lx: float, camera: Camera) -> float:
    """Return the stops that steady light alone stays under the camera's setting."""
    setting = exposure_value(exact_aperture(camera.aperture), shutter_s=camera.shutter_s)
    at_iso_100 = setting - np.log2(camera.iso / 100.0)
    scene = exposure_value_from_illuminance(illuminance_lx, calibration=DOME)
    return float(ambient_stops_under(at_iso_100, scene_ev=scene))


def _shutter_s(flash_lx_s: float, illuminance_lx: float, camera: Camera) -> float | None:
    """Return the shutter time that hides steady light beside flash, if it can be synchronised."""
    wanted = float(
        shutter_for_stops_under(UNSEEN_STOPS, flash_lx_s=flash_lx_s, illuminance_lx=illuminance_lx)
    )
    printed = nominal_shutter_s(wanted)
    return printed if printed <= wanted * 1.001 and printed >= camera.sync_s else None


def room_estimate(
    emitters: tuple[Emitter, ...], *, sent_lm_s: Mapping[str, float], room: Room
) -> RoomEstimate:
    """Return what the room as a whole adds beside the surfaces that are followed.

    Parameters
    ----------
    emitters : tuple of Emitter
        Everything that sends light.
    sent_lm_s : mapping
        Light that each head sends into the room, forwards and backwards. [lm·s]
    room : Room
        Its size and how bright its surfaces are.

    Notes
    -----
    A head that is aimed at a ceiling or wall counts from there: its first bounce is followed.
    What windows let in counts as their face sends it.
    """
    bounced = [one for one in emitters if one.kind in ROOM_SURFACES]
    aimed = {name for one in bounced if one.kind != "floor" for name in one.fed_by}
    light = sum(amount for name, amount in sent_lm_s.items() if name not in aimed)
    light += sum(_sent_lm_s(one) for one in bounced if one.kind != "floor")
    light += sum(_sent_lm_s(one) for one in emitters if one.kind == "window")
    level = room.width_m * room.length_m
    upright = 2 * (room.width_m + room.length_m) * room.height_m
    surface = 2 * level + upright
    mean = (
        level * (room.ceiling_reflectance + room.floor_reflectance)
        + upright * room.wall_reflectance
    ) / surface
    kept = min(mean, BRIGHTEST_ROOM)
    on_walls = float(room_exposure(light, reflectance=kept, surface_m2=surface))
    return RoomEstimate(exposure_lx_s=DOME_BEFORE_HEAD * on_walls, reflectance=mean)


def _sent_lm_s(emitter: Emitter) -> float:
    """Return all the light an even or a lit face sends out [lm·s]."""
    face = emitter.face
    assert isinstance(face, FlatFace)
    mean = emitter.brightness if emitter.lit_map is None else float(emitter.lit_map.mean())
    return float(np.pi) * mean * face.area_m2
