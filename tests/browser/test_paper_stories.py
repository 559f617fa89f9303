"""Paper: the page to rig from, as files, and on the assistant's phone."""

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.browser.conftest import SERVE, RunningApp
from tests.browser.seeing import LOOKS, assert_fit_to_use

playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
expect = playwright.expect
expect.set_options(timeout=15_000)

A_FILE_MS = 90_000  # some two seconds where nothing else runs


class SharedApp(RunningApp):
    """The app as devices in the network may join it."""

    def start(self) -> None:
        code = SERVE.replace(
            "library=Path(sys.argv[1])", "library=Path(sys.argv[1]), lan=True, names=('127.0.0.1',)"
        )
        assert code != SERVE
        command = [sys.executable, "-c", code, str(self.library), "0"]
        one_thread = os.environ | {"OPENBLAS_NUM_THREADS": "1"}
        self._process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=one_thread)
        assert self._process.stdout is not None
        with self._process.stdout as output:
            self.port = int(output.readline())


@pytest.fixture
def shared_app(tmp_path: Path) -> Iterator[SharedApp]:
    """Return the app with devices in the network let in, with a library of its own."""
    running = SharedApp(tmp_path / "library.sqlite")
    running.start()
    yield running
    running.stop()


def open_paper(page: Any, app: Any) -> str:
    key = str(app.add_setup("quillmere-cured"))
    page.goto(f"{app.address}/paper/{key}", wait_until="domcontentloaded")
    expect(page.get_by_role("heading", name="Marks")).to_be_visible()
    return key


def test_the_page_is_seen_as_it_is_printed_on_either_paper(app, desk_page):
    open_paper(desk_page, app)
    sheet = desk_page.get_by_role("img", name="The page as it is printed")
    for paper, ratio in (("A4", 842 / 595), ("US Letter", 792 / 612)):
        desk_page.get_by_role("link", name=paper, exact=True).click(timeout=A_FILE_MS)
        size = []
        for _ in range(900):
            size = sheet.evaluate("one => [one.naturalWidth, one.naturalHeight]")
            if size[0]:
                break
            desk_page.wait_for_timeout(100)
        assert size[1] / size[0] == pytest.approx(ratio, rel=0.01)


@pytest.mark.parametrize(
    ("name", "begins"), [("PDF to print", b"%PDF-"), ("PNG", b"\x89PNG"), ("SVG", b"<svg")]
)
def test_the_page_is_taken_as_a_file(app, desk_page, tmp_path: Path, name, begins):
    open_paper(desk_page, app)
    with desk_page.expect_download(timeout=A_FILE_MS) as download:
        desk_page.get_by_role("link", name=name, exact=True).first.click(no_wait_after=True)
    file = tmp_path / download.value.suggested_filename
    download.value.save_as(file)
    assert re.fullmatch(r"reading-room-sheet\.(pdf|png|svg)", file.name)
    assert file.read_bytes().lstrip().startswith(begins)


def test_the_set_is_taken_as_a_model(app, desk_page, tmp_path: Path):
    open_paper(desk_page, app)
    desk_page.get_by_text("Single drawings, and the set in 3D").click()
    with desk_page.expect_download(timeout=A_FILE_MS) as download:
        desk_page.get_by_role("link", name="The set as glTF").click(no_wait_after=True)
    download.value.save_as(tmp_path / "set.glb")
    assert (tmp_path / "set.glb").read_bytes().startswith(b"glTF")


def test_an_assistant_reads_the_marks_on_a_phone(app, phone_page):
    open_paper(phone_page, app)
    key = phone_page.locator(".mark-card").filter(has=phone_page.get_by_role("heading", name="key"))
    tapes = key.locator(".big")
    expect(tapes.first).to_have_text(re.compile(r"^\d\.\d\d m$"))
    assert tapes.first.evaluate("one => parseFloat(getComputedStyle(one).fontSize)") >= 20
    phone_page.get_by_label(re.compile("400 Ws studio head")).first.check()
    expect(phone_page.get_by_text("Cautions inform and never certify")).to_be_visible()


def test_on_this_computer_alone_the_way_to_let_phones_in_is_said(app, desk_page):
    open_paper(desk_page, app)
    expect(desk_page.get_by_text("tapemark open --lan")).to_be_visible()
    expect(desk_page.get_by_role("button", name="Show a code to scan")).to_have_count(0)


def test_with_phones_let_in_a_code_leads_to_the_same_page(shared_app, open_window):
    page = open_window()
    key = open_paper(page, shared_app)
    page.get_by_role("button", name="Show a code to scan").click()
    expect(page.locator(".code svg")).to_be_visible()
    link = page.locator(".phone .address").inner_text()
    phone = open_window(phone=True, dark=True)
    phone.goto(link, wait_until="domcontentloaded")
    expect(phone).to_have_url(f"{shared_app.address}/paper/{key}")
    expect(phone.get_by_role("heading", name="Marks")).to_be_visible()


@LOOKS
def test_paper_is_fit_to_use(app, open_window, phone, dark):
    page = open_window(phone=phone, dark=dark)
    open_paper(page, app)
    page.get_by_text("Single drawings, and the set in 3D").click()
    assert_fit_to_use(page, only_colors=dark and not phone)
    page.goto(f"{app.address}/paper", wait_until="domcontentloaded")
    assert_fit_to_use(page, only_colors=dark)
