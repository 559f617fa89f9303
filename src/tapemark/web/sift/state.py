"""What the page Sift knows while the app runs: where folders are kept, and journals read so far."""

import json
import threading
from pathlib import Path
from typing import Any

from starlette.requests import HTTPConnection, Request

from tapemark.services.photos.sift_results import Found, Results, SiftJournal
from tapemark.services.photos.sift_shelf import SiftedFolder, SiftShelf
from tapemark.services.photos.sifting import photos_in
from tapemark.store.user_folders import library_path
from tapemark.web.desk import desk_of
from tapemark.web.jobs import jobs_of
from tapemark.web.workers.pool import Tell

FOLDER = "sifted"  # beside the library
MOST_JOURNALS = 8
TASK = "tapemark.web.sift.tasks:sift"


class Sifting:
    """Folders, and their journals as far as they were read.

    Parameters
    ----------
    shelf : SiftShelf
        The folders.
    """

    def __init__(self, shelf: SiftShelf) -> None:
        self.shelf = shelf
        self._lock = threading.Lock()
        self._journals: dict[str, SiftJournal] = {}

    def results(self, folder: SiftedFolder) -> Results:
        """Return what was read of a folder so far; takes a moment, for a thread."""
        return self._journal(folder).results(there=_there(folder) if folder.ours else None)

    def frame(self, folder: SiftedFolder, key: str) -> tuple[Found | None, Results]:
        """Return one frame, and all; the folder is looked into only if it is not known yet."""
        latest = self._journal(folder).latest
        found = latest.find(key)
        if found is None:
            latest = self.results(folder)
            found = latest.find(key)
        return found, latest

    def total(self, folder: SiftedFolder) -> int:
        """Return how many photos a folder has; of results alone, how many were read."""
        there = _there(folder)
        return len(self.results(folder).frames) if there is None else len(there)

    def _journal(self, folder: SiftedFolder) -> SiftJournal:
        with self._lock:
            journal = self._journals.pop(folder.key, None) or SiftJournal(folder.results_folder)
            self._journals[folder.key] = journal
            while len(self._journals) > MOST_JOURNALS:
                del self._journals[next(iter(self._journals))]
        return journal

    def forget(self, key: str) -> None:
        """Forget a folder and remove the results that were made here."""
        with self._lock:
            self._journals.pop(key, None)
        self.shelf.forget(key)


def _there(folder: SiftedFolder) -> frozenset[str] | None:
    """Return the names of the photos in a folder; None where that is not known, or away."""
    if folder.photos_folder is None:
        return None
    try:
        return frozenset(one.name for one in photos_in(folder.photos_folder))
    except OSError:
        return None


def sifting_of(connection: HTTPConnection) -> Sifting:
    """Return the folders of the app that a request came to."""
    state = connection.app.state
    if not hasattr(state, "sifting"):
        library = desk_of(connection).settings.library or library_path()
        state.sifting = Sifting(SiftShelf(Path(library).absolute().parent / FOLDER))
    sifting: Sifting = state.sifting
    return sifting


def job_key(key: str) -> str:
    """Return what the reading of a folder is called among the works of the app."""
    return f"sift:{key}"


def being_read(request: Request) -> SiftedFolder | None:
    """Return the folder that is read just now, if there is one: one at a time leaves room."""
    jobs = jobs_of(request)
    folders = sifting_of(request).shelf.folders()
    return next((one for one in folders if jobs.busy(job_key(one.key))), None)


def begin_sift(request: Request, folder: SiftedFolder) -> None:
    """Read a folder in the background, or go on with it."""
    desk, key = desk_of(request), job_key(folder.key)

    async def work(tell: Tell) -> None:
        parts = await desk.workers.long(
            key, TASK, tell=tell, photos=folder.photos, results=folder.results
        )
        found: dict[str, Any] = {name: json.loads(part) for name, part in parts.items()}
        await tell(f"{found['read']} of {found['total']} photos")

    jobs_of(request).begin(key, work, text="Looking into the folder")
