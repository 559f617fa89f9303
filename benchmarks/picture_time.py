"""How long does a picture take, how near is it to a finished one, and how quick is a light's turn?

A whole process is measured from outside: until its file is there for the first time, until it ends,
and the processor time it takes; half of that is what two idle cores cannot go below. The finished
picture has so many paths a pixel that its own noise no longer counts; it is of a smaller size,
since it takes a minute. It has the finest mannequin, the preview its own coarser one.
"""

import resource
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.rendering import EFFORTS, LightBook, developed
from tapemark.services import demo_setup_text
from tapemark.services.picture import PictureWanted, pictures_so_far, take_picture
from tapemark.studio import Setup, setup_from_toml

DEMO = "quillmere-troubled"
SMALL = (360, 450)
FINISHED_SAMPLES, QUICK_SAMPLES = 1024, 64
LIGHTS, TURNS = 4, 20
DROPPED_AFTER_S = (0.4, 1.1, 1.9)  # from the start of a picture
CORES = 2
LOOKED_EVERY_S = 0.01


@dataclass(frozen=True, kw_only=True, slots=True)
class WholePicture:
    """What `tapemark picture` took, from pressing Enter.

    Attributes
    ----------
    first_look_s, done_s : float
        Until its file can be looked at for the first time; until it ends. [s]
    processor_s : float
        Time of all processor cores. [s]
    """

    first_look_s: float
    done_s: float
    processor_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class PictureTimes:
    """What was measured.

    Attributes
    ----------
    whole : WholePicture
        A preview of 480 x 600, medians.
    warm_s : float
        The same in a process that has everything loaded. [s]
    likeness_db : float
        Peak signal to noise of a small preview against the finished picture, as seen. [dB]
    finished_samples : int
        Paths a pixel of that one.
    dropping_ms : float
        Longest from being dropped to the end. [ms]
    turn_ms : float
        Mixing four lights of 480 x 600 anew, with the curve. [ms]
    peak_mb : float
        Most memory of the process. [MB]
    """

    whole: WholePicture
    warm_s: float
    likeness_db: float
    finished_samples: int
    dropping_ms: float
    turn_ms: float
    peak_mb: float


def measure_picture(*, quick: bool = False) -> PictureTimes:
    """Return the times of the demo's picture."""
    setup = setup_from_toml(demo_setup_text(DEMO), name=DEMO)
    whole = _whole(runs=1 if quick else 5)
    take_picture(setup, PictureWanted(size=(48, 60)))  # loads what has to be loaded
    start = time.perf_counter()
    take_picture(setup)
    warm_s = time.perf_counter() - start
    samples = QUICK_SAMPLES if quick else FINISHED_SAMPLES
    return PictureTimes(
        whole=whole,
        warm_s=warm_s,
        likeness_db=_likeness(setup, samples=samples),
        finished_samples=samples,
        dropping_ms=max(_dropping_ms(setup, after_s) for after_s in DROPPED_AFTER_S),
        turn_ms=_turn_ms(),
        peak_mb=resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
    )


def likeness_db(one: FloatArray, other: FloatArray) -> float:
    """Return the peak signal to noise ratio of two pictures as they are seen [dB]."""
    seen = [developed(values.copy()).astype(float) / 255.0 for values in (one, other)]
    return float(-10.0 * np.log10(np.mean((seen[0] - seen[1]) ** 2)))


def _whole(*, runs: int) -> WholePicture:
    """Return the medians of whole processes; one more, unmeasured, fills the caches."""
    found = []
    with tempfile.TemporaryDirectory() as folder:
        setup = Path(folder) / "setup.toml"
        setup.write_text(demo_setup_text(DEMO), encoding="utf-8")
        for number in range(runs + 1):
            out = Path(folder) / f"shot-{number}.png"
            found.append(_one(["picture", str(setup), "-o", str(out)], out))
    names = ("first_look_s", "done_s", "processor_s")
    return WholePicture(
        **{name: statistics.median(getattr(one, name) for one in found[1:]) for name in names}
    )


def _one(arguments: list[str], out: Path) -> WholePicture:
    before, start = _children_s(), time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "tapemark", *arguments],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    first = None
    while process.poll() is None:
        if first is None and out.exists():
            first = time.perf_counter() - start
        time.sleep(LOOKED_EVERY_S)
    done = time.perf_counter() - start
    if process.returncode:
        raise RuntimeError(f"{arguments} ended with {process.returncode}")
    return WholePicture(first_look_s=first or done, done_s=done, processor_s=_children_s() - before)


def _children_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _likeness(setup: Setup, *, samples: int) -> float:
    finished = replace(
        EFFORTS["final"], samples=samples, each_pass=16, layer_samples=32, guide_samples=16
    )
    one = take_picture(setup, PictureWanted(size=SMALL, seed=5))
    other = take_picture(setup, PictureWanted(size=SMALL, effort=finished))
    return likeness_db(one.values, other.values)


def _dropping_ms(setup: Setup, after_s: float) -> float:
    """Return how long a final picture that is dropped goes on. [ms]"""
    until = time.perf_counter() + after_s
    for _ in pictures_so_far(
        setup, PictureWanted(quality="final"), dropped=lambda: time.perf_counter() > until
    ):
        pass
    return 1e3 * (time.perf_counter() - until)


def _turn_ms() -> float:
    images = np.random.default_rng(1).random((LIGHTS, 600, 480, 3), dtype=np.float32)
    book = LightBook(names=tuple("abcd"), images=images)
    times = []
    for turn in range(TURNS):
        start = time.perf_counter()
        developed(book.mixed({"a": turn / 10.0}))
        times.append(1e3 * (time.perf_counter() - start))
    return statistics.median(times)
