"""Sifting in the app: a folder is read, stopped and gone on with, looked through, taken along."""

import shutil
from pathlib import Path

import pytest
from tests.browser.seeing import LOOKS, assert_fit_to_use
from tests.laws.sift_folder import reading, write_results_folder

playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
expect = playwright.expect
expect.set_options(timeout=15_000)

PICTURES = Path(__file__).parents[1] / "pictures"
A_FOLDER_MS = 90_000  # three photos, by processes of low priority
MANY = 500


@pytest.fixture(scope="module")
def many(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return results of many frames, without the photos."""
    readings = [reading(f"f{k:03d}.jpg", veil=0.001 * k) for k in range(1, MANY)]
    readings.append(reading("a name that somebody took time over " * 6 + ".jpg", veil=0.0))
    return write_results_folder(tmp_path_factory.mktemp("many") / "results", readings)


def open_results(page, app, folder: Path) -> None:
    page.goto(f"{app.address}/sift", wait_until="domcontentloaded")
    page.locator("summary", has_text="Open the results").click()
    page.get_by_label("Folder of its results").fill(str(folder))
    page.get_by_role("button", name="Open them").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("results")


def test_a_folder_is_sifted_looked_through_and_taken_along(app, desk_page, tmp_path: Path):
    folder = tmp_path / "Portrait day"
    folder.mkdir()
    for name in ("shot-0000.jpg", "shot-0002.jpg", "shot-0004.jpg"):
        shutil.copy(PICTURES / name, folder / name)
    desk_page.goto(f"{app.address}/sift", wait_until="domcontentloaded")
    field = desk_page.get_by_label("Folder of photos on this computer")
    field.fill(str(tmp_path / "elsewhere"))
    desk_page.get_by_role("button", name="Sift it").click()
    expect(desk_page.locator(".refused")).to_contain_text("no folder that can be found")
    field.fill(str(folder))
    desk_page.get_by_role("button", name="Sift it").click()
    expect(desk_page.get_by_text("3 of 3 photos read.")).to_be_visible(timeout=A_FOLDER_MS)
    frames = desk_page.get_by_role("list").locator(".contact > li, li.bad")
    expect(desk_page.locator(".contact li")).to_have_count(3)
    expect(frames.first).to_contain_text("veiled")
    desk_page.locator(".contact a").first.click()
    picture = desk_page.get_by_role("img", name="The frame shot-0000.jpg")
    expect(picture).to_be_visible()
    desk_page.wait_for_function("document.querySelector('.large img').naturalWidth > 300")
    desk_page.keyboard.press("ArrowRight")
    expect(desk_page.get_by_text("2 of 3")).to_be_visible()
    desk_page.get_by_role("link", name="Portrait day").click()
    desk_page.get_by_role("button", name="Write sidecars beside the photos").click()
    expect(desk_page.get_by_text("3 sidecars are written")).to_be_visible()
    assert sorted(one.suffix for one in folder.iterdir()) == [".jpg"] * 3 + [".xmp"] * 3
    with desk_page.expect_download() as download:
        desk_page.get_by_role("link", name="Table (CSV)").click(no_wait_after=True)
    assert download.value.suggested_filename == "portrait-day-sifted.csv"
    desk_page.locator("summary", has_text="Remove the results").click()
    desk_page.get_by_role("button", name="Yes, remove them").click()
    expect(desk_page.get_by_role("heading", name="Sift a folder of photos")).to_be_visible()
    assert len(list(folder.glob("*.jpg"))) == 3


def test_five_hundred_frames_are_filtered_and_paged_on_a_phone(app, phone_page, many):
    open_results(phone_page, app, many)
    expect(phone_page.get_by_text("500 frames, page 1 of 9")).to_be_visible()
    assert phone_page.locator(".contact li").count() == 60
    phone_page.get_by_role("link", name="Next page").click()
    expect(phone_page.locator(".contact li").first).to_contain_text("f439.jpg")
    phone_page.get_by_label("Verdict").select_option("clear")
    expect(phone_page.get_by_text("1 frame, the worst first")).to_be_visible()
    expect(phone_page.locator(".contact li")).to_have_count(1)
    wide = phone_page.evaluate("document.documentElement.scrollWidth - innerWidth")
    assert wide <= 0  # a long name is cut, and does not widen the sheet


@LOOKS
def test_a_contact_sheet_is_fit_to_use(app, open_window, many, phone, dark):
    page = open_window(phone=phone, dark=dark)
    open_results(page, app, many)
    assert_fit_to_use(page, only_colors=phone)
