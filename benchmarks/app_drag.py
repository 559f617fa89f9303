"""How the set screen feels: from the pointer to the picture, on a desk and on a slow phone.

Measured in Chromium, with the app in a process of its own on the same machine; the phone is the
same browser with its processor held to a quarter. A pointer event counts as answered when plan,
elevation and camera view that show its place are painted.
"""

import asyncio
import json
import os
import shutil
import statistics
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.browser.conftest import CHROMIUM, DESK, PHONE, RunningApp

WANTED_PER_SECOND = 20.0  # updates while dragging, on two cores
SLOWER = 4  # the phone's processor
WARM_UP_EDITS = 200

READY = """
new MutationObserver((_, observer) => {
  if (!document.getElementById("set")?.dataset.ready) return;
  requestAnimationFrame(() => requestAnimationFrame(() => (window.readyAt = performance.now())));
  observer.disconnect();
}).observe(document, { subtree: true, childList: true, attributes: true });
"""

#: Moves the key about a circle, pointer event by pointer event; `steady` waits for each answer.
DRAG = """
async ({ seconds, steady }) => {
  const handle = document.querySelector('#plan-stage [data-handle="light.key"]');
  const picture = document.querySelector("#plan-stage .picture");
  const frame = () => new Promise(requestAnimationFrame);
  const late = () => new Promise((resolve) => setTimeout(resolve, 1000, false));
  const box = handle.getBoundingClientRect();
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  const send = (type, target, angle) => target.dispatchEvent(new PointerEvent(type, {
    bubbles: true, cancelable: true, pointerId: 7, isPrimary: true, button: 0, buttons: 1,
    clientX: x - 60 + 60 * Math.cos(angle), clientY: y + 60 * Math.sin(angle) }));
  const times = [];
  let answers = 0, wake = null;
  const observer = new MutationObserver((records) => {
    if (!records.some((one) => one.addedNodes.length)) return;
    answers += 1;
    wake?.();
  });
  observer.observe(picture, { childList: true });
  send("pointerdown", handle, 0);
  const start = performance.now();
  for (let k = 1; performance.now() - start < 1000 * seconds; k += 1) {
    const begun = performance.now();
    const answered = new Promise((resolve) => (wake = resolve));
    send("pointermove", window, 0.08 * k);
    if (steady) {
      // A step that rounds to the same place is not drawn again.
      const came = await Promise.race([answered.then(() => true), late()]);
      await frame();
      if (came) times.push(performance.now() - begun);
      await new Promise((resolve) => setTimeout(resolve, 20));
    } else await frame();
  }
  const took = (performance.now() - start) / 1000;
  observer.disconnect();
  window.dispatchEvent(new KeyboardEvent("keydown", { key: "Escape" }));
  return { times, perSecond: answers / took };
}
"""


@dataclass(frozen=True, kw_only=True, slots=True)
class ScreenTime:
    """What was measured on one kind of screen.

    Attributes
    ----------
    screen : str
        Desk, or phone with its processor held down.
    first_paint_ms, ready_ms : float
        From the request to the first paint, and to the whole set on the screen. [ms]
    latency_ms, slowest_ms : float
        Pointer event to painted answer: median, and what 19 in 20 stay under. [ms]
    per_second : float
        Painted answers while the pointer never rests. [1/s]
    server_ms, page_ms : float
        Processor time that an answer takes the app, and the page's main thread. [ms]
    """

    screen: str
    first_paint_ms: float
    ready_ms: float
    latency_ms: float
    slowest_ms: float
    per_second: float
    server_ms: float
    page_ms: float


@dataclass(frozen=True, kw_only=True, slots=True)
class AppTime:
    """What was measured of the app.

    Attributes
    ----------
    screens : tuple of ScreenTime
        Desk, then phone.
    edits : int
        How many edits were saved one after the other.
    start_mb, growth_mb : float
        Memory of the app with all its processes after a warm-up, and its growth for each thousand
        edits after that. [MB]
    edit_ms : float
        From sending an edit to its saved and checked answer: median. [ms]
    """

    screens: tuple[ScreenTime, ...]
    edits: int
    start_mb: float
    growth_mb: float
    edit_ms: float


def measure_app(*, quick: bool) -> AppTime | None:
    """Return what was measured, or None where there is no browser to measure with."""
    if shutil.which(CHROMIUM) is None:
        return None
    with tempfile.TemporaryDirectory() as folder:
        app = RunningApp(Path(folder) / "library.sqlite")
        app.start()
        try:
            seconds = 2.0 if quick else 6.0
            screens = tuple(_screen(app, phone=phone, seconds=seconds) for phone in (False, True))
            edits = 300 if quick else 2000
            start_mb, growth_mb, edit_ms = asyncio.run(_many_edits(app, edits=edits))
        finally:
            app.stop()
    return AppTime(
        screens=screens, edits=edits, start_mb=start_mb, growth_mb=growth_mb, edit_ms=edit_ms
    )


def _screen(app: RunningApp, *, phone: bool, seconds: float) -> ScreenTime:
    address = f"{app.address}/set/{app.add_setup()}"
    with _window(phone=phone) as page:
        page.goto(address)  # once unmeasured: the server's own caches
        page.wait_for_selector("#set[data-ready]")
        paints, readies = [], []
        for _ in range(3):
            page.goto(address)
            page.wait_for_selector("#set[data-ready]")
            page.wait_for_timeout(250)  # two frames, and then some
            paint = "performance.getEntriesByName('first-contentful-paint')[0].startTime"
            paints.append(float(page.evaluate(paint)))
            readies.append(float(page.evaluate("window.readyAt")))
        page.evaluate(DRAG, {"seconds": 1.0, "steady": False})
        page.wait_for_timeout(500)
        talk = page.context.new_cdp_session(page)
        talk.send("Performance.enable")
        before = _spent_ms(app.pid), _thread_ms(talk)
        steady = page.evaluate(DRAG, {"seconds": seconds, "steady": True})
        after = _spent_ms(app.pid), _thread_ms(talk)
        page.wait_for_timeout(500)
        flowing = page.evaluate(DRAG, {"seconds": seconds, "steady": False})
    times = sorted(steady["times"])
    return ScreenTime(
        screen=f"phone, processor at 1/{SLOWER}" if phone else "desk",
        first_paint_ms=statistics.median(paints),
        ready_ms=statistics.median(readies),
        latency_ms=statistics.median(times),
        slowest_ms=times[min(len(times) - 1, int(0.95 * len(times)))],
        per_second=float(flowing["perSecond"]),
        server_ms=(after[0] - before[0]) / len(times),
        page_ms=(after[1] - before[1]) / len(times),
    )


@contextmanager
def _window(*, phone: bool) -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        context = browser.new_context(
            viewport=PHONE if phone else DESK, device_scale_factor=2 if phone else 1
        )
        page = context.new_page()
        page.add_init_script(READY)
        if phone:
            throttle = context.new_cdp_session(page)
            throttle.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        yield page
        browser.close()


async def _many_edits(app: RunningApp, *, edits: int) -> tuple[float, float, float]:
    """Return memory after a warm-up, growth per thousand edits [MB], time of one edit [ms]."""
    from websockets.asyncio.client import connect

    key = app.add_setup()
    address = f"ws://127.0.0.1:{app.port}/live/{key}"
    loop, times = asyncio.get_running_loop(), []
    async with connect(address, origin=app.address, max_size=None) as talk:  # type: ignore[arg-type]
        await talk.send(json.dumps({"do": "hello", "window": "bench"}))
        revision = json.loads(await talk.recv())["revision"]
        start_mb = 0.0
        for number in range(1, WARM_UP_EDITS + edits + 1):
            if number == WARM_UP_EDITS + 1:
                start_mb = _memory_mb(app.pid)
            place = {"x": 0.5 + 0.01 * (number % 60), "y": 1.3 + 0.01 * (number % 37)}
            edit = {"move": "light.key", **place}
            take = {"do": "take", "n": number, "base": revision, "edits": [edit]}
            begun = loop.time()
            await talk.send(json.dumps(take))
            said = json.loads(await talk.recv())
            times.append(1000 * (loop.time() - begun))
            assert said["say"] == "taken", said
            revision = said["revision"]
    growth = (_memory_mb(app.pid) - start_mb) / edits * 1000
    return start_mb, growth, statistics.median(times)


def _thread_ms(talk: Any) -> float:
    """Return the processor time of the page's main thread so far [ms]."""
    metrics = {one["name"]: one["value"] for one in talk.send("Performance.getMetrics")["metrics"]}
    return 1000.0 * float(metrics["ThreadTime"])


def _spent_ms(pid: int) -> float:
    """Return the processor time of a process and all below it so far [ms]."""
    ticks = 0
    for one in (pid, *_below(pid)):
        fields = Path(f"/proc/{one}/stat").read_text().rpartition(")")[2].split()
        ticks += int(fields[11]) + int(fields[12])
    return 1000.0 * ticks / os.sysconf("SC_CLK_TCK")


def _memory_mb(pid: int) -> float:
    """Return the memory that a process and all below it hold for themselves [MB]."""
    return sum(_own_mb(one) for one in (pid, *_below(pid)))


def _below(pid: int) -> list[int]:
    found = []
    for task in Path(f"/proc/{pid}/task").glob("*/children"):
        for child in task.read_text().split():
            found += [int(child), *_below(int(child))]
    return found


def _own_mb(pid: int) -> float:
    for line in Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines():
        if line.startswith("Pss:"):  # shared pages in equal shares
            return int(line.split()[1]) / 1024
    return 0.0


def main() -> None:
    """Print what was measured; quick with TAPEMARK_QUICK=1."""
    print(measure_app(quick=bool(os.environ.get("TAPEMARK_QUICK"))))


if __name__ == "__main__":
    main()
