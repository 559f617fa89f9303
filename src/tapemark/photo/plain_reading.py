"""A reading as plain data, ready for JSON."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from tapemark.photo.reading import EyeSeen, ShotReading, WearerReading

Plain = dict[str, Any]


def reading_as_plain(reading: ShotReading) -> Plain:
    """Return a reading as dictionaries, lists, numbers and text, ready for JSON.

    Returns
    -------
    dict
        ``file``, ``verdict``, ``kind``, ``size``, ``profile``, ``taken`` and ``wearers``: each
        with ``verdict``, ``face``, ``confidence``, ``glasses``, ``sharp``, ``open``, ``skin``,
        ``questions`` and ``eyes.right``, ``eyes.left`` (the sitter's own) with ``pupil``,
        ``lens`` and its ``reflections``. Places are pixels of the upright original; shares are 0
        to 1; None stands for what cannot be told or is not there.
    """
    facts = reading.facts
    return {
        "file": reading.name,
        "verdict": reading.verdict,
        "trouble": reading.trouble,
        "kind": reading.kind,
        "size": list(reading.size),
        "profile": reading.profile or None,
        "taken": {key: value if value != "" else None for key, value in asdict(facts).items()},
        "wearers": [_wearer(one) for one in reading.wearers],
    }


def _wearer(wearer: WearerReading) -> Plain:
    return {
        "number": wearer.number,
        "verdict": wearer.verdict,
        "face": list(wearer.face),
        "confidence": wearer.confidence,
        "glasses": wearer.glasses,
        "sharp": wearer.is_sharp,
        "near_eye": wearer.near_side or None,
        "open": wearer.is_open,
        "skin": {
            "luminance": wearer.skin_luminance,
            "clipped_share": wearer.skin_clipped_share,
        },
        "eyes": {one.side: _eye(one) for one in wearer.eyes},
        "questions": list(wearer.questions),
    }


def _eye(eye: EyeSeen) -> Plain:
    lens = eye.lens
    found: Plain = {
        "pupil": list(eye.pupil),
        "likeness": eye.likeness,
        "open": eye.is_open,
        "edge_mm": eye.edge_mm,
        "lens": None,
    }
    if lens is not None:
        found["lens"] = {
            "verdict": lens.verdict,
            "lens_cover": lens.lens_cover,
            "veil": lens.veil,
            "stops_over_skin": lens.stops_over_skin,
            "outline": [list(point) for point in lens.outline],
            "reflections": [
                {
                    "center": list(one.center),
                    "lens_cover": one.lens_cover,
                    "veil": one.veil,
                    "stops_over_skin": one.stops_over_skin,
                    "clipped_share": one.clipped_share,
                    "recoverable": one.recoverable,
                    "color": one.color,
                    "outline": [list(point) for point in one.outline],
                }
                for one in lens.reflections
            ],
        }
    return found
