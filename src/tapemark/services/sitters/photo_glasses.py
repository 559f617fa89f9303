"""What photos tell of somebody's glasses: fitted where lights were named, else sizes of lenses.

Sessions keep what their frames told. Where whose light is in a lens was worked out, curve, tilt and
sizes were fitted along, each frame on top of those before; that is shown. Else there are the sizes
of the lenses alone, told against the distance between the pupils and no better known than that.
"""

from __future__ import annotations

import statistics
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from tapemark.errors import TapemarkError
from tapemark.services.library.keeping import Library
from tapemark.services.sitters.known_glasses import KnownValue
from tapemark.services.sitters.people import same_person
from tapemark.store.library_log import Log
from tapemark.studio import FaceMeasures, Sitter

PHOTO_PUPILS_MM = 63.0  # to which readings of photos are scaled
PUPILS_SPREAD_MM = 3.8  # between adults, one standard deviation; [dodgson-2004]
STATED_PUPILS_MM = 0.5  # of a distance that an optician measured (assumption)
PHOTO_MM = 1.0  # by which the edge of one lens is read off (assumption)
TWO_PAIRS_MM = 6.0  # a head turned 25° makes 38 mm read 4 mm higher, each edge is read to 1 mm
SHOOT = "shoot"
MOST_SESSIONS, MOST_FRAMES = 60, 400
_SIZES = {"width_mm": "Lens width", "height_mm": "Lens height", "gap_mm": "Between the lenses"}
_LIMITS = {"width_mm": (25.0, 80.0), "height_mm": (15.0, 70.0), "gap_mm": (5.0, 40.0)}
#: What is fitted: its name here, its unit, and what it can be.
_FITTED = {
    "base_curve_d": ("Base curve", " D", (-2.0, 14.0)),
    "pantoscopic_tilt_deg": ("Tilt", "°", (-20.0, 40.0)),
    "face_form_deg": ("Face form", "°", (-20.0, 45.0)),
    "vertex_distance_mm": ("Distance from the eye", " mm", (0.0, 50.0)),
    "pupil_height_mm": ("Pupil above the lower rim", " mm", (0.0, 70.0)),
    "lens_width_mm": ("Lens width", " mm", (20.0, 90.0)),
    "lens_height_mm": ("Lens height", " mm", (10.0, 80.0)),
    "bridge_mm": ("Bridge", " mm", (2.0, 50.0)),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class FromPhotos:
    """What photos of somebody tell about their glasses.

    Attributes
    ----------
    values : tuple of KnownValue
        Sizes; empty where no frame tells any.
    frames, sessions : int
        How many frames of how many sessions count.
    fitted : bool
        Whether lights were named in them, so that more than sizes is told.
    doubt : str
        Why they may not all show the same glasses; empty where nothing speaks for it.
    """

    values: tuple[KnownValue, ...]
    frames: int
    sessions: int
    fitted: bool = False
    doubt: str = ""


def glasses_from_photos(library: Library, sitter: Sitter) -> FromPhotos:
    """Return what the sessions in the library tell about somebody's glasses."""
    found: list[dict[str, float]] = []
    sessions = 0
    for line in library.kept("session", most=MOST_SESSIONS):
        try:
            if library.get(line.id).body.get("what") != SHOOT:
                continue
            log = library.log(line.id)
            own = _frames_of(log, sitter.name)
            fitted = _fitted(log, own)
            sizes = list(_shapes(log, own))
        except TapemarkError:
            continue
        if fitted is not None:
            return replace(fitted, doubt=_doubt(sizes))
        sessions += bool(sizes)
        found += sizes
        if len(found) >= MOST_FRAMES:
            break
    values = tuple(_learned(found, key, sitter.face) for key in _SIZES) if found else ()
    return FromPhotos(values=values, frames=len(found), sessions=sessions, doubt=_doubt(found))


def _doubt(found: list[dict[str, float]]) -> str:
    """Return that lenses are too unlike for one pair; a tenth at either end does not count."""
    heights = sorted(one["height_mm"] for one in found)
    if not heights:
        return ""
    aside = len(heights) // 10
    low, high = heights[aside], heights[-1 - aside]
    if high - low <= TWO_PAIRS_MM:
        return ""
    return (
        f"The frames show lenses from {low:.0f} to {high:.0f} mm high: two pairs of glasses, or "
        "two people. Do not count on these values; tell the session who sits, before each."
    )


def _frames_of(log: Log, name: str) -> frozenset[int]:
    """Return the frames of a session in which somebody sat."""
    frames = log.entries(("frame",))
    return frozenset(one.number for one in frames if same_person(_text(one.body, "sitter"), name))


def _fitted(log: Log, frames: frozenset[int]) -> FromPhotos | None:
    """Return what the last fitted frame of somebody tells; it has those before it in it."""
    told = [
        own
        for one in log.entries(("match",))
        if one.about in frames and (own := _one_fit(one.body)) is not None
    ]
    if not told:
        return None
    source = f"fitted to {_count(len(told))}"
    values = []
    for key, (name, unit, _) in _FITTED.items():
        value, spread = told[0][key]
        values.append(
            KnownValue(
                name=name,
                value=f"{value:.1f}{unit}",
                spread=f"±{spread:.1f}{unit}",
                source=source,
            )
        )
    return FromPhotos(values=tuple(values), frames=len(told), sessions=1, fitted=True)


def _one_fit(body: Mapping[str, Any]) -> dict[str, tuple[float, float]] | None:
    """Return value and spread of everything fitted for the only wearer of a frame."""
    wearers = body.get("wearers")
    if not isinstance(wearers, list) or len(wearers) != 1 or not isinstance(wearers[0], dict):
        return None
    learned = wearers[0].get("learned")
    if not isinstance(learned, dict):
        return None
    found = {}
    for key, (_, _, (low, high)) in _FITTED.items():
        one = learned.get(key)
        value, spread = (one.get(part) if isinstance(one, dict) else None for part in _PARTS)
        if not isinstance(value, int | float) or not isinstance(spread, int | float):
            return None
        if not low <= value <= high or not 0.0 <= spread <= high:
            return None
        found[key] = (float(value), float(spread))
    return found


_PARTS = ("value", "spread")


def _shapes(log: Log, frames: frozenset[int]) -> Iterator[dict[str, float]]:
    """Yield the lenses in each of some frames that shows one person only."""
    seen: set[int] = set()
    for entry in log.entries(("reading",)):  # the newest first: a later one counts
        if entry.about is None or entry.about not in frames or entry.about in seen:
            continue
        seen.add(entry.about)
        shapes = entry.body.get("shapes")
        if isinstance(shapes, dict) and len(shapes) == 1:
            (shape,) = shapes.values()
            if isinstance(shape, dict) and _sound(shape):
                yield {key: float(shape[key]) for key in _SIZES}


def _sound(shape: dict[str, object]) -> bool:
    return all(
        isinstance(value := shape.get(key), int | float) and low <= value <= high
        for key, (low, high) in _LIMITS.items()
    )


def _text(body: dict[str, object], key: str) -> str:
    value = body.get(key, "")
    return value if isinstance(value, str) else ""


def _learned(found: list[dict[str, float]], key: str, face: FaceMeasures) -> KnownValue:
    """Return the middle of a size over frames, scaled to the distance between the pupils."""
    stated = "interpupillary_mm" in face.model_fields_set
    scale = face.interpupillary_mm / PHOTO_PUPILS_MM
    values = [one[key] * scale for one in found]
    middle = statistics.median(values)
    between = statistics.pstdev(values) if len(values) > 1 else PHOTO_MM
    pupils = STATED_PUPILS_MM if stated else PUPILS_SPREAD_MM
    scaled = middle * pupils / face.interpupillary_mm
    spread = (max(between, PHOTO_MM) ** 2 + scaled**2) ** 0.5
    return KnownValue(
        name=_SIZES[key],
        value=f"{middle:.0f} mm",
        spread=f"±{spread:.0f} mm",
        source=f"from {_count(len(found))}",
    )


def _count(frames: int) -> str:
    return "1 frame" if frames == 1 else f"{frames} frames"
