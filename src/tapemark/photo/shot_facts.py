"""What a camera wrote beside a picture: exposure, lens, time."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from PIL import Image

_EXIF, _ORIENTATION = 0x8769, 0x0112
_MOST_TEXT = 120


@dataclass(frozen=True, kw_only=True, slots=True)
class ShotFacts:
    """How a picture was taken, as far as its file says.

    Attributes
    ----------
    camera, lens : str
        As the camera names them; empty where not said.
    taken : str
        Date and time by the camera's clock, ``YYYY-MM-DD HH:MM:SS``; empty where not said.
    exposure_s : float or None
        Shutter time. [s]
    aperture : float or None
        f-number. [-]
    iso : int or None
        Sensitivity.
    focal_length_mm : float or None
        Of the lens. [mm]
    subject_distance_m : float or None
        As the lens reported it. [m]
    """

    camera: str = ""
    lens: str = ""
    taken: str = ""
    exposure_s: float | None = None
    aperture: float | None = None
    iso: int | None = None
    focal_length_mm: float | None = None
    subject_distance_m: float | None = None

    @property
    def text(self) -> str:
        """Exposure and lens in one line, such as ``1/160 s, f/8, ISO 100, 85 mm``."""
        parts = []
        if self.exposure_s is not None:
            parts.append(_seconds(self.exposure_s))
        if self.aperture is not None:
            parts.append(f"f/{self.aperture:g}")
        if self.iso is not None:
            parts.append(f"ISO {self.iso}")
        if self.focal_length_mm is not None:
            parts.append(f"{self.focal_length_mm:g} mm")
        return ", ".join(parts)


def shot_facts(image: Image.Image) -> ShotFacts:
    """Return what an opened image file says about how it was taken.

    Damaged or odd entries count as not said.
    """
    try:
        exif = image.getexif()
        first, own = dict(exif), dict(exif.get_ifd(_EXIF))
    except Exception:  # whatever the file holds, the picture itself may be sound
        return ShotFacts()
    iso = _number(own.get(0x8827))
    return ShotFacts(
        camera=_camera(_text(first.get(0x010F)), _text(first.get(0x0110))),
        lens=_text(own.get(0xA434)),
        taken=_time(_text(own.get(0x9003)) or _text(first.get(0x0132))),
        exposure_s=_number(own.get(0x829A)),
        aperture=_number(own.get(0x829D)),
        iso=None if iso is None else round(iso),
        focal_length_mm=_number(own.get(0x920A)),
        subject_distance_m=_number(own.get(0x9206)),
    )


def orientation_of(image: Image.Image) -> int:
    """Return how the picture has to be turned, 1 to 8 as Exif numbers it; 1 where not said."""
    try:
        given = image.getexif().get(_ORIENTATION, 1)
    except Exception:
        return 1
    return given if isinstance(given, int) and 1 <= given <= 8 else 1


def _number(given: Any) -> float | None:
    """Return a positive finite number, or None."""
    if isinstance(given, tuple | list):
        given = given[0] if given else None
    try:
        value = float(given)
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return value if math.isfinite(value) and 0.0 < value < 1e6 else None


def _text(given: Any) -> str:
    if isinstance(given, bytes):
        given = given.decode("utf-8", "replace")
    if not isinstance(given, str):
        return ""
    shown = "".join(one if one.isprintable() else " " for one in given.partition("\0")[0])
    return " ".join(shown.split())[:_MOST_TEXT]


def _camera(maker: str, model: str) -> str:
    named = bool(maker) and model.lower().startswith(maker.split()[0].lower())
    return model if named or not maker else f"{maker} {model}".strip()


def _time(given: str) -> str:
    """Return a time as written in most countries; none for a clock that was never set."""
    if given.startswith(("1970:01:01 00:00", "0000")):
        return ""
    day, _, clock = given.partition(" ")
    return f"{day.replace(':', '-')} {clock}".strip() if day.count(":") == 2 else given


def _seconds(exposure_s: float) -> str:
    if exposure_s >= 0.3:
        return f"{exposure_s:g} s"
    return f"1/{1.0 / exposure_s:.0f} s"
