"""The picture that a camera put into its raw file, found without developing the raw data."""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path

from tapemark.photo.shot_facts import ShotFacts

_STARTS = (b"II*\0", b"MM\0*", b"IIRO", b"IIRS", b"IIU\0", b"FUJIFILMCCD-RAW")
#: How raw files are named, in small letters.
RAW_SUFFIXES = frozenset(
    (
        *(".3fr", ".arw", ".cr2", ".cr3", ".crw", ".dcr", ".dng", ".erf", ".fff", ".iiq", ".kdc"),
        *(".mef", ".mos", ".mrw", ".nef", ".nrw", ".orf", ".pef", ".raf", ".raw", ".rw2", ".rwl"),
        *(".sr2", ".srf", ".srw", ".x3f"),
    )
)
_FLIPS = {0: 1, 3: 3, 5: 8, 6: 6}  # how the library numbers turns, as Exif does


@dataclass(frozen=True, kw_only=True, slots=True)
class RawPreview:
    """An embedded picture.

    Attributes
    ----------
    image : bytes
        A JPEG or TIFF file of its own.
    orientation : int
        As Exif numbers it, where the preview does not say; 0 where it says itself.
    full_size : tuple of two ints or None
        Columns and rows of the raw picture.
    facts : ShotFacts or None
        How it was taken, as far as the raw file says.
    """

    image: bytes
    orientation: int = 0
    full_size: tuple[int, int] | None = None
    facts: ShotFacts | None = None


def raw_preview(data: bytes, *, name: str) -> RawPreview | None:
    """Return the preview in a raw file, or None where the file is no raw file.

    Parameters
    ----------
    data : bytes
        The whole file.
    name : str
        Its name: TIFF files begin as many raw files do.
    """
    named = Path(name).suffix.lower() in RAW_SUFFIXES
    canon = data[4:11] == b"ftypcrx"
    if not canon and not (data.startswith(_STARTS) and (named or not _is_tiff(data))):
        return None
    import rawpy

    with rawpy.imread(io.BytesIO(data)) as raw:
        sizes = raw.sizes
        flip = _FLIPS.get(sizes.flip, 1)
        full = (sizes.width, sizes.height) if flip < 5 else (sizes.height, sizes.width)
        thumb = raw.extract_thumb()
        if thumb.format == rawpy.ThumbFormat.JPEG:
            return RawPreview(image=thumb.data, orientation=flip, full_size=full)
        pixels = thumb.data
    from PIL import Image

    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, format="TIFF")
    return RawPreview(image=stream.getvalue(), orientation=flip, full_size=full)


def _is_tiff(data: bytes) -> bool:
    return data[:4] in {b"II*\0", b"MM\0*"} and data[8:10] != b"CR"
