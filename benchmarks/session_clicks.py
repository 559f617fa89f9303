"""How soon the app answers a click while the 500 frames of a session are read beside it.

The frames are the small test pictures, each made another file by some bytes at its end. A click is
what a person does on the page of a session or on the set: the page loaded again, an earlier frame,
its picture, an older part of the log, a note kept, a set opened. It counts from the asking to the
last byte of the answer, over HTTP on this machine; what the browser then needs to paint is not in
it. Run it by itself, about a minute:

    python -m benchmarks.session_clicks
"""

import argparse
import itertools
import os
import signal
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlencode

from tapemark.services import demo_setup_text
from tapemark.services.library.keeping import keep
from tapemark.services.photos.session_log import begin_session
from tapemark.store import Library
from tapemark.studio import setup_from_toml, setup_to_mapping

PICTURES = Path(__file__).resolve().parents[1] / "tests" / "pictures"
WANTED_MS = 200.0
PAUSE_S = 0.15  # between clicks: faster than anybody clicks
SERVE = """
import sys
from pathlib import Path
from tapemark.web import Settings, create_app, listen, serve
listening = listen("127.0.0.1", 0)
port = listening.getsockname()[1]
print(port, flush=True)
serve(create_app(Settings(port=port, library=Path(sys.argv[1]))), listening)
"""


@dataclass(frozen=True, kw_only=True, slots=True)
class Clicks:
    """What was measured.

    Attributes
    ----------
    frames : int
        How many were read while it was clicked.
    reading_s : float
        How long that took. [s]
    waits_ms : dict of str to list of float
        For each kind of click, how long every answer took. [ms]
    quiet_ms : dict of str to list of float
        The same after all was read. [ms]
    """

    frames: int
    reading_s: float
    waits_ms: dict[str, list[float]]
    quiet_ms: dict[str, list[float]]


def measure_clicks(*, frames: int) -> Clicks:
    """Send so many frames, and click while they are read."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "library.sqlite"
        setup, session = _begun(path)
        with _app(path) as address:
            for content, name in _frames(frames):
                _ask(address, f"/session/send/{session}?name={name}", content)
            kinds = _kinds(path, setup=setup, session=session)
            began, read_before = time.monotonic(), _read(path, session)
            waits: dict[str, list[float]] = {name: [] for name in kinds}
            for name in itertools.cycle(kinds):
                waits[name].append(_timed(address, *kinds[name]))
                time.sleep(PAUSE_S)
                if name == "page" and _read(path, session) >= frames:
                    break
            took = time.monotonic() - began
            quiet = {name: [_timed(address, *kinds[name]) for _ in range(10)] for name in kinds}
        return Clicks(frames=frames - read_before, reading_s=took, waits_ms=waits, quiet_ms=quiet)


def _begun(path: Path) -> tuple[str, str]:
    body = setup_to_mapping(setup_from_toml(demo_setup_text("quillmere-troubled")))
    with Library.open(path) as library:
        setup = keep(library, "setup", name="Reading room", body=body).id
        return setup, begin_session(library, setup_id=setup).id


def _kinds(path: Path, *, setup: str, session: str) -> dict[str, tuple[str, bytes | None]]:
    with Library.open(path) as library:
        numbers = [one.number for one in library.log(session).entries(("frame",))]
    at = f"/session/{session}"
    note = urlencode({"do": "note", "text": "chin down"}).encode()
    return {
        "page": (at, None),
        "an earlier frame": (f"{at}?frame={numbers[3]}", None),
        "older part of the log": (f"{at}?before={numbers[len(numbers) // 2]}", None),
        "how it stands": (f"{at}/state", None),
        "a note kept": (at, note),
        "the set": (f"/set/{setup}", None),
        "own things": ("/own", None),
    }


def _frames(count: int) -> Iterator[tuple[bytes, str]]:
    contents = [one.read_bytes() for one in sorted(PICTURES.glob("*.jpg"))]
    for number in range(count):
        content = contents[number % len(contents)] + number.to_bytes(4, "big") + b"\xff\xd9"
        yield content, f"IMG_{number:04d}.jpg"


def _read(path: Path, session: str) -> int:
    with Library.open(path) as library:
        return library.log(session).counts().get("reading", 0)


def _timed(address: str, target: str, form: bytes | None) -> float:
    began = time.perf_counter()
    _ask(address, target, form)
    return 1e3 * (time.perf_counter() - began)


def _ask(address: str, target: str, content: bytes | None) -> bytes:
    headers = {"origin": address, "accept": "text/html"}
    if content is not None and target.startswith("/session/send/"):
        headers |= {"content-type": "application/octet-stream", "accept": "application/json"}
    asked = urllib.request.Request(address + target, data=content, headers=headers)
    with urllib.request.urlopen(asked) as answer:
        found: bytes = answer.read()
    return found


@contextmanager
def _app(path: Path) -> Iterator[str]:
    process = subprocess.Popen(
        [sys.executable, "-c", SERVE, str(path)], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    try:
        yield f"http://127.0.0.1:{int(process.stdout.readline())}"
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(30)


def main() -> None:
    """Print what was measured."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--frames", type=int, default=500)
    found = measure_clicks(frames=parser.parse_args().frames)
    waits = sorted(one for each in found.waits_ms.values() for one in each)
    rate = found.frames / found.reading_s
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    print(f"{found.frames} frames read in {found.reading_s:.0f} s, {rate:.1f} a second, beside")
    print(f"{len(waits)} clicks on {os.cpu_count()} cores{load}")
    for name, each in found.waits_ms.items():
        quiet = statistics.median(found.quiet_ms[name])
        print(
            f"  {name:24s} median {statistics.median(each):5.0f} ms, worst {max(each):5.0f} ms"
            f"   (nothing read: {quiet:4.0f} ms)"
        )
    within = sum(one <= WANTED_MS for one in waits) / len(waits)
    print(
        f"  all: 19 of 20 within {waits[int(0.95 * len(waits))]:.0f} ms; "
        f"{100 * within:.1f} % within {WANTED_MS:.0f} ms"
    )


if __name__ == "__main__":
    main()
