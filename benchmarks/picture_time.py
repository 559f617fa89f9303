"""How long does a picture take, how near is it to a finished one, and how quick is a light's turn?

Times are of a process that has everything loaded, on the threads the path tracer is given. The
finished picture has so many paths a pixel that its own noise no longer counts; it is of a smaller
size, since it takes minutes.
"""

import resource
import statistics
import time
from dataclasses import dataclass, replace

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.rendering import EFFORTS, LightBook, Watching, developed
from tapemark.services import demo_setup_text
from tapemark.services.picture import PictureWanted, take_picture
from tapemark.studio import Setup, setup_from_toml

DEMO = "quillmere-troubled"
SMALL = (240, 300)
FINISHED_SAMPLES, QUICK_SAMPLES = 1024, 64
LIGHTS, TURNS = 4, 20


@dataclass(frozen=True, kw_only=True, slots=True)
class PictureTimes:
    """What was measured.

    Attributes
    ----------
    first_look_s, preview_s : float
        Until there is something to look at, and until a preview of 480 x 600 is done. [s]
    processor_s : float
        Time of all processor cores for it. [s]
    likeness_db : float
        Peak signal to noise of a small preview against the finished picture, as seen. [dB]
    finished_samples : int
        Paths a pixel of that one.
    turn_ms : float
        Mixing four lights of 480 x 600 anew, with the curve. [ms]
    peak_mb : float
        Most memory of the process. [MB]
    """

    first_look_s: float
    preview_s: float
    processor_s: float
    likeness_db: float
    finished_samples: int
    turn_ms: float
    peak_mb: float


def measure_picture(*, quick: bool = False) -> PictureTimes:
    """Return the times of the demo's picture."""
    setup = setup_from_toml(demo_setup_text(DEMO), name=DEMO)
    take_picture(setup, PictureWanted(size=(48, 60)))  # loads what has to be loaded
    looks: list[float] = []
    start, own = time.perf_counter(), time.process_time()
    take_picture(setup, watching=Watching(show=lambda _values: looks.append(time.perf_counter())))
    done, spent = time.perf_counter(), time.process_time()
    samples = QUICK_SAMPLES if quick else FINISHED_SAMPLES
    return PictureTimes(
        first_look_s=looks[0] - start,
        preview_s=done - start,
        processor_s=spent - own,
        likeness_db=_likeness(setup, samples=samples),
        finished_samples=samples,
        turn_ms=_turn_ms(),
        peak_mb=resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
    )


def likeness_db(one: FloatArray, other: FloatArray) -> float:
    """Return the peak signal to noise ratio of two pictures as they are seen [dB]."""
    seen = [developed(values).astype(float) / 255.0 for values in (one, other)]
    return float(-10.0 * np.log10(np.mean((seen[0] - seen[1]) ** 2)))


def _likeness(setup: Setup, *, samples: int) -> float:
    # The same mannequin as the finished one: what is compared is noise, not how fine a mesh is.
    preview = replace(EFFORTS["preview"], fineness=1.0)
    finished = replace(
        EFFORTS["final"], samples=samples, each_pass=16, layer_samples=32, guide_samples=16
    )
    one = take_picture(setup, PictureWanted(size=SMALL, effort=preview, seed=5))
    other = take_picture(setup, PictureWanted(size=SMALL, effort=finished))
    return likeness_db(one.values, other.values)


def _turn_ms() -> float:
    images = np.random.default_rng(1).random((LIGHTS, 600, 480, 3), dtype=np.float32)
    book = LightBook(names=tuple("abcd"), images=images)
    times = []
    for turn in range(TURNS):
        start = time.perf_counter()
        developed(book.mixed({"a": turn / 10.0}))
        times.append(1e3 * (time.perf_counter() - start))
    return statistics.median(times)
