"""Photos sent from a browser, until they have been read: in a folder beside the library.

What was acknowledged is there after a power cut. Names come from the content, never from the
sender; once a frame has been read its file is taken away again.
"""

from __future__ import annotations

import hashlib
import os
import secrets
import time
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType

from tapemark.errors import WriteError

__all__ = ["Arrived", "Arriving", "ArrivingFile", "waiting_name"]

LARGEST = 160_000_000  # bytes of one photo
MOST_WAITING = 4_000_000_000  # bytes of all that wait to be read
LEFT_OVER_S = 3600.0  # a file that nobody waits for is taken away after so long
_PART = ".part"


@dataclass(frozen=True, kw_only=True, slots=True)
class Arrived:
    """A file that has arrived whole.

    Attributes
    ----------
    path : Path
        Where it waits.
    size : int
        How large it is. [bytes]
    digest : str
        Of all that is in it.
    """

    path: Path
    size: int
    digest: str


def waiting_name(session: str, digest: str) -> str:
    """Return what a photo is called while it waits, without the ending."""
    return f"{session}-{digest}"


class Arriving:
    """The folder of photos that wait to be read.

    Parameters
    ----------
    library : Path
        The file of the library.
    """

    def __init__(self, library: Path) -> None:
        self.folder = library.with_name(f"{library.stem} arriving")

    def begin(self, session: str, *, suffix: str) -> ArrivingFile:
        """Return a file to write to, in a ``with`` block.

        Parameters
        ----------
        session : str
            Which session it is for: two may be sent the same photo.
        suffix : str
            Of its name, which tells some raw files apart; one of those that are known.

        Raises
        ------
        WriteError
            The folder cannot be written, or too much waits already.
        """
        try:
            self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            waiting = sum(one.stat().st_size for one in self.folder.iterdir())
        except OSError as error:
            raise self._refused(error) from None
        if waiting > MOST_WAITING:
            raise WriteError(
                str(self.folder),
                reason="holds more photos waiting to be read than it may",
                advice="wait until some have been read",
            )
        return ArrivingFile(self, session, suffix)

    def path_of(self, session: str, digest: str) -> Path | None:
        """Return where a photo waits; None where it does not."""
        if not (digest.isalnum() and session.isalnum()):
            return None
        try:
            found = sorted(self.folder.glob(f"{waiting_name(session, digest)}.*"))
        except OSError:
            return None
        return next((one for one in found if one.suffix != _PART), None)

    def done(self, session: str, digest: str) -> None:
        """Take away a photo that was read."""
        path = self.path_of(session, digest)
        if path is not None:
            path.unlink(missing_ok=True)

    def sweep(self, wanted: Collection[str]) -> None:
        """Take away what was left over: no `waiting_name` wanted, and not just arriving."""
        try:
            for one in self.folder.iterdir():
                old = time.time() - one.stat().st_mtime > LEFT_OVER_S
                if old and one.stem not in wanted:
                    one.unlink(missing_ok=True)
        except OSError:
            return

    def _refused(self, error: OSError) -> WriteError:
        return WriteError(
            str(self.folder),
            reason=f"cannot be written ({error.strerror or error})",
            advice="free some space, then send the photo again",
        )


class ArrivingFile:
    """One photo while it is being sent; it is there whole, or not at all.

    Parameters
    ----------
    arriving : Arriving
        Where to.
    session : str
        Which session it is for.
    suffix : str
        Of its name.
    """

    def __init__(self, arriving: Arriving, session: str, suffix: str) -> None:
        self._arriving = arriving
        self._session = session
        self._suffix = suffix
        self._digest = hashlib.blake2b(digest_size=20)
        self._size = 0
        self._part = arriving.folder / f"{secrets.token_hex(12)}{_PART}"

    def __enter__(self) -> ArrivingFile:
        try:
            descriptor = os.open(self._part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
        except OSError as error:
            raise self._arriving._refused(error) from None
        self._file = os.fdopen(descriptor, "wb")
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._file.close()
        self._part.unlink(missing_ok=True)

    @property
    def size(self) -> int:
        """How much was written. [bytes]"""
        return self._size

    def write(self, piece: bytes) -> None:
        """Add a piece.

        Raises
        ------
        WriteError
            The disk is full.
        """
        self._size += len(piece)
        self._digest.update(piece)
        try:
            self._file.write(piece)
        except OSError as error:
            raise self._arriving._refused(error) from None

    def keep(self) -> Arrived:
        """Have it arrived: on the disk, under its own digest."""
        digest = self._digest.hexdigest()
        name = f"{waiting_name(self._session, digest)}{self._suffix}"
        path = self._arriving.folder / name
        try:
            self._file.flush()
            os.fsync(self._file.fileno())
            os.replace(self._part, path)
        except OSError as error:
            raise self._arriving._refused(error) from None
        return Arrived(path=path, size=self._size, digest=digest)
