"""A photo file read in bounded time and memory, or one clear line why not.

The kind is told by what the file holds, not by its name. Originals are only ever read.
"""

from __future__ import annotations

import importlib
import io
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from tapemark.errors import FileError
from tapemark.photo.color import to_srgb
from tapemark.photo.raw_preview import RAW_SUFFIXES, RawPreview, raw_preview
from tapemark.photo.shot_facts import ShotFacts, orientation_of, shot_facts
from tapemark.photo.tiff_numbers import tiff_numbers

if TYPE_CHECKING:
    from PIL import Image

MOST_BYTES = 400_000_000  # a raw file of a large sensor has a quarter of it
MOST_PIXELS = 160_000_000  # as decoded; the largest cameras of today have 150 megapixels
LONG_EDGE = 1400  # of the picture that is worked on: a quarter of 24 megapixels each way
ROOM = 1.5  # times larger is worked on as it is: making it smaller takes longer
LEAST_EDGE = 48
_OTHER_KINDS = (
    (b"%PDF", "a PDF document"),
    (b"PK\x03\x04", "an archive or office document"),
    (b"GIF8", "a GIF picture"),
    (b"\x1f\x8b", "a compressed archive"),
    (b"<?xml", "an XML text"),
    (b"\x1aE\xdf\xa3", "a video"),
)
_FORMATS = ("JPEG", "PNG", "TIFF", "WEBP")  # a JPEG of several pictures opens as JPEG
_HEIF_FORMATS = ("HEIF", "AVIF")
_TURNED_FORMATS = {"TIFF", "HEIF"}  # Pillow gives them upright, their size too
#: How photos are named, in small letters: only what a folder is searched for.
PHOTO_SUFFIXES = RAW_SUFFIXES | {
    *(".jpg", ".jpeg", ".jpe", ".png", ".tif", ".tiff", ".webp"),
    *(".heic", ".heif", ".hif", ".avif"),
}
READS = "JPEG, PNG, TIFF, HEIC, WebP and raw files"


@dataclass(frozen=True, kw_only=True, eq=False)
class Photo:
    """A picture as it is worked on.

    Attributes
    ----------
    pixels : (rows, columns, 3) array of bytes
        sRGB, upright.
    full_size : tuple of two ints
        Columns and rows of the upright original.
    kind : str
        ``JPEG``, ``PNG``, ``TIFF``, ``HEIC``, ``raw preview``.
    profile : str
        Name of the colour profile it came in; empty for none.
    facts : ShotFacts
        How it was taken.
    """

    pixels: np.ndarray
    full_size: tuple[int, int]
    kind: str
    profile: str
    facts: ShotFacts

    @property
    def scale(self) -> float:
        """Pixels of the original for one of these. [-]"""
        return float(self.full_size[0] / self.pixels.shape[1])


def read_photo(path: Path, *, long_edge: int = LONG_EDGE) -> Photo:
    """Return a photo file, reduced to about a size.

    Parameters
    ----------
    path : Path
        JPEG, PNG, TIFF, HEIC, WebP or raw.
    long_edge : int
        The longer side has at most this many pixels; compressed files are decoded at a half, a
        quarter or an eighth where that is enough.

    Raises
    ------
    FileError
        Why it cannot be read, in one line.
    """
    raw_bytes = _bytes_of(path)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return _decoded(path, raw_bytes, long_edge)
    except FileError:
        raise
    except MemoryError:
        raise _refused(path, "takes more memory than there is", "make it smaller") from None
    except Exception as error:  # decoders raise nearly anything on damaged files
        raise _refused(
            path, f"is damaged or cut short ({_plain(error)})", "copy it again from the camera"
        ) from None


def _bytes_of(path: Path) -> bytes:
    try:
        if path.is_dir():
            raise _refused(path, "is a folder", "name a photo, or sift the folder")
        if path.exists() and not path.is_file():
            raise _refused(path, "is no ordinary file", "name a photo")
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise _refused(
                path, f"has {size / 1e6:.0f} MB, more than {MOST_BYTES // 1_000_000}", "export it"
            )
        data = path.read_bytes() if size else b""
    except FileNotFoundError:
        raise _refused(path, "there is no such file", "check the name and the folder") from None
    except FileError:
        raise
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _refused(path, f"cannot be read ({reason})", "check that you may read it") from None
    if not data:
        raise _refused(path, "is empty", "copy it again from the camera")
    return data


def _decoded(path: Path, data: bytes, long_edge: int) -> Photo:
    raw = raw_preview(data, name=path.name)
    image = _opened(path, data if raw is None else raw.image)
    facts = shot_facts(image)
    if raw is not None and not facts.text:
        facts = raw.facts or facts
    turned = _turned(image, raw)
    full = image.size
    kind = "raw preview" if raw is not None else _kind_of(image)
    if image.format in {"JPEG", "MPO"}:
        wanted = long_edge / max(full)
        image.draft("RGB", (max(int(full[0] * wanted), 1), max(int(full[1] * wanted), 1)))
    image.load()
    small = _reduced(image, long_edge)
    small, profile = to_srgb(small)
    small = _upright(small, turned)
    if turned >= 5:
        full = (full[1], full[0])
    if raw is not None and raw.full_size is not None:
        full = (
            raw.full_size
            if (raw.full_size[0] > raw.full_size[1]) == (full[0] > full[1])
            else (raw.full_size[1], raw.full_size[0])
        )
    return Photo(
        pixels=np.ascontiguousarray(np.asarray(small, dtype=np.uint8)),
        full_size=full,
        kind=kind,
        profile=profile,
        facts=facts,
    )


def _opened(path: Path, data: bytes) -> Image.Image:
    """Return an image that is known but not decoded yet, within what is allowed."""
    from PIL import Image, UnidentifiedImageError

    heif = _is_heif(data)
    if heif:
        _register_heif(path)
    else:
        for plugin in ("TiffImagePlugin", "WebPImagePlugin"):
            importlib.import_module(f"PIL.{plugin}")  # only then are they known to Pillow
    Image.MAX_IMAGE_PIXELS = None  # our own limit, below, also holds for what Pillow only warns of
    try:
        image = Image.open(io.BytesIO(data), formats=_HEIF_FORMATS if heif else _FORMATS)
    except UnidentifiedImageError:
        raise _not_opened(path, data) from None
    columns, rows = image.size
    if columns * rows > MOST_PIXELS:
        raise _refused(
            path,
            f"would have {columns} x {rows} pixels, more than {MOST_PIXELS // 1_000_000} million",
            "export it smaller",
        )
    if min(columns, rows) < LEAST_EDGE:
        raise _refused(
            path, f"has only {columns} x {rows} pixels", f"at least {LEAST_EDGE} a side are needed"
        )
    return image


def _not_opened(path: Path, data: bytes) -> FileError:
    """Return what to say of a file that is no picture, or none that can be read."""
    if numbers := tiff_numbers(data):
        return _refused(
            path, f"is a TIFF of {numbers}, which is not read", "export it as 8 or 16 bit"
        )
    if data.startswith((b"\xff\xd8\xff", b"\x89PNG", b"II*\0", b"MM\0*")):
        return _refused(path, "is damaged or cut short", "copy it again from the camera")
    other = next((name for start, name in _OTHER_KINDS if data.startswith(start)), "")
    return _refused(path, f"is {other or 'no picture that can be read'}", f"name one of {READS}")


def _is_heif(data: bytes) -> bool:
    return data[4:8] == b"ftyp"


def _register_heif(path: Path) -> None:
    try:
        import pillow_heif
    except ImportError:
        raise _refused(path, "is HEIC, which this machine cannot read", "export a JPEG") from None
    pillow_heif.register_heif_opener()


def _kind_of(image: Image.Image) -> str:
    kind = image.format or "picture"
    return {"HEIF": "HEIC", "MPO": "JPEG", "WEBP": "WebP"}.get(kind, kind)


def _reduced(image: Image.Image, long_edge: int) -> Image.Image:
    from PIL import Image as Images

    times = max(image.size) / long_edge
    if times <= ROOM:
        return image
    if times >= 2.0 and image.mode in {"RGB", "L", "RGBA", "CMYK"}:
        info = image.info
        image = image.reduce(int(times))
        image.info = info
        times = max(image.size) / long_edge
    if times <= ROOM or image.mode in {"P", "1", "PA"} or image.mode.startswith(("I", "F")):
        return image
    columns, rows = (max(round(one / times), 1) for one in image.size)
    info = image.info
    small = image.resize((columns, rows), Images.Resampling.BOX)
    small.info = info
    return small


def _turned(image: Image.Image, raw: RawPreview | None) -> int:
    """Return how what Pillow gives has to be turned yet, as Exif numbers it."""
    if raw is not None:
        return raw.orientation or orientation_of(image)
    return 1 if image.format in _TURNED_FORMATS else orientation_of(image)


def _upright(image: Image.Image, orientation: int) -> Image.Image:
    from PIL import Image as Images

    way = Images.Transpose
    turns = {
        2: way.FLIP_LEFT_RIGHT,
        3: way.ROTATE_180,
        4: way.FLIP_TOP_BOTTOM,
        5: way.TRANSPOSE,
        6: way.ROTATE_270,
        7: way.TRANSVERSE,
        8: way.ROTATE_90,
    }
    return image.transpose(turns[orientation]) if orientation in turns else image


def _plain(error: Exception) -> str:
    given = error.args[0] if error.args and isinstance(error.args[0], bytes) else str(error)
    said = given.decode("utf-8", "replace") if isinstance(given, bytes) else given
    text = " ".join(said.split()) or type(error).__name__
    return text[:100]


def _refused(path: Path, reason: str, advice: str) -> FileError:
    return FileError(str(path), reason=reason, advice=advice)
