"""A meter reading typed in during a session: it counts for that light, and for your own head."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from tapemark.errors import EditedElsewhere, TapemarkError
from tapemark.services.library.calibrating import calibrated, calibration_of
from tapemark.services.library.keeping import open_setup, part_of_setup, save
from tapemark.services.photos.session_log import standing
from tapemark.store import Library
from tapemark.store.library_bodies import plain_line
from tapemark.studio import Light, Setup
from tapemark.units import (
    dialled_power,
    format_length,
    parse_aperture,
    parse_illuminance_lx,
)

__all__ = ["MeterChoice", "add_meter", "meter_choices"]

_TRIES = 5


@dataclass(frozen=True, kw_only=True, slots=True)
class MeterChoice:
    """A light that can be metered.

    Attributes
    ----------
    light : str
        Its name.
    distance, power : str
        As it stands: from its face to the sitter's face, and what is dialled.
    """

    light: str
    distance: str
    power: str


def meter_choices(setup: Setup) -> tuple[MeterChoice, ...]:
    """Return the lights of a setup, as a meter at the face meets them."""
    return tuple(
        MeterChoice(
            light=one.name,
            distance=format_length(_to_face_m(setup, one), system=setup.units),
            power=dialled_power(one.power_stops, step_stops=one.head.power_step_stops),
        )
        for one in setup.lights
    )


def add_meter(
    library: Library,
    session_id: str,
    *,
    light: str,
    reading: str,
    distance: str = "",
    power: str = "",
    gear_id: str = "",
) -> str:
    """Keep what a meter showed; return what that tells, in a sentence.

    Parameters
    ----------
    library, session_id
        Of which session.
    light : str
        Which light of the followed setup, alone; empty for all lights together, which is only
        noted.
    reading : str
        As typed: ``f/8``, ``8``, or ``800 lx`` for a continuous light.
    distance, power : str
        Where the meter was and what was dialled, with units; as the setup has them if empty.
    gear_id : str
        Your own head that it is: the reading is kept there too.

    Raises
    ------
    SetupError
        The reading is none.
    """
    log, said = library.log(session_id), _as_meter(reading)
    if not light:
        log.add("meter", {"light": "", **said})
        return f"{reading.strip()} noted, for all lights together."
    setup_id = standing(log).setup_id
    if not setup_id:
        raise TapemarkError(
            "No setup is followed: choose one, then a reading counts for its light."
        )
    meter = said | {
        key: text for key, text in (("distance", distance), ("power", power)) if text.strip()
    }
    version = _into_setup(library, setup_id, light, meter)
    setup = open_setup(library, setup_id)
    head = part_of_setup(setup, "gear", light=light)
    kept = head["meter"]
    if gear_id:
        gear = library.get(gear_id)
        body = calibrated(gear.body, kept)
        save(library, gear_id, body, base_revision=gear.revision, why="metered in a session")
    told = calibration_of(head)
    words = "" if told is None else told.text
    body = {"light": light, **kept, "setup_id": setup_id, "version": version, "words": words}
    log.add("meter", body)
    return f"{light}: {reading.strip()}. {words}".strip()


def _into_setup(library: Library, setup_id: str, light: str, meter: dict[str, Any]) -> int:
    """Keep a setup with a reading of one of its lights, and return the version that it is."""
    for _ in range(_TRIES):
        now = library.get(setup_id)
        setup = open_setup(library, setup_id)
        choice = next((one for one in meter_choices(setup) if one.light == light), None)
        if choice is None:
            names = ", ".join(one.light for one in meter_choices(setup)) or "none yet"
            raise TapemarkError(f'There is no light "{light[:60]}"; lights are: {names}.')
        lights = [
            {**one, "meter": {"distance": choice.distance, "power": choice.power, **meter}}
            if one["name"] == light
            else one
            for one in now.body["light"]
        ]
        try:
            kept = save(
                library,
                setup_id,
                {**now.body, "light": lights},
                base_revision=now.revision,
                why=f"{light}: metered",
            )
        except EditedElsewhere:
            continue
        return kept.version
    raise EditedElsewhere(library.get(setup_id))


def _as_meter(reading: str) -> dict[str, Any]:
    text = plain_line(reading)
    if not text:
        raise TapemarkError("What did the meter show? Write f/8, or 800 lx for a continuous light.")
    if "lx" in text.casefold() or "fc" in text.casefold():
        parse_illuminance_lx(text)
        return {"illuminance": text}
    aperture = text if text.casefold().startswith("f") else f"f/{text}"
    parse_aperture(aperture)
    return {"aperture": aperture}


def _to_face_m(setup: Setup, light: Light) -> float:
    x, y, z = light.place.position_m
    return math.dist((x, y, z), (0.0, 0.0, setup.sitter.eye_height_m))
