"""A sitter comes again: asked, noted, and their setup rebuilt from a list."""

import pytest
from tests.browser.seeing import LOOKS, assert_fit_to_use

playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
expect = playwright.expect
expect.set_options(timeout=15_000)


def keep_ines(page, app, *, name: str) -> None:
    """Keep the sitter of a set that was cured, beside one that has trouble."""
    app.add_setup("quillmere-cured", name=name)
    page.goto(f"{app.address}/sitters", wait_until="domcontentloaded")
    keep = page.get_by_role("button", name="Keep Ines, reader services")
    if keep.count():
        keep.click()
    else:
        page.get_by_role("link", name="Ines").first.click()
    expect(page.get_by_role("heading", name="Say and ask")).to_be_visible()


def test_a_sitter_is_kept_asked_noted_and_erased(app, desk_page):
    keep_ines(desk_page, app, name="Last spring, asked")
    expect(desk_page.get_by_text("Does flashing or bright light trouble you")).to_be_visible()
    desk_page.get_by_label("They want their glasses").select_option("on")
    desk_page.get_by_label("Flashing light may bring on a seizure").check()
    desk_page.get_by_label("In your own words").fill("likes the low stool")
    desk_page.get_by_role("button", name="Keep the notes").click()
    expect(desk_page.get_by_text("It is kept.")).to_be_visible()
    expect(desk_page.get_by_text("Shall we work with steady lamps only")).to_be_visible()
    expect(desk_page.get_by_label("In your own words")).to_have_value("likes the low stool")
    desk_page.locator("summary", has_text="Erase").click()
    desk_page.get_by_role("button", name="Erase everything kept of them").click()
    expect(desk_page.get_by_role("heading", name="Sitters", level=1)).to_be_visible()
    expect(desk_page.get_by_role("button", name="Keep Ines, reader services")).to_be_visible()


def test_last_year_s_setup_is_rebuilt_from_a_list_on_the_phone(app, phone_page):
    keep_ines(phone_page, app, name="Last spring, rebuilt")
    app.add_setup("quillmere-troubled", name="As it stands")
    phone_page.reload(wait_until="domcontentloaded")
    phone_page.get_by_label("To have again").select_option(
        label=next(
            one
            for one in phone_page.get_by_label("To have again").locator("option").all_inner_texts()
            if one.startswith("Last spring, rebuilt")
        )
    )
    phone_page.get_by_label("What stands now").select_option(label="As it stands")
    step = phone_page.get_by_label("key: moved 24 cm and 70 cm up")
    expect(step).to_be_visible()
    step.check()
    expect(step).to_be_checked()
    phone_page.get_by_label("What stands now").select_option("empty")
    expect(phone_page.get_by_role("heading", name="Order of work")).to_be_visible(timeout=60_000)
    expect(phone_page.get_by_role("row", name="key")).to_contain_text("2.05 m")


@LOOKS
def test_a_sitter_s_page_is_fit_to_use(app, open_window, phone, dark):
    page = open_window(phone=phone, dark=dark)
    keep_ines(page, app, name=f"Looked at {phone} {dark}")
    assert_fit_to_use(page, only_colors=phone)
