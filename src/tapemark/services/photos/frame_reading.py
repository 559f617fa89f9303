"""One frame of a session read: what it shows, and the small pictures that are kept of it."""

from __future__ import annotations

import hashlib
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any

from tapemark.errors import FileError
from tapemark.photo import Hints, LensShape, ShotReading, read_photo, read_shot, reading_as_plain
from tapemark.photo.files import Photo
from tapemark.photo.frame_pictures import EyesPicture, eyes_of, preview_of
from tapemark.services.photos.kept_readings import facts_from_plain
from tapemark.services.plain import Plain

__all__ = ["Fingerprint", "FrameRead", "fingerprint", "hints_from_plain", "read_frame"]

LIKE_AN_IRIS = 0.45  # both pupils looked for where they were in the frame before
_ANOTHER_FACE = 0.5  # of its side away: somebody else
_PIECE = 1 << 20
_WHERE_PUPILS = "where the pupils are"


@dataclass(frozen=True, kw_only=True, slots=True)
class Fingerprint:
    """By what a file is known again, wherever it is.

    Attributes
    ----------
    size : int
        How large it is. [bytes]
    digest : str
        Of all that is in it.
    """

    size: int
    digest: str


@dataclass(frozen=True, kw_only=True, slots=True)
class FrameRead:
    """What was read from a frame.

    Attributes
    ----------
    body : dict
        As the log keeps it: ``reading``, ``shapes`` of the lenses by number, ``eyes`` by number
        with where a point of the original is in the small picture, and ``error``.
    pictures : dict of str to bytes
        ``preview`` and ``eyes1``, ``eyes2``, ...
    """

    body: Plain
    pictures: dict[str, bytes]


def fingerprint(path: Path) -> Fingerprint:
    """Return size and digest of a file, which is only read.

    Raises
    ------
    FileError
        It cannot be read.
    """
    digest, size = hashlib.blake2b(digest_size=20), 0
    try:
        with path.open("rb") as file:
            while piece := file.read(_PIECE):
                digest.update(piece)
                size += len(piece)
    except OSError as error:
        raise FileError(
            str(path),
            reason=f"cannot be read ({error.strerror or error})",
            advice="check the name and that you may read it",
        ) from None
    return Fingerprint(size=size, digest=digest.hexdigest())


def read_frame(
    path: Path | None,
    *,
    name: str,
    hints: Hints | None = None,
    known_pupils: tuple[tuple[float, float], tuple[float, float]] | None = None,
    preview: bytes = b"",
    before: Plain | None = None,
) -> FrameRead:
    """Return what a frame shows; what cannot be read is said in one line in it.

    Parameters
    ----------
    path : Path, optional
        The file; only read.
    name : str
        What it is called.
    hints : Hints, optional
        What a person said about this frame, or what is known of the sitter.
    known_pupils : two points, optional
        Where the pupils of this sitter were in a frame before, by a person's word: looked for
        there where the frame itself does not show them well.
    preview : bytes
        The small picture kept of it, for a second reading where the file is not at hand.
    before : dict, optional
        The reading before, for what the small picture does not know.
    """
    try:
        photo = read_photo(path) if path is not None else _from_preview(preview, before or {})
        reading = _read(photo, name=name, hints=hints, known_pupils=known_pupils)
    except FileError as error:
        said = f"{name}: {error.reason}; {error.advice}"
        return FrameRead(body={"reading": None, "error": said}, pictures={})
    eyes = eyes_of(photo, reading)
    pictures = {f"eyes{one.number}": one.jpeg for one in eyes}
    if path is not None:
        pictures["preview"] = preview_of(photo)
    return FrameRead(body=_body(reading, eyes, from_preview=path is None), pictures=pictures)


def hints_from_plain(given: Plain) -> Hints:
    """Return hints from what the log keeps of them."""
    shape, pupils = given.get("shape"), given.get("pupils")
    return Hints(
        pupils=None if not pupils else (_point(pupils[0]), _point(pupils[1])),
        shape=None if not shape else LensShape(**shape),
        bare=given.get("bare") is True,
    )


def _read(
    photo: Photo,
    *,
    name: str,
    hints: Hints | None,
    known_pupils: tuple[tuple[float, float], tuple[float, float]] | None,
) -> ShotReading:
    first = read_shot(photo, name=name, hints=hints)
    if hints is not None and hints.pupils is not None:
        return _with_others(first, read_shot(photo, name=name))
    if hints is not None and hints.shape is not None and len(first.wearers) > 1:
        return read_shot(photo, name=name)  # the glasses of one are not those of all
    asks = not first.wearers or any(
        one.startswith(_WHERE_PUPILS) for each in first.wearers for one in each.questions
    )
    if not asks or known_pupils is None:
        return first
    width, height = photo.full_size
    if not all(0 <= x < width and 0 <= y < height for x, y in known_pupils):
        return first
    again = read_shot(photo, name=name, hints=replace(hints or Hints(), pupils=known_pupils))
    like = [eye.likeness for one in again.wearers for eye in one.eyes]
    return again if like and min(like) >= LIKE_AN_IRIS else first


def _with_others(tapped: ShotReading, everybody: ShotReading) -> ShotReading:
    """Return a reading of one person put among the others, who are read as they are found."""
    left, top, side, _ = tapped.wearers[0].face if tapped.wearers else (0.0, 0.0, 0.0, 0.0)
    others = [
        one
        for one in everybody.wearers
        if max(abs(one.face[0] - left), abs(one.face[1] - top)) > _ANOTHER_FACE * side
    ]
    if not tapped.wearers or not others:
        return tapped
    found = sorted((*tapped.wearers, *others), key=lambda one: one.face[0])
    numbered = (replace(one, number=number) for number, one in enumerate(found, start=1))
    return replace(tapped, wearers=tuple(numbered))


def _from_preview(preview: bytes, before: Plain) -> Photo:
    """Return the small picture as a photo, with size and facts of the original."""
    with NamedTemporaryFile(suffix=".jpg") as file:
        file.write(preview)
        file.flush()
        photo = read_photo(Path(file.name))
    size = before.get("size")
    if not size:
        return photo
    return replace(
        photo,
        full_size=(int(size[0]), int(size[1])),
        kind=str(before.get("kind") or photo.kind),
        facts=facts_from_plain(before.get("taken") or {}),
    )


def _body(reading: ShotReading, eyes: tuple[EyesPicture, ...], *, from_preview: bool) -> Plain:
    shapes = {str(one.number): asdict(one.shape) for one in reading.wearers if one.shape}
    return {
        "reading": reading_as_plain(reading),
        "shapes": shapes,
        "eyes": {str(one.number): list(one.from_photo) for one in eyes},
        "from_preview": from_preview,
        "error": "",
    }


def _point(given: Any) -> tuple[float, float]:
    return float(given[0]), float(given[1])
