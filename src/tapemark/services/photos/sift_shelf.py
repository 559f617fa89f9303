"""Which folders were sifted in the app, and where their results lie: each under a name of its own.

A page knows a folder by that name only. Results that the command wrote elsewhere are remembered
where they lie and never removed from there.
"""

from __future__ import annotations

import json
import re
import secrets
import shutil
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

from tapemark.errors import FileError
from tapemark.services.photos.sift_out import CROPS, JOURNAL
from tapemark.services.photos.sifting import photos_in
from tapemark.store import write_results

ABOUT = "about.json"
MOST_ABOUT = 20_000  # [bytes]
LONGEST_PATH = 2_000
_KEY = re.compile(r"[0-9a-f]{16}")


@dataclass(frozen=True, kw_only=True, slots=True)
class SiftedFolder:
    """A folder that was sifted, or whose results were opened.

    Attributes
    ----------
    key : str
        What pages call it.
    name : str
        Of the folder.
    photos : str
        The folder; empty where only results are known.
    results : str
        Where journal and crops lie.
    ours : bool
        Whether the results were made here, so that they may be removed.
    at : str
        When it was begun or opened, in UTC.
    """

    key: str
    name: str
    photos: str
    results: str
    ours: bool
    at: str

    @property
    def photos_folder(self) -> Path | None:
        """The folder of photos, where it is known."""
        return Path(self.photos) if self.photos else None

    @property
    def results_folder(self) -> Path:
        """Where journal and crops lie."""
        return Path(self.results)


class SiftShelf:
    """The folders that were sifted in the app.

    Parameters
    ----------
    root : Path
        Where results are kept; made when it is first needed.
    """

    def __init__(self, root: Path) -> None:
        self._root = root

    @property
    def root(self) -> Path:
        """Where results are kept."""
        return self._root

    def folders(self) -> tuple[SiftedFolder, ...]:
        """Return all of them, the last begun first."""
        try:
            keys = [one.name for one in self._root.iterdir() if _KEY.fullmatch(one.name)]
        except OSError:
            return ()
        found = [one for key in keys if (one := self._read(key)) is not None]
        return tuple(sorted(found, key=lambda one: one.at, reverse=True))

    def get(self, key: str) -> SiftedFolder | None:
        """Return one of them; None where there is none of this name."""
        return self._read(key) if _KEY.fullmatch(key) else None

    def begin(self, typed: str) -> SiftedFolder:
        """Return a folder of photos to be sifted; one that was sifted before goes on.

        Raises
        ------
        FileError
            It is not there, cannot be read, or has no photos.
        """
        folder = typed_folder(typed, what="photos")
        if not photos_in(folder):
            raise FileError(
                str(folder), reason="has no photos in it", advice="name the folder they are in"
            )
        same = (one for one in self.folders() if one.ours and one.photos == str(folder))
        return next(same, None) or self._add(folder.name, photos=str(folder))

    def open(self, typed: str, *, photos: str = "") -> SiftedFolder:
        """Return the results of an earlier ``tapemark sift``.

        Parameters
        ----------
        typed : str
            The folder that it wrote.
        photos : str
            The folder of the photos, to see them large; may be empty.

        Raises
        ------
        FileError
            One of them is not there, or holds no results.
        """
        results = typed_folder(typed, what="results")
        if not (results / JOURNAL).is_file():
            raise FileError(
                str(results),
                reason=f"holds no results (no {JOURNAL})",
                advice="name the folder that tapemark sift wrote",
            )
        folder = typed_folder(photos, what="photos") if photos.strip() else None
        kept = "" if folder is None else str(folder)
        same = (
            one
            for one in self.folders()
            if not one.ours and one.results == str(results) and one.photos == kept
        )
        return next(same, None) or self._add(results.name, photos=kept, results=str(results))

    def forget(self, key: str) -> None:
        """Remove what is known of a folder, and the results that were made here; never photos."""
        if _KEY.fullmatch(key):
            shutil.rmtree(self._root / key, ignore_errors=True)

    def _add(self, name: str, *, photos: str, results: str = "") -> SiftedFolder:
        key = secrets.token_hex(8)
        made = SiftedFolder(
            key=key,
            name=name or "photos",
            photos=photos,
            results=results or str(self._root / key),
            ours=not results,
            at=datetime.now(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z"),
        )
        self._root.mkdir(parents=True, exist_ok=True, mode=0o700)  # they are pictures of people
        write_results(self._root / key, {ABOUT: json.dumps(asdict(made), indent=1) + "\n"})
        return made

    def _read(self, key: str) -> SiftedFolder | None:
        try:
            with (self._root / key / ABOUT).open("rb") as file:
                given = json.loads(file.read(MOST_ABOUT))
            found = SiftedFolder(**given)
            datetime.fromisoformat(found.at)
        except (OSError, ValueError, TypeError, RecursionError):
            return None
        whole = found.key == key and all(isinstance(getattr(found, one), str) for one in _TEXTS)
        return found if whole else None


_TEXTS = ("name", "photos", "results", "at")


def typed_folder(typed: str, *, what: str) -> Path:
    """Return a folder from a typed path.

    Parameters
    ----------
    typed : str
        The whole path; ``~`` stands for the home folder.
    what : str
        What is in it, for messages.

    Raises
    ------
    FileError
        It is empty, not whole, or no folder.
    """
    text = typed.strip().strip('"')
    advice = f"type the whole path of the folder of {what}"
    if not text or len(text) > LONGEST_PATH or not text.isprintable():
        raise FileError(text[:80] or "the folder", reason="is no path", advice=advice)
    try:
        folder = Path(text).expanduser()
        reason = "" if folder.is_dir() else "is no folder that can be found"
        reason = reason if folder.is_absolute() else "is not a whole path"
        resolved = folder.resolve()
    except (OSError, RuntimeError, ValueError) as error:
        reason, resolved = f"cannot be read ({error})", Path()
    if reason:
        raise FileError(text, reason=reason, advice=advice)
    return resolved


def results_size(folder: SiftedFolder) -> int:
    """Return how much the results of a folder take up. [bytes]"""
    total = 0
    for part in (folder.results_folder, folder.results_folder / CROPS):
        try:
            total += sum(one.stat().st_size for one in part.iterdir() if one.is_file())
        except OSError:
            continue
    return total
