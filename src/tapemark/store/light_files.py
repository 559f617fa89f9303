"""Pictures light by light in one file: a line of JSON, then half-precision numbers as they are.

The line has ``format``, ``mark``, ``rows``, ``columns``, ``fine`` and ``lights``, a list of
``name`` and ``power_stops``. It is filled up with blanks to a whole number of `ALIGNED` bytes; then
come, light by light and row by row, red, green and blue of each pixel as little-endian half
floats, so that a browser reads the file as it lies here.
"""

import json
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tapemark.errors import FileError
from tapemark.store.result_files import write_results
from tapemark.store.user_folders import cache_folder

__all__ = ["LightFile", "forget_oldest", "light_file", "read_light_file", "write_light_file"]

FORMAT = 1
ALIGNED = 16  # [bytes]
LARGEST = 200_000_000  # [bytes]
LONGEST_LINE = 64_000  # [bytes]
MOST_FILES, MOST_BYTES = 200, 600_000_000
BRIGHTEST = 60_000.0  # what half precision holds
_MARK = re.compile(r"[0-9a-f]{8,64}")


@dataclass(frozen=True, kw_only=True, eq=False)
class LightFile:
    """A picture under each of its lights alone.

    Attributes
    ----------
    mark : str
        Of what it was made from, powers left out.
    names : tuple of str
        Of the lights, windows, screens and room lamps.
    powers : tuple of float
        Set power of each when it was taken, 0 for what has none. [stops]
    images : (n, rows, columns, 3) array
        Linear sensor values under each; 1.0 is a lit matt white. [-]
    fine : bool
        Whether minutes were spent on it.
    """

    mark: str
    names: tuple[str, ...]
    powers: tuple[float, ...]
    images: np.ndarray
    fine: bool = False


def light_file(mark: str) -> Path:
    """Return where the pictures of a mark lie; the file need not be there."""
    if not _MARK.fullmatch(mark):
        raise FileError(mark[:40], reason="is no mark of a picture", advice="take the picture")
    return cache_folder() / "pictures" / f"{mark}.lights"


def write_light_file(found: LightFile) -> Path:
    """Write pictures light by light, in place of an earlier look; it is there whole or not."""
    images = np.clip(np.nan_to_num(found.images), 0.0, BRIGHTEST).astype("<f2")
    rows, columns = images.shape[1:3]
    lights = [
        {"name": name, "power_stops": power}
        for name, power in zip(found.names, found.powers, strict=True)
    ]
    head = {"format": FORMAT, "mark": found.mark, "rows": rows, "columns": columns}
    head |= {"fine": found.fine, "lights": lights}
    line = json.dumps(head, ensure_ascii=False).encode()
    line += b" " * (-(len(line) + 1) % ALIGNED) + b"\n"
    path = light_file(found.mark)
    write_results(path.parent, {path.name: line + images.tobytes()})
    return path


def read_light_file(path: Path) -> LightFile | None:
    """Return pictures light by light; None where there are none that can be read."""
    try:
        if path.stat().st_size > LARGEST:
            return None
        raw = path.read_bytes()
        line, _, _ = raw[:LONGEST_LINE].partition(b"\n")
        head = json.loads(line)
        if head["format"] != FORMAT:
            return None
        lights = head["lights"]
        shape = (len(lights), int(head["rows"]), int(head["columns"]), 3)
        images = np.frombuffer(raw, dtype="<f2", offset=len(line) + 1).reshape(shape)
        return LightFile(
            mark=str(head["mark"]),
            names=tuple(str(one["name"]) for one in lights),
            powers=tuple(float(one["power_stops"]) for one in lights),
            images=images,
            fine=bool(head["fine"]),
        )
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None  # it can be made again


def forget_oldest() -> None:
    """Delete the pictures not used for longest where there are too many of them."""
    folder = cache_folder() / "pictures"
    try:
        found = sorted(folder.glob("*.lights"), key=lambda one: one.stat().st_mtime, reverse=True)
        total = 0
        for number, one in enumerate(found):
            total += one.stat().st_size
            if number >= MOST_FILES or total > MOST_BYTES:
                one.unlink(missing_ok=True)
    except OSError:
        return  # another process was quicker
