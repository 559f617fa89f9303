"""Practice: a picture is tapped, the questions are answered, the reasons told, the score kept."""

import json
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from tests.browser.seeing import LOOKS, assert_fit_to_use
from tests.browser.test_picture_stories import PictureApp
from tests.laws.test_practice import CARD

from tapemark.services.practice import round_mark
from tapemark.store import write_results

playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
expect = playwright.expect
expect.set_options(timeout=15_000)

SEED = 11


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[PictureApp]:
    """Return the app with a round of two drills that was made before."""
    running = PictureApp(tmp_path_factory.mktemp("library") / "library.sqlite")
    lay_out(running.cache)
    running.start()
    yield running
    running.stop()


def lay_out(cache: Path) -> None:
    files: dict[str, str | bytes] = {"count": "2"}
    for number in (1, 2):
        files[f"{number}.json"] = json.dumps(CARD | {"number": number})
        for which, size in (("close", (640, 280)), ("shot", (320, 400)), ("cured", (640, 280))):
            stream = BytesIO()
            Image.new("RGB", size, (120, 110, 100)).save(stream, "JPEG")
            files[f"{number}-{which}.jpg"] = stream.getvalue()
    write_results(cache / "practice" / round_mark(None, SEED), files)


def tap(page: Any, *, across: float, down: float) -> None:
    picture = page.locator("#tapped")
    box = picture.bounding_box()
    picture.click(position={"x": across * box["width"], "y": down * box["height"]})


def choose(page: Any, *, light: str, surface: str, move: str) -> None:
    page.get_by_role("radio", name=light, exact=True).check()
    page.get_by_role("radio", name=surface).check()
    page.get_by_role("radio", name=move).check()
    page.get_by_role("button", name="Answer").click()


def test_a_drill_is_tapped_answered_and_told(app, desk_page):
    desk_page.goto(f"{app.address}/practice/demo/{SEED}/1", wait_until="domcontentloaded")
    choose(desk_page, light="key", surface="the back", move="A raise key")
    expect(desk_page.get_by_role("alert")).to_have_text(
        "Tap the picture where a reflection covers an eye."
    )
    tap(desk_page, across=0.3, down=0.4)
    desk_page.get_by_role("button", name="Answer").click()
    expect(desk_page.get_by_role("heading", name="3 of 4 right")).to_be_visible()
    expect(desk_page.get_by_text("So it is: the front of the lens.")).to_be_visible()
    expect(desk_page.get_by_role("img", name="The same glasses after the move")).to_be_visible()
    desk_page.get_by_role("link", name="Next drill").click()
    expect(desk_page.get_by_text("3 of 4 right in this round")).to_be_visible()


def test_a_drill_can_be_answered_with_the_keyboard_alone(app, desk_page):
    desk_page.goto(f"{app.address}/practice/demo/{SEED}/2", wait_until="domcontentloaded")
    desk_page.locator("#tapped").focus()
    desk_page.keyboard.press("Enter")
    for _ in range(3):
        desk_page.keyboard.press("ArrowUp")
    expect(desk_page.locator("#tap-said")).to_have_text("Mark 30 % across, 44 % down")
    choose(desk_page, light="key", surface="the front", move="A raise key")
    expect(desk_page.get_by_role("heading", name="4 of 4 right")).to_be_visible()
    desk_page.get_by_role("link", name="To the score").click()
    expect(desk_page.get_by_role("heading", name="Score")).to_be_visible()


@LOOKS
def test_practice_is_fit_to_use(app, open_window, phone, dark):
    page = open_window(phone=phone, dark=dark)
    address = f"{app.address}/practice/demo/{SEED}/1"
    page.goto(address, wait_until="domcontentloaded")
    tap(page, across=0.75, down=0.3)
    assert_fit_to_use(page, only_colors=dark and not phone)
    choose(page, light="fill", surface="both", move="B lower key")
    expect(page.get_by_role("heading", name="0 of 4 right")).to_be_visible()
    expect(page.get_by_text("not what covers the eyes")).to_be_visible()
    assert_fit_to_use(page, only_colors=dark)
    page.goto(f"{app.address}/practice", wait_until="domcontentloaded")
    assert_fit_to_use(page, only_colors=dark)
