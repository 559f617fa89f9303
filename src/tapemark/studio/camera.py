"""The camera: where it stands, where it looks, its lens, sensor and exposure."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, StrictBool, StringConstraints
from pydantic_core import PydanticCustomError

from tapemark.errors import UnitError
from tapemark.studio import kinds
from tapemark.studio.aims import Aim
from tapemark.studio.base import Data
from tapemark.studio.place import Place
from tapemark.studio.presets import nearest
from tapemark.units import parse_length_mm

__all__ = ["SENSORS", "Camera"]

SENSORS: dict[str, tuple[float, float]] = {
    "full frame": (36.0, 24.0),
    "APS-C": (23.5, 15.6),
    "APS-C 22 mm": (22.3, 14.9),
    "four thirds": (17.3, 13.0),
    "1 inch": (13.2, 8.8),
    "medium format 44x33": (43.8, 32.9),
    "medium format 54x40": (53.4, 40.0),
}
"""Long and short side of common sensors, to 0.2 mm; from memory, not verified. [mm]"""

Framing = Literal[
    "tight head",
    "head and shoulders",
    "half length",
    "three-quarter length",
    "full length",
    "group",
]

_SIZE = re.compile(r"(?P<long>[0-9.]+)\s*(?:mm)?\s*x\s*(?P<short>[0-9.]+)\s*mm")


def _sensor_sides_mm(text: str) -> tuple[float, float] | None:
    by_name = {name.lower(): sides for name, sides in SENSORS.items()}
    plain = " ".join(text.lower().replace("\N{MULTIPLICATION SIGN}", "x").split())
    if plain in by_name:
        return by_name[plain]
    match = _SIZE.fullmatch(plain)
    if match is None:
        return None
    try:
        sides = [parse_length_mm(f"{match[side]} mm") for side in ("long", "short")]
    except UnitError:
        return None
    in_range = all(3.0 <= side <= 300.0 for side in sides)
    return (max(sides), min(sides)) if in_range else None


def _check_sensor(value: str) -> str:
    if _sensor_sides_mm(value) is not None:
        return value
    close = nearest(value, SENSORS)
    names = ", ".join(f'"{name}"' for name in SENSORS)
    allowed = f'{names}, or a size from 3 mm to 300 mm like "36 x 24 mm"'
    advice = f'did you mean "{close}"?' if close else 'write the size like "36 x 24 mm"'
    raise PydanticCustomError(
        "sensor", "{advice} (allowed: {allowed})", {"allowed": allowed, "advice": advice}
    )


class Camera(Data):
    """A camera on its stand.

    Parameters
    ----------
    place : Place
        Where the front of its lens is.
    aim : "face" or Place
        What is in the middle of the frame.
    focal_length_mm : float
        True focal length of the lens. [mm]
    sensor : str
        A common name or a size such as ``"36 x 24 mm"``.
    orientation : "portrait" or "landscape"
        Long side upright, or level.
    aperture : float
        f-number. [-]
    shutter_s : float
        Shutter time. [s]
    iso : int
        ISO speed. [-]
    sync_s : float
        Shortest shutter time with flash over the whole frame. [s]
    high_speed_sync : bool
        Whether the flashes pulse along with a shorter shutter time.
    circle_of_confusion_mm : float, optional
        Blur on the sensor that still counts as sharp; the diagonal over 1500 if left out. [mm]
    white_balance_k : float, optional
        White balance; that of the key if left out. [K]
    frame_interval_s : float, optional
        Time from frame to frame in a burst. [s]
    framing : str, optional
        How much of the sitter is meant to be in the frame.
    """

    place: Place
    aim: Aim = "face"
    focal_length_mm: Annotated[float, kinds.small_length(4.0, 1200.0, usual=(8.0, 600.0))]
    sensor: Annotated[
        str, StringConstraints(strict=True, max_length=60), AfterValidator(_check_sensor)
    ] = "full frame"
    orientation: Literal["portrait", "landscape"] = "portrait"
    aperture: Annotated[float, kinds.aperture(0.7, 128.0)] = 8.0
    shutter_s: Annotated[float, kinds.shutter(1 / 16000, 60.0)] = 1 / 160
    iso: Annotated[int, kinds.count(1, 1_000_000)] = 100
    sync_s: Annotated[float, kinds.shutter(1 / 16000, 1.0)] = 1 / 200
    high_speed_sync: StrictBool = False
    circle_of_confusion_mm: Annotated[float, kinds.small_length(0.001, 0.5)] | None = None
    white_balance_k: Annotated[float, kinds.color_temperature(1500.0, 20_000.0)] | None = None
    frame_interval_s: Annotated[float, kinds.seconds(0.01, 600.0)] | None = None
    framing: Framing | None = None

    @property
    def frame_width_mm(self) -> float:
        """Level side of the frame on the sensor. [mm]"""
        return self._sides_mm[0 if self.orientation == "landscape" else 1]

    @property
    def frame_height_mm(self) -> float:
        """Upright side of the frame on the sensor. [mm]"""
        return self._sides_mm[1 if self.orientation == "landscape" else 0]

    @property
    def _sides_mm(self) -> tuple[float, float]:
        sides: Any = _sensor_sides_mm(self.sensor)
        return float(sides[0]), float(sides[1])
