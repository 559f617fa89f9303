"""What the page Sift has done in processes of their own: a folder read, one photo shown large."""

import os
from pathlib import Path

from tapemark.web.tasks import Plain, Tell

LEAST_WORKERS = 2  # so that a photo that crashes what reads it ends a process of its own


def sift(*, tell: Tell, photos: str, results: str) -> Plain:
    """Read a folder, going on where an earlier run ended; return how many were read of how many."""
    from tapemark.services.photos.sifting import sift_folder
    from tapemark.web.finishing import FinishingWatch

    workers = max(LEAST_WORKERS, (os.cpu_count() or 1) - 1)
    report = sift_folder(
        Path(photos), out=Path(results), workers=workers, watch=FinishingWatch(tell)
    )
    return {"read": len(report.frames), "total": report.total, "stopped": report.interrupted}


def photo(*, tell: Tell, path: str) -> Plain:
    """Return ``file``: a photo as a JPEG that a page can show."""
    from tapemark.photo import read_photo
    from tapemark.photo.frame_pictures import preview_of

    del tell
    return {"file": preview_of(read_photo(Path(path)))}
