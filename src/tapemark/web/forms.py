"""What people send with a form: texts and files, within bounds and never trusted.

A file is taken by what it begins with, not by what it is called; its name is shown at most, and
never reaches the file system.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request

from tapemark.errors import TapemarkError

MOST_FIELDS, LARGEST_FIELD = 200, 200_000  # [bytes]
LONGEST_SHOWN = 80
_PIECE = 262_144  # read at once [bytes]

#: How files begin, by the word for them; text begins with anything that is text.
SIGNS: Mapping[str, tuple[tuple[int, bytes], ...]] = {
    "JPEG": ((0, b"\xff\xd8\xff"),),
    "PNG": ((0, b"\x89PNG\r\n\x1a\n"),),
    "HEIC": ((4, b"ftypheic"), (4, b"ftypheix"), (4, b"ftypmif1"), (4, b"ftyphevc")),
    "TIFF or raw": ((0, b"II*\x00"), (0, b"MM\x00*"), (0, b"IIU\x00"), (0, b"FUJIFILMCCD-RAW")),
    "text": (),
    "table": (),  # text also as older spreadsheets write it
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Upload:
    """A file that was sent.

    Attributes
    ----------
    content : bytes
        What is in it.
    kind : str
        Which of the kinds it was taken for.
    shown_name : str
        What it was called, made fit to be shown; for nothing else.
    """

    content: bytes
    kind: str
    shown_name: str


async def read_fields(request: Request) -> dict[str, str]:
    """Return the texts of a form; files in it are passed over.

    Raises
    ------
    HTTPException
        400: it cannot be read, or has too many fields.
    """
    async with request.form(
        max_files=0, max_fields=MOST_FIELDS, max_part_size=LARGEST_FIELD
    ) as form:
        return {name: value for name, value in form.items() if isinstance(value, str)}


async def read_upload(request: Request, field: str, *, kinds: tuple[str, ...], most: int) -> Upload:
    """Return the one file of a form.

    Parameters
    ----------
    request : Request
        With the form; its path must be among the page's ``LARGE_BODIES``.
    field : str
        Name of the field.
    kinds : tuple of str
        Of `SIGNS`: what is taken.
    most : int
        How large it may be. [bytes]

    Raises
    ------
    TapemarkError
        There is none, it is empty, too large, or of another kind.
    """
    async with request.form(
        max_files=1, max_fields=MOST_FIELDS, max_part_size=LARGEST_FIELD
    ) as form:
        sent = form.get(field)
        if not isinstance(sent, UploadFile):
            raise TapemarkError("No file was chosen: choose one and send it again.")
        name = shown_name(sent.filename or "")
        content = await _content(sent, most=most, name=name)
    return Upload(content=content, kind=_kind(content, kinds=kinds, name=name), shown_name=name)


async def read_form(
    request: Request, field: str, *, kinds: tuple[str, ...], most: int
) -> tuple[dict[str, str], Upload | None]:
    """Return the texts of a form, and its file where one was chosen; see `read_upload`."""
    async with request.form(
        max_files=1, max_fields=MOST_FIELDS, max_part_size=LARGEST_FIELD
    ) as form:
        fields = {name: value for name, value in form.items() if isinstance(value, str)}
        sent = form.get(field)
        if not isinstance(sent, UploadFile) or not (sent.filename or sent.size):
            return fields, None
        name = shown_name(sent.filename or "")
        content = await _content(sent, most=most, name=name)
    return fields, Upload(
        content=content, kind=_kind(content, kinds=kinds, name=name), shown_name=name
    )


def shown_name(name: str) -> str:
    """Return the name of a file, fit to be shown: its last part, printable, not long."""
    last = name.replace("\\", "/").rstrip("/").rpartition("/")[2]
    printable = "".join(
        letter if letter.isprintable() else "\N{REPLACEMENT CHARACTER}" for letter in last
    )
    return printable[:LONGEST_SHOWN] or "unnamed file"


async def _content(sent: UploadFile, *, most: int, name: str) -> bytes:
    pieces: list[bytes] = []
    size = 0
    while piece := await sent.read(_PIECE):
        size += len(piece)
        if size > most:
            raise HTTPException(413, f"{name} is larger than {most // 1_000_000} MB.")
        pieces.append(piece)
    if not size:
        raise TapemarkError(f"{name} is empty: choose another file.")
    return b"".join(pieces)


def _kind(content: bytes, *, kinds: tuple[str, ...], name: str) -> str:
    for kind in kinds:
        if any(content[at : at + len(sign)] == sign for at, sign in SIGNS[kind]):
            return kind
    if "text" in kinds and _is_text(content):
        return "text"
    if "table" in kinds and _is_old_text(content):
        return "table"
    raise TapemarkError(f"{name} is not what can be read here: choose {' or '.join(kinds)}.")


def _is_text(content: bytes) -> bool:
    try:
        return "\x00" not in content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return False


def _is_old_text(content: bytes) -> bool:
    """Whether it can be text of another coding than UTF-8: hardly any control characters."""
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return len(content) % 2 == 0
    control = bytes(range(9)) + bytes(range(14, 32))
    return len(content.translate(None, control)) == len(content)
