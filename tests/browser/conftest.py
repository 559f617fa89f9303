"""The app in a process of its own, with a library of its own, and a browser before it.

    def test_something(app, desk_page):      # desk_page, phone_page: a page of the app
        desk_page.goto(app.address + "/set/" + app.add_setup())

Each story gets a fresh window; the app and the browser are started once. Where there is no
Chromium (`TAPEMARK_CHROMIUM` names another than /usr/bin/chromium) or no Playwright, the stories
are skipped and say so.
"""

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tapemark.services import demo_setup_text
from tapemark.store import Library
from tapemark.studio import setup_from_toml, setup_to_mapping

CHROMIUM = os.environ.get("TAPEMARK_CHROMIUM", "/usr/bin/chromium")
DESK, PHONE = {"width": 1280, "height": 800}, {"width": 390, "height": 844}
PATIENCE_MS = 15_000  # the machines that run this are shared

SERVE = """
import sys
from pathlib import Path
from tapemark.web import Settings, create_app, listen, serve
listening = listen("127.0.0.1", int(sys.argv[2]))
port = listening.getsockname()[1]
app = create_app(Settings(port=port, library=Path(sys.argv[1])))
print(port, flush=True)
serve(app, listening)
"""


class RunningApp:
    """The app as a process that can be killed and started again on the same port."""

    def __init__(self, library: Path) -> None:
        self.library = library
        self.port = 0
        self._process: subprocess.Popen[str] | None = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def pid(self) -> int:
        assert self._process is not None
        return self._process.pid

    def start(self) -> None:
        command = [sys.executable, "-c", SERVE, str(self.library), str(self.port)]
        one_thread = {"OPENBLAS_NUM_THREADS": "1"}
        self._process = subprocess.Popen(
            command, stdout=subprocess.PIPE, text=True, env=os.environ | one_thread
        )
        assert self._process.stdout is not None
        with self._process.stdout as output:
            line = output.readline()
        assert line.strip().isdigit(), "the app did not start"
        self.port = int(line)

    def kill(self) -> None:
        """End it as a power cut would."""
        assert self._process is not None
        self._process.send_signal(signal.SIGKILL)
        self._process.wait()

    def stop(self) -> None:
        if self._process is None or self._process.poll() is not None:
            return
        self._process.terminate()
        try:
            self._process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            self.kill()

    def add_setup(self, which: str = "quillmere-troubled", *, name: str = "Reading room") -> str:
        """Keep one of the demo's setups, and return its id."""
        setup = setup_from_toml(demo_setup_text(which))
        return self.add("setup", setup_to_mapping(setup), name=name)

    def add(self, kind: str, body: dict[str, Any], *, name: str) -> str:
        """Keep a thing in the library of the app, and return its id."""
        with Library.open(self.library) as library:
            return library.add(kind, name=name, body=body).id

    def body(self, thing_id: str) -> dict[str, Any]:
        """Return what is kept of a thing now."""
        with Library.open(self.library) as library:
            return dict(library.get(thing_id).body)


@pytest.fixture(scope="session")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningApp]:
    """Return the app, running, with an empty library."""
    running = RunningApp(tmp_path_factory.mktemp("library") / "library.sqlite")
    running.start()
    yield running
    running.stop()


@pytest.fixture(scope="package")
def browser() -> Iterator[Any]:
    """Return Chromium, driven by Playwright; it ends with the stories.

    While the driver lives it marks its own event loop as the running one, and no other test of
    the process could run one: hence the scope, and the package that tests/browser is.
    """
    playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
    if shutil.which(CHROMIUM) is None:
        pytest.skip(f"there is no Chromium at {CHROMIUM}")
    with playwright.sync_playwright() as driver:
        chromium = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield chromium
        chromium.close()


@pytest.fixture
def open_window(browser: Any) -> Iterator[Any]:
    """Return a function that opens a window: ``open_window(phone=True, dark=True)``.

    A story fails if the page throws an error or breaks its content policy.
    """
    contexts, wrong = [], []

    def open_one(*, phone: bool = False, dark: bool = False, **settings: Any) -> Any:
        context = browser.new_context(
            viewport=PHONE if phone else DESK,
            has_touch=phone,
            device_scale_factor=2 if phone else 1,
            color_scheme="dark" if dark else "light",
            reduced_motion="reduce",
            **settings,
        )
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", lambda said: _note(said, wrong))
        return page

    yield open_one
    for context in contexts:
        context.close()
    assert not wrong, wrong


def _note(said: Any, wrong: list[str]) -> None:
    """Keep what the browser calls an error.

    But for a connection that a story has cut, and an answer that refuses a form and says why.
    """
    cut = ("WebSocket", "ERR_CONNECTION", "ERR_CONTENT_LENGTH_MISMATCH")
    foreseen = (*cut, "status of 400", "status of 409", "status of 422")
    if said.type == "error" and not any(one in said.text for one in foreseen):
        wrong.append(said.text)


@pytest.fixture
def desk_page(open_window: Any) -> Any:
    """Return a fresh window as wide as on a desk."""
    return open_window()


@pytest.fixture
def phone_page(open_window: Any) -> Any:
    """Return a fresh window as wide as a phone, with touch, in the dark."""
    return open_window(phone=True, dark=True)
