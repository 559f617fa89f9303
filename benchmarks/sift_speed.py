"""How many frames of 24 megapixels are sifted a second, beside how fast they can be decoded.

The frames are the rendered test pictures, enlarged, with grain, as JPEG of some 9 MB. Decoding is
what Pillow needs for the size that photos are read at, and no more. Run it by itself:

    python -m benchmarks.sift_speed
"""

import argparse
import os
import statistics
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from benchmarks.tables import filled, table, verdict
from PIL import Image

from tapemark.photo.batch_worker import Job, read_one
from tapemark.photo.files import LONG_EDGE
from tapemark.planning import Watch
from tapemark.services.photos.photo_batch import read_many

PICTURES = Path(__file__).resolve().parents[1] / "tests" / "pictures"
SIZE = (4000, 6000)
WANTED_FRAMES, WANTED_SHARE = 8.0, 0.7


@dataclass(frozen=True, kw_only=True, slots=True)
class SiftSpeed:
    """What was measured.

    Attributes
    ----------
    decode_s, read_s : float
        Processor time for one frame, decoded only and read whole. [s]
    frames_per_second : float
        By the clock, in as many processes as there are processors. [1/s]
    megabytes : float
        Of one file. [MB]
    """

    decode_s: float
    read_s: float
    frames_per_second: float
    megabytes: float

    @property
    def share(self) -> float:
        """Rate of reading over rate of mere decoding. [-]"""
        return self.decode_s / self.read_s


def measure_sifting(*, frames: int, repeats: int) -> SiftSpeed:
    """Measure with so many different frames, each read so often."""
    with tempfile.TemporaryDirectory() as folder:
        paths = [_frame(Path(folder), number) for number in range(frames)]
        read_one(Job(path=str(paths[0])))
        decode, read = [], []
        for path in paths * repeats:  # in turn, so that a slower spell of the machine meets both
            decode.append(_cpu(lambda path=path: decoded(path)))
            read.append(_cpu(lambda path=path: read_one(Job(path=str(path)))))
        jobs = [Job(path=str(path)) for path in paths * repeats * 4]
        began, first = time.monotonic(), None
        for number, _ in enumerate(read_many(jobs, workers=os.cpu_count() or 1, watch=Watch())):
            if first is None:
                first, skipped = time.monotonic(), number + 1
        taken = time.monotonic() - (first or began)
        size = statistics.fmean(path.stat().st_size for path in paths)
    return SiftSpeed(
        decode_s=statistics.median(decode),
        read_s=statistics.median(read),
        frames_per_second=(len(jobs) - skipped) / taken,
        megabytes=size / 1e6,
    )


def sift_section(found: SiftSpeed) -> str:
    """Return what was measured as a section of the page."""
    words = f"""Frames of 24 megapixels, JPEG of {found.megabytes:.1f} MB, from disk to the verdict
    and the crop of the eyes. Decoding is what Pillow needs for the size that photos are read at,
    and no more; both are processor time of one core, in turn. By the clock: as many processes as
    there are processors ({os.cpu_count()})."""
    rows = [
        ("decoded only", f"{found.decode_s * 1e3:.0f} ms", "", ""),
        ("read whole", f"{found.read_s * 1e3:.0f} ms", "", ""),
        (
            "of the decoding rate",
            f"{found.share:.2f}",
            f"{WANTED_SHARE:g}",
            verdict(kept=found.share >= WANTED_SHARE),
        ),
        (
            "frames a second",
            f"{found.frames_per_second:.1f}",
            f"{WANTED_FRAMES:g}",
            verdict(kept=found.frames_per_second >= WANTED_FRAMES),
        ),
    ]
    return (
        "## Sifting a folder\n\n"
        + filled(words)
        + "\n\n"
        + table(("a frame", "measured", "wanted", ""), rows)
    )


def decoded(path: Path) -> np.ndarray:
    """Decode a JPEG at the size that photos are read at, and nothing else."""
    with Image.open(path) as image:
        share = LONG_EDGE / max(image.size)
        image.draft("RGB", tuple(int(one * share) for one in image.size))
        return np.asarray(image)


def _cpu(run: Callable[[], object]) -> float:
    began = time.process_time()
    run()
    return time.process_time() - began


def _frame(folder: Path, number: int) -> Path:
    """Write one frame of 24 megapixels."""
    pictures = sorted(PICTURES.glob("*.jpg"))
    with Image.open(pictures[number % len(pictures)]) as picture:
        image = picture.convert("RGB").resize((SIZE[0], SIZE[0] * 5 // 4), Image.Resampling.BICUBIC)
    large = Image.new("RGB", SIZE, (60, 60, 62))
    large.paste(image, (0, 400))
    grain = np.random.default_rng(number).normal(0.0, 5.0, (SIZE[1], SIZE[0], 1))
    noisy = np.clip(np.asarray(large, dtype=np.float32) + grain, 0, 255).astype(np.uint8)
    path = folder / f"frame-{number:03d}.jpg"
    Image.fromarray(noisy).save(path, quality=92)
    return path


def main() -> None:
    """Print what was measured."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--frames", type=int, default=4)
    parser.add_argument("--repeats", type=int, default=2)
    given = parser.parse_args()
    found = measure_sifting(frames=given.frames, repeats=given.repeats)
    print(f"a frame of 24 megapixels, {found.megabytes:.1f} MB")
    print(f"  decoded only  {found.decode_s * 1e3:6.0f} ms of one processor")
    print(f"  read whole    {found.read_s * 1e3:6.0f} ms; {found.share:.2f} of the decoding rate")
    print(f"  by the clock  {found.frames_per_second:6.1f} frames a second")
    print(f"  wanted        {WANTED_FRAMES:6.1f} frames a second, {WANTED_SHARE:.2f}")


if __name__ == "__main__":
    main()
