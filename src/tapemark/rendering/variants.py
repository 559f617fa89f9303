"""Which variant of the path tracer to use on this machine, and why.

The plain variant always works. A compiled one (on the graphics card, or on the processor through
LLVM) is often faster once it is compiled, but may end the whole process where a driver or library
does not suit it: each is tried and timed once in a process of its own, and the answer is kept.
Compiling takes over half a minute for all the scenes of a picture: only a long one is worth it.
"""

import json
import os
import subprocess
import sys
from dataclasses import asdict, dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Literal

Quality = Literal["preview", "final"]
PLAIN = "scalar_rgb"
COMPILED = ("cuda_ad_rgb", "llvm_ad_rgb")
TRIAL_S = 40.0
MOST_COMPILED_PIXELS = 1_000_000
_IN_WORDS = {
    PLAIN: "plain variant",
    "cuda_ad_rgb": "compiled for the graphics card",
    "llvm_ad_rgb": "compiled for the processor",
}
WORTH_IT = 1.3  # a compiled variant has to be so many times faster once it is compiled
#: Compiling all that a picture needs took 35 s on one NVIDIA H100, whatever its size.
COMPILING_S = 40.0
TRIAL_PATHS = 256 * 256 * 16
#: A trial as it will be asked to work: a lit ball in a room, twice; prints the second time. [s]
_TRIAL = """
import sys, time, mitsuba, numpy
mitsuba.set_variant(sys.argv[1])
white = {"type": "twosided", "matt": {"type": "diffuse"}}
scene = mitsuba.load_dict({
    "type": "scene",
    "ball": {"type": "sphere"},
    "room": {"type": "cube", "bsdf": white,
             "to_world": mitsuba.ScalarTransform4f().scale([5.0, 5.0, 5.0])},
    "lamp": {"type": "point", "position": [0.0, 2.0, 4.0]},
    "sensor": {
        "type": "perspective",
        "to_world": mitsuba.ScalarTransform4f().look_at(
            origin=[0.0, 0.0, 4.0], target=[0.0, 0.0, 0.0], up=[0.0, 1.0, 0.0]),
        "film": {"type": "hdrfilm", "width": 256, "height": 256},
    },
})
paths = mitsuba.load_dict({"type": "path", "max_depth": 6})
for seed in (1, 2):
    start = time.perf_counter()
    image = numpy.array(mitsuba.render(scene, spp=16, integrator=paths, seed=seed))
if not float(image[128, 128, 1]) > 0.0:
    raise SystemExit(1)
print("took", time.perf_counter() - start)
"""


@dataclass(frozen=True, kw_only=True, slots=True)
class Variant:
    """A variant of the path tracer.

    Attributes
    ----------
    name : str
        As the tracer calls it.
    reason : str
        Why it is used, in words.
    """

    name: str
    reason: str


def choose_variant(
    quality: Quality, *, cache: Path | None, pixels: int = 0, samples: int = 64
) -> Variant:
    """Return the variant to render with.

    Parameters
    ----------
    quality : str
        A preview is over before a compiled variant is ready; a long picture is not.
    cache : Path or None
        Folder in which the outcome of trials is kept; without one they are made each time.
    pixels : int
        Of the picture: a compiled variant holds all its paths in memory at once.
    samples : int
        Paths for each pixel.
    """
    if quality == "preview":
        return Variant(
            name=PLAIN, reason="plain variant: a preview is done before another is compiled"
        )
    if pixels > MOST_COMPILED_PIXELS:
        return Variant(
            name=PLAIN, reason="plain variant: compiled, so large a picture takes too much memory"
        )
    key = _key()
    known = _read(cache).get(key)
    if known is None:
        known = _fastest()
        _keep(cache, key, known)
    if known.name == PLAIN or known.name not in _IN_WORDS:
        return Variant(
            name=PLAIN,
            reason="plain variant: in a trial no other worked, or none was faster",
        )
    lasts_s = known.plain_s * samples * pixels / TRIAL_PATHS
    if lasts_s < COMPILING_S:
        told = f"plain variant: about {max(lasts_s, 1.0):.0f} s, less than another takes to compile"
        return Variant(name=PLAIN, reason=told)
    return Variant(name=known.name, reason=f"{_IN_WORDS[known.name]}: it was faster in a trial")


@dataclass(frozen=True, kw_only=True, slots=True)
class _Outcome:
    """Of the trials: the variant that is fastest once it is compiled, and the plain one's time."""

    name: str
    plain_s: float


def _fastest() -> _Outcome:
    """Return the first compiled variant that works and is faster than the plain one."""
    times = {one: _seconds(one) for one in COMPILED}
    working = {one: seconds for one, seconds in times.items() if seconds is not None}
    plain = _seconds(PLAIN) if working else None
    if plain is None:
        return _Outcome(name=PLAIN, plain_s=0.0)
    quick = (one for one, seconds in working.items() if seconds * WORTH_IT < plain)
    return _Outcome(name=next(quick, PLAIN), plain_s=plain)


def _seconds(variant: str) -> float | None:
    """Return how long a trial took in a process of its own; None where it failed."""
    try:
        done = subprocess.run(
            [sys.executable, "-c", _TRIAL, variant],
            capture_output=True,
            timeout=TRIAL_S,
            check=False,
            text=True,
        )
        return float(done.stdout.split()[-1]) if done.returncode == 0 else None
    except (OSError, ValueError, IndexError, subprocess.TimeoutExpired):
        return None


def _key() -> str:
    """Return what an answer depends on: versions, and where a library was said to be."""
    named = os.environ.get("DRJIT_LIBLLVM_PATH", "")
    return f"mitsuba {version('mitsuba')}, drjit {version('drjit')}, {sys.platform}, {named}"


def _read(cache: Path | None) -> dict[str, _Outcome]:
    try:
        found = json.loads((cache / _FILE).read_text(encoding="utf-8")) if cache else {}
        return {
            key: _Outcome(name=str(one["name"]), plain_s=float(one["plain_s"]))
            for key, one in found.items()
        }
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def _keep(cache: Path | None, key: str, answer: _Outcome) -> None:
    if cache is None:
        return
    try:
        cache.mkdir(parents=True, exist_ok=True)
        text = json.dumps({key: asdict(answer)}, indent=2)
        (cache / _FILE).write_text(text, encoding="utf-8")
    except OSError:
        return  # it is then tried again next time


_FILE = "path-tracer.json"
