"""The picture of a set: beside the live drawings, on its own page, turned light by light."""

import io
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from tests.browser.conftest import SERVE, RunningApp
from tests.browser.seeing import LOOKS, assert_fit_to_use

from tapemark.rendering import developed
from tapemark.services import demo_setup_text
from tapemark.services.light_pictures import mixed_lights
from tapemark.store.light_files import read_light_file
from tapemark.studio import setup_from_toml, setup_to_mapping

playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
expect = playwright.expect
expect.set_options(timeout=15_000)

ROWS = 75
A_PICTURE_MS = 120_000  # some two seconds where nothing else runs
AT_ONCE_MS = 50.0
A_STEP = 1  # of 255: the browser's curve and ours round alike but for the last place
NOW, STALE = "As the set is now", "The set has changed since: take again"
# How long drawing the picture anew takes in the page, from a slider to pixels on the canvas.
REDRAWN = """async ([slider, value]) => {
  slider.value = value;
  const began = performance.now();
  slider.dispatchEvent(new Event("input"));
  await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
  return performance.now() - began;
}"""


DARK = setup_to_mapping(setup_from_toml(demo_setup_text("quillmere-troubled"))) | {"light": []}
FITTED = "one => getComputedStyle(one).objectFit"


class PictureApp(RunningApp):
    """The app taking small pictures, with a cache of its own."""

    def start(self) -> None:
        code = SERVE.replace("Path(sys.argv[1])", f"Path(sys.argv[1]), picture_rows={ROWS}")
        assert code != SERVE
        own = {"OPENBLAS_NUM_THREADS": "1", "TAPEMARK_CACHE": str(self.cache)}
        command = [sys.executable, "-c", code, str(self.library), "0"]
        self._process = subprocess.Popen(
            command, stdout=subprocess.PIPE, text=True, env=os.environ | own
        )
        assert self._process.stdout is not None
        with self._process.stdout as output:
            self.port = int(output.readline())

    @property
    def cache(self) -> Path:
        return self.library.parent / "cache"


@pytest.fixture(scope="module")
def pictures(tmp_path_factory: pytest.TempPathFactory) -> Iterator[PictureApp]:
    running = PictureApp(tmp_path_factory.mktemp("library") / "library.sqlite")
    running.start()
    yield running
    running.stop()


def expect_whole(page: Any) -> None:
    expect(page.locator(".plate-words").first).to_have_text(NOW, timeout=A_PICTURE_MS)


def pixels(canvas: Any) -> np.ndarray:
    """What is drawn on a canvas."""
    text = canvas.evaluate(
        """async (one) => {
          await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
          const all = one.getContext("2d").getImageData(0, 0, one.width, one.height).data;
          return [one.width, one.height, [...all].join(",")];
        }"""
    )
    width, height, numbers = text
    return np.array(numbers.split(","), dtype=np.uint8).reshape(height, width, 4)[..., :3]


def test_beside_the_drawings_a_light_is_turned_at_once_set_and_taken_back(pictures, desk_page):
    key = pictures.add_setup()
    before = pictures.body(key)["light"][0]["power"]
    desk_page.goto(f"{pictures.address}/set/{key}", wait_until="domcontentloaded")
    expect(desk_page.locator("#set[data-ready=yes]")).to_be_visible()
    desk_page.get_by_role("button", name="Picture", exact=True).click()
    expect_whole(desk_page)
    canvas = desk_page.locator("#picture-leaf canvas")
    as_set = pixels(canvas)
    slider = desk_page.get_by_role("slider", name="key")
    best = min(
        desk_page.evaluate(REDRAWN, [slider.element_handle(), value]) for value in (0.6, 0.9, 1.0)
    )
    assert best < AT_ONCE_MS
    expect(desk_page.get_by_role("spinbutton", name="key, stops")).to_have_value("1")
    turned = pixels(canvas)
    assert turned.mean() > as_set.mean() + A_STEP
    saved = desk_page.get_by_role("link", name="Save PNG").get_attribute("href")
    mark = re.fullmatch(rf"/picture/{key}/(\w+)\.png\?stops=1\.00,0\.00", saved)
    assert mark is not None
    found = read_light_file(pictures.cache / "pictures" / f"{mark[1]}.lights")
    assert found is not None
    ours = developed(mixed_lights(found, [1.0, 0.0]))
    assert np.abs(turned.astype(int) - ours.astype(int)).max() <= A_STEP

    desk_page.get_by_role("button", name="Set these powers").dblclick()  # the second does nothing
    expect(slider).to_have_value("0")
    expect(desk_page.get_by_text("Undo takes it back")).to_be_visible()
    expect(desk_page.locator("#picture-leaf .refused")).to_be_hidden()
    expect_whole(desk_page)  # as it is set now, without being taken again
    assert np.array_equal(pixels(canvas), turned)
    assert pictures.body(key)["light"][0]["power"] != before
    desk_page.get_by_role("button", name="Undo").click()
    expect(desk_page.locator("#picture-leaf .power").first).to_have_text(before)
    assert np.array_equal(pixels(canvas), as_set)
    assert pictures.body(key)["light"][0]["power"] == before

    handle = desk_page.get_by_role("button", name=re.compile("^key")).first
    handle.focus()
    desk_page.keyboard.press("PageUp")  # higher: another picture
    expect(desk_page.locator(".plate-words")).to_have_text(STALE)
    expect(slider).to_be_disabled()
    expect(desk_page.get_by_role("button", name="Take again")).to_be_visible()


def test_on_a_phone_the_picture_has_a_page_with_the_glasses_closely(pictures, phone_page, tmp_path):
    key = pictures.add_setup()
    phone_page.goto(f"{pictures.address}/set/{key}", wait_until="domcontentloaded")
    expect(phone_page.locator("#set[data-ready=yes]")).to_be_visible()
    phone_page.get_by_role("button", name="Picture", exact=True).tap()
    expect(phone_page).to_have_url(f"{pictures.address}/picture/{key}")
    expect_whole(phone_page)
    phone_page.get_by_role("button", name="Glasses").tap()
    expect(phone_page.locator("canvas.before")).to_be_visible()  # the frame before: dimmed,
    assert phone_page.locator("canvas").evaluate(FITTED) == "contain"  # and never stretched
    expect_whole(phone_page)
    expect(phone_page.locator("canvas.before")).to_have_count(0)
    shape = phone_page.locator("canvas").evaluate("one => one.width / one.height")
    assert shape == pytest.approx(16 / 7, rel=0.05)
    phone_page.get_by_role("button", name="fill alone").tap()
    alone = pixels(phone_page.locator("canvas"))
    phone_page.get_by_role("spinbutton", name="fill, stops").fill("-1")
    assert pixels(phone_page.locator("canvas")).mean() < alone.mean()
    with phone_page.expect_download(timeout=A_PICTURE_MS) as download:
        phone_page.get_by_role("link", name="Save PNG").click(no_wait_after=True)
    download.value.save_as(tmp_path / "shot.png")
    assert Image.open(io.BytesIO((tmp_path / "shot.png").read_bytes())).size[0] == ROWS


def test_more_than_a_head_gives_is_said_and_not_set(pictures, desk_page):
    key = pictures.add_setup()
    desk_page.goto(f"{pictures.address}/picture/{key}", wait_until="domcontentloaded")
    expect_whole(desk_page)
    desk_page.get_by_role("spinbutton", name="fill, stops").fill("3")
    expect(desk_page.get_by_role("alert").filter(has_text="above full")).to_be_visible()
    expect(desk_page.get_by_role("button", name="Set these powers")).to_be_disabled()
    desk_page.get_by_role("button", name="As set").click()
    expect(desk_page.get_by_role("slider", name="fill")).to_have_value("0")


def test_a_set_in_the_dark_says_what_to_do(pictures, desk_page):
    key = pictures.add("setup", DARK, name="In the dark")
    desk_page.goto(f"{pictures.address}/picture/{key}", wait_until="domcontentloaded")
    told = desk_page.get_by_role("alert").filter(has_text="switch a light on, or add one")
    expect(told).to_be_visible(timeout=A_PICTURE_MS)
    expect(desk_page.get_by_role("button", name="Take the picture")).to_be_visible()


@LOOKS
def test_pictures_are_fit_to_use(pictures, open_window, phone, dark):
    page = open_window(phone=phone, dark=dark)
    first, second = pictures.add_setup(), pictures.add_setup("quillmere-cured", name="Cured")
    page.goto(f"{pictures.address}/picture/{first}?beside={second}", wait_until="domcontentloaded")
    for number in (0, 1):
        expect(page.locator(".plate-words").nth(number)).to_have_text(NOW, timeout=A_PICTURE_MS)
    assert_fit_to_use(page, only_colors=dark and not phone)
    page.emulate_media(media="print")
    expect(page.get_by_role("slider").first).to_be_hidden()
    expect(page.locator("canvas").first).to_be_visible()
