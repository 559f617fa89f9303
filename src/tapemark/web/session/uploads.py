"""Photos sent from a browser: bounded, told by their content, named by it too."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request

from tapemark.errors import TapemarkError
from tapemark.photo import PHOTO_SUFFIXES
from tapemark.services.photos.frame_reading import Fingerprint
from tapemark.services.photos.session_log import add_frame, get_session
from tapemark.store.arriving_files import LARGEST, Arriving
from tapemark.web.desk import Desk
from tapemark.web.forms import MOST_FIELDS, SIGNS, shown_name

if TYPE_CHECKING:
    from tapemark.store import Library

MOST_AT_ONCE = 200  # photos in one form
_PIECE = 262_144
_HEAD = 32
_FURTHER_SIGNS = (
    (8, b"WEBP"),
    (4, b"ftypavif"),
    (4, b"ftypmsf1"),
    (4, b"ftyphevx"),
    (4, b"ftypcrx "),
    (0, b"IIRO"),
    (0, b"\x00MRM"),
)
_KINDS = ("JPEG", "PNG", "HEIC", "TIFF or raw")


@dataclass(frozen=True, kw_only=True, slots=True)
class Sent:
    """What became of one photo that was sent.

    Attributes
    ----------
    name : str
        As it was called, fit to be shown.
    frame : int
        Its number in the log; 0 where it was refused.
    new : bool
        Whether it was not there yet.
    refusal : str
        Why it was refused, in one line.
    """

    name: str
    frame: int = 0
    new: bool = False
    refusal: str = ""


async def take_body(request: Request, desk: Desk, session: str, *, name: str) -> Sent:
    """Take in one photo that is the whole body of a request."""
    return await _take(desk, session, request.stream(), name=shown_name(name))


async def take_form(request: Request, desk: Desk, session: str) -> list[Sent]:
    """Take in every photo of a form, one after the other."""
    found = []
    async with request.form(max_files=MOST_AT_ONCE, max_fields=MOST_FIELDS) as form:
        for sent in form.getlist("photo"):
            if isinstance(sent, UploadFile) and (sent.filename or sent.size):
                name = shown_name(sent.filename or "")
                found.append(await _take(desk, session, _pieces(sent), name=name))
    return found


async def _take(desk: Desk, session: str, pieces: AsyncIterator[bytes], *, name: str) -> Sent:
    arriving = Arriving(await desk.library.do(lambda library: library.path))
    await desk.library.do(lambda library: get_session(library, session))
    try:
        with await asyncio.to_thread(arriving.begin, session, suffix=_suffix(name)) as file:
            head = b""
            async for piece in pieces:
                if len(head) < _HEAD:
                    head += piece[: _HEAD - len(head)]
                    if len(head) >= _HEAD:
                        _refuse_other_kinds(head, name)
                if file.size + len(piece) > LARGEST:
                    raise HTTPException(
                        413, f"{name} is larger than {LARGEST // 1_000_000} MB, the most for one."
                    )
                await asyncio.to_thread(file.write, piece)
            if not file.size:
                raise TapemarkError(f"{name} is empty: choose another photo.")
            _refuse_other_kinds(head, name)
            arrived = await asyncio.to_thread(file.keep)
    except TapemarkError as error:
        return Sent(name=name, refusal=" ".join(str(error).split()))
    mark = Fingerprint(size=arrived.size, digest=arrived.digest)
    return await desk.library.do(
        lambda library: _added(library, session, arriving, mark=mark, name=name)
    )


def _added(
    library: Library, session: str, arriving: Arriving, *, mark: Fingerprint, name: str
) -> Sent:
    added = add_frame(library, session, name=name, folder="", mark=mark, where="sent")
    number = added.entry.number
    read = library.log(session).last("reading", about=number)
    if not added.new and read is not None:
        arriving.done(session, mark.digest)  # it was read before
    return Sent(name=name, frame=number, new=added.new)


async def _pieces(sent: UploadFile) -> AsyncIterator[bytes]:
    while piece := await sent.read(_PIECE):
        yield piece


def _suffix(name: str) -> str:
    """Return the ending of a name if it is one that photos have: some raw files go by it."""
    found = PurePosixPath(name).suffix.casefold()
    return found if found in PHOTO_SUFFIXES else ".photo"


def _refuse_other_kinds(head: bytes, name: str) -> None:
    signs = [sign for kind in _KINDS for sign in SIGNS[kind]]
    if not any(head[at : at + len(sign)] == sign for at, sign in (*signs, *_FURTHER_SIGNS)):
        raise TapemarkError(
            f"{name} is no photo that can be read here: choose JPEG, PNG, TIFF, HEIC, WebP or raw."
        )
