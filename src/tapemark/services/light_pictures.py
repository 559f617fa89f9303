"""The picture of a setup light by light: taken from coarse to fine, kept, and mixed at once.

Light adds up, so that the picture of each light alone gives the picture at any powers. What was
taken is kept in the user's cache under the mark of what it was made from, without the powers:
the same setup, or the same but for its powers, has its picture at once.
"""

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from tapemark.errors import Problem, SetupError
from tapemark.services.plain import Plain
from tapemark.store.light_files import (
    LightFile,
    forget_oldest,
    light_file,
    read_light_file,
    write_light_file,
)
from tapemark.studio import Camera, Setup, changed
from tapemark.units import dialled_power, write_aperture, write_power_stops, write_shutter_s

ROWS = 600  # of a whole upright frame
FINER = 1.5  # times as many rows
CLOSE_SHAPE = (16, 7)  # of the glasses, closely
LEAST_PIXELS = 16  # a side, of whatever sensor
FORMAT = "lights 2"
EXPOSED = ("aperture", "shutter_s", "iso", "white_balance_k")


@dataclass(frozen=True, kw_only=True, slots=True)
class LightsWanted:
    """What is to be seen of a setup.

    Attributes
    ----------
    glasses : bool
        A close look at the sitter's glasses instead of the camera's frame.
    clay : bool
        Everything in one grey, without lenses.
    rows : int
        Rows of an upright frame, unless it is to be fine.
    """

    glasses: bool = False
    clay: bool = False
    rows: int = ROWS


@dataclass(frozen=True, kw_only=True, eq=False)
class Looking:
    """How taking a picture light by light and whoever waits for it talk.

    Attributes
    ----------
    tell : callable
        Told in words how far it is, and the share that is done.
    show : callable
        Called with each look that lies in its file; in it all lights are together.
    stopped : callable
        Asked whether to end with what there is.
    """

    tell: Callable[[str, float], None]
    show: Callable[[LightFile], None]
    stopped: Callable[[], bool]


def as_exposed(setup: Setup, like: Camera) -> Setup:
    """Return a setup with its camera's exposure and white balance set as another camera's."""
    return changed(setup, {"camera": changed(setup.camera, {n: getattr(like, n) for n in EXPOSED})})


def lights_mark(setup: Setup, wanted: LightsWanted) -> str:
    """Return the mark of a picture: the same where nothing but powers and names differs."""
    lights = tuple(one.model_copy(update={"power_stops": 0.0}) for one in setup.lights)
    bare = setup.model_copy(update={"lights": lights, "title": "", "units": "metric"})
    text = bare.model_dump_json()
    parts = [FORMAT, text, wanted.glasses, wanted.clay, wanted.rows]
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()[:20]


def look_mark(mark: str) -> str:
    """Return the mark of what is seen of a picture while it is taken."""
    return f"{mark}0"


def kept_lights(mark: str) -> LightFile | None:
    """Return the pictures kept under a mark, light by light, if there are any."""
    return read_light_file(light_file(mark))


def lights_as_plain(setup: Setup, wanted: LightsWanted) -> Plain:
    """Return what a page says of a setup's picture: its mark, what is kept, lights and powers."""
    mark = lights_mark(setup, wanted)
    found = kept_lights(mark)
    columns, rows = _size(setup, wanted, wanted.rows)
    return {
        "mark": mark,
        "kept": None if found is None else {"fine": found.fine},
        "columns": columns,
        "rows": rows,
        "camera": _camera_line(setup.camera),
        "lights": [
            {
                "name": one.name,
                "power_stops": one.power_stops,
                "power": dialled_power(one.power_stops),
                "lowest_stops": one.head.lowest_power_stops,
            }
            for one in setup.lights
            if one.on
        ],
    }


def take_by_light(
    setup: Setup, wanted: LightsWanted, *, looking: Looking, finer: bool = False
) -> LightFile | None:
    """Take the picture of a setup light by light; on the way each look is better than the last.

    Parameters
    ----------
    setup : Setup
        Everything that decides a frame.
    wanted : LightsWanted
        What is to be seen.
    looking : Looking
        Who waits.
    finer : bool
        Whether it is to be fine and larger, which takes minutes.

    Returns
    -------
    LightFile or None
        The picture, kept by now; None where it was stopped.
    """
    from tapemark.services.picture import PictureWanted, pictures_so_far

    mark, made = lights_mark(setup, wanted), None
    known = kept_lights(mark)
    if known is not None and (known.fine or not finer):
        return known
    asked = PictureWanted(
        size=_size(setup, wanted, int(wanted.rows * FINER) if finer else wanted.rows),
        crop="glasses" if wanted.glasses else "",
        clay=wanted.clay,
        quality="final" if finer else "preview",
    )
    for one in pictures_so_far(setup, asked, each_light=True, dropped=looking.stopped):
        lights = one.picture.lights
        first = one.picture.complete and lights is None and one.step != "lights"
        words = "each light on its own" if first else one.words
        looking.tell(words[:1].upper() + words[1:], one.share)
        if lights is not None and one.picture.complete:
            powers = lights.powers or (0.0,) * len(lights.names)
            made = LightFile(
                mark=mark, names=lights.names, powers=powers, images=lights.images, fine=finer
            )
            write_light_file(made)
        else:
            together = one.picture.values[None]
            look = LightFile(mark=look_mark(mark), names=("",), powers=(0.0,), images=together)
            write_light_file(look)
            looking.show(look)
    if made is not None:
        forget_oldest()
    return made


def mixed_file(mark: str, stops: Sequence[float], *, form: str, about: str) -> bytes | None:
    """Return a picture kept under a mark as a file, its lights turned up or down.

    Parameters
    ----------
    mark : str
        Of the picture.
    stops : sequence of float
        By how much each of its lights is turned up from how it was taken, in order; those that
        are missing stay. [stops]
    form : str
        ``png`` or ``jpg``.
    about : str
        What it shows, kept in the file.
    """
    from tapemark.rendering import image_bytes

    found = kept_lights(mark)
    if found is None:
        return None
    return image_bytes(mixed_lights(found, stops), suffix=f".{form}", about=about)


def mixed_lights(found: LightFile, stops: Sequence[float]) -> np.ndarray:
    """Return the picture of all lights together, each turned up by some stops, linear."""
    total = np.zeros(found.images.shape[1:], dtype=np.float32)
    for number, image in enumerate(found.images):
        weight = np.float32(2.0 ** (stops[number] if number < len(stops) else 0.0))
        total += weight * image.astype(np.float32)
    return total


def power_edits(setup: Setup, stops: Mapping[str, float]) -> list[dict[str, Any]]:
    """Return the edits that turn lights of a setup up or down.

    Parameters
    ----------
    setup : Setup
        As it is.
    stops : mapping of str to float
        By how much each named light is turned up. [stops]

    Raises
    ------
    SetupError
        There is no such light, or its head does not give so much or so little.
    """
    edits = []
    lights = {one.name: one for one in setup.lights}
    for name, change in stops.items():
        if name not in lights:
            raise _unknown_light(name, setup)
        light = lights[name]
        power = round(light.power_stops + change, 1)
        lowest = light.head.lowest_power_stops
        if not lowest - 1e-9 <= power <= 0.0:
            raise _beyond(name, power, lowest)
        if power != light.power_stops:
            value = write_power_stops(power)
            edits.append({"set": f"light.{name}.power", "value": value})
    return edits


def _size(setup: Setup, wanted: LightsWanted, rows: int) -> tuple[int, int]:
    """Return columns and rows: a whole frame in the shape of its sensor, upright or on its side."""
    if wanted.glasses:
        return rows, rows * CLOSE_SHAPE[1] // CLOSE_SHAPE[0]
    sides = setup.camera.frame_width_mm, setup.camera.frame_height_mm
    columns, rows = (max(LEAST_PIXELS, round(rows * one / max(sides))) for one in sides)
    return columns, rows


def _camera_line(camera: Camera) -> str:
    """Return how a camera is set, in one line."""
    white = "" if camera.white_balance_k is None else f", {camera.white_balance_k:g} K"
    exposed = f"{write_aperture(camera.aperture)}, {write_shutter_s(camera.shutter_s)}"
    return f"{camera.focal_length_mm:g} mm, {exposed}, ISO {camera.iso}{white}"


def _unknown_light(name: str, setup: Setup) -> SetupError:
    names = ", ".join(one.name for one in setup.lights)
    return SetupError(
        (Problem(key="light", given=name[:60], allowed=names, advice="take the picture again"),)
    )


def _beyond(name: str, power_stops: float, lowest_stops: float) -> SetupError:
    given = f"{abs(power_stops):.1f} stops {'above' if power_stops > 0 else 'below'} full power"
    low = dialled_power(lowest_stops)
    advice = "turn it less; or move the light, or change its head or the ISO"
    allowed = f"from {low} to full power"
    return SetupError(
        (Problem(key=f"light.{name}.power", given=given, allowed=allowed, advice=advice),)
    )
