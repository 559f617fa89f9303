"""OpenEXR files, by the writer that the path tracer brings along."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from tapemark.geometry import FloatArray

__all__ = ["read_exr", "write_exr"]


def write_exr(path: Path, values: FloatArray) -> None:
    """Write linear values, shape (rows, columns, 3), as floats of 32 bits.

    Raises
    ------
    OSError, RuntimeError
        Where the file cannot be written.
    """
    import mitsuba

    _need_a_variant()
    with _two_threads():
        mitsuba.Bitmap(np.ascontiguousarray(values, dtype=np.float32)).write(str(path))


def read_exr(path: Path) -> np.ndarray:
    """Return the red, green and blue of a file, shape (rows, columns, 3), float32.

    Raises
    ------
    OSError, RuntimeError
        Where the file cannot be read.
    """
    import mitsuba

    _need_a_variant()
    with _two_threads():
        return np.array(mitsuba.Bitmap(str(path)), dtype=np.float32)[..., :3]


def _need_a_variant() -> None:
    import mitsuba

    if mitsuba.variant() is None:
        mitsuba.set_variant("scalar_rgb")


@contextmanager
def _two_threads() -> Iterator[None]:
    """Give the library a thread to hand its lines to: where it has none, it waits for ever."""
    import drjit

    before = drjit.thread_count()
    drjit.set_thread_count(max(2, before))
    try:
        yield
    finally:
        drjit.set_thread_count(before)
