"""Own things: kept, found, changed, shared between setups, taken along in one file."""

import re
from pathlib import Path
from typing import Any

import pytest
from tests.browser.seeing import LOOKS, assert_fit_to_use

playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
expect = playwright.expect
expect.set_options(timeout=15_000)

A_VIEW_MS = 60_000  # a moment, where nothing else runs
GLASSES = {"preset": "cat-eye, mild short-sighted", "lens_width": "53 mm"}
HEAD = {"what": "head", "name": "Old faithful", "head": {"preset": "400 Ws studio head"}}


def open_thing(page: Any, app: Any, kind: str, body: dict[str, Any], name: str) -> str:
    key = str(app.add(kind, body, name=name))
    page.goto(f"{app.address}/own/{key}")
    return key


def test_a_room_is_made_found_renamed_and_binned(app, desk_page):
    page = desk_page
    page.goto(app.address + "/own")
    page.get_by_role("link", name="A room").click()
    page.get_by_label("Name").fill("Attic studio")
    page.get_by_label("Width").fill("4.2")
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_text("4.2 has no unit")).to_be_visible()
    page.get_by_label("Width").fill("4.2 m")
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_role("heading", name="Attic studio")).to_be_visible()
    page.get_by_label("Name", exact=True).fill("Attic, north side")
    page.get_by_role("button", name="Rename").click()
    page.get_by_role("link", name="Own things").first.click()
    page.get_by_label("Search").fill("NORTH attic")
    page.get_by_role("button", name="Search").click()
    expect(page.locator(".things li")).to_have_count(1)
    page.get_by_role("link", name="Attic, north side").click()
    page.get_by_role("button", name="Put into the bin").click()
    expect(page.get_by_text("Attic, north side")).to_have_count(0)
    page.goto(app.address + "/own?bin")
    page.get_by_role("link", name="Attic, north side").click()
    page.get_by_role("button", name="Take out of the bin").click()
    expect(page.get_by_role("button", name="Put into the bin")).to_be_visible()


def test_a_head_is_calibrated_with_a_meter_on_the_phone(app, phone_page):
    open_thing(phone_page, app, "gear", HEAD, "Old faithful")
    expect(phone_page.get_by_text("Not calibrated yet")).to_be_visible()
    phone_page.get_by_label("The meter showed").fill("f/11")
    phone_page.get_by_label("At a distance of").fill("1.5 m")
    phone_page.get_by_label("With this on the head").select_option("reflector dish 18 cm")
    phone_page.get_by_role("button", name="Keep the reading").click()
    expect(phone_page.get_by_text("Your reading says")).to_be_visible()


def test_glasses_go_into_a_setup_and_an_open_set_shows_it(app, open_window):
    setup = app.add_setup("quillmere-cured", name="For glasses")
    watching = open_window()
    watching.goto(f"{app.address}/set/{setup}")
    expect(watching.locator("#set[data-ready]")).to_be_visible(timeout=A_VIEW_MS)
    page = open_window()
    open_thing(page, app, "glasses", GLASSES, "Oriel's")
    page.get_by_label("Setup", exact=True).select_option("For glasses")
    page.get_by_role("button", name="Choose this setup").click()
    page.get_by_role("button", name="Put it in").click()
    expect(page).to_have_url(re.compile(f"/set/{setup}$"))
    assert app.body(setup)["sitter"]["glasses"]["lens_width"] == "53 mm"
    expect(watching.locator("#announce")).to_have_text("The set was changed elsewhere.")


def test_a_sitter_is_kept_out_of_a_setup(app, desk_page):
    setup = app.add_setup("quillmere-cured")
    desk_page.goto(f"{app.address}/own/{setup}")
    desk_page.get_by_label("Part", exact=True).select_option("Ines, reader services, the sitter")
    desk_page.get_by_role("button", name="Keep it").click()
    expect(desk_page.get_by_role("heading", name=re.compile("^Ines"))).to_be_visible()
    expect(desk_page.get_by_text("Sitter: seated")).to_be_visible()


def test_versions_are_looked_at_and_brought_back(app, desk_page):
    page = desk_page
    key = open_thing(page, app, "glasses", GLASSES, "Looked at twice")
    page.get_by_role("link", name="Change it").click()
    page.get_by_label("Lens height (B)").fill("33 mm")
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator(".versions li")).to_have_count(2)
    page.get_by_role("link", name="Look at version 1").click()
    expect(page.get_by_text("This is version 1")).to_be_visible()
    expect(page.get_by_role("cell", name="33 mm")).to_have_count(0)
    page.get_by_role("button", name="Bring back version 1").click()
    expect(page.locator(".versions li")).to_have_count(3)
    assert "lens_height" not in app.body(key)


def test_a_change_in_two_windows_is_asked_about(app, open_window):
    first, second = open_window(), open_window(phone=True)
    key = open_thing(first, app, "glasses", GLASSES, "Changed twice")
    for page in (first, second):
        page.goto(f"{app.address}/own/{key}/edit")
    for page, width in ((first, "50 mm"), (second, "56 mm")):
        page.get_by_label("Lens width (A)").fill(width)
        page.get_by_role("button", name="Keep it").click()
    expect(second.get_by_text("Another window changed this too.")).to_be_visible()
    expect(second.get_by_role("alert")).to_contain_text("50 mm")
    second.get_by_role("button", name="Keep mine there").click()
    expect(second.get_by_role("cell", name="56 mm")).to_be_visible()
    assert app.body(key)["lens_width"] == "56 mm"


def test_everything_leaves_as_one_file_and_is_taken_in_again(app, desk_page, tmp_path: Path):
    page = desk_page
    app.add("room", {"width": "4 m", "length": "6 m", "height": "2.7 m"}, name="Taken along")
    page.goto(app.address + "/own")
    with page.expect_download() as download:
        page.get_by_role("link", name="Everything as one file").click()
    file = tmp_path / "all.json"
    download.value.save_as(file)
    page.get_by_label("Take in such a file").set_input_files(file)
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("heading", name="Taken in from all.json")).to_be_visible()
    expect(page.get_by_role("row", name="room Taken along already here")).to_be_visible()
    file.write_text("nothing of the kind")
    page.goto(app.address + "/own")
    page.get_by_label("Take in such a file").set_input_files(file)
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_text("All that you keep is as it was.")).to_be_visible()


@LOOKS
def test_own_things_are_fit_to_use(app, open_window, phone, dark):
    page = open_window(phone=phone, dark=dark)
    glasses = str(app.add("glasses", GLASSES, name="Oriel's"))
    head = str(app.add("gear", HEAD, name="Old faithful"))
    setup = app.add_setup("quillmere-cured")
    for path in ("", f"/{head}?into={setup}", f"/{glasses}/edit", f"/{setup}"):
        page.goto(f"{app.address}/own{path}", wait_until="domcontentloaded")
        assert_fit_to_use(page, only_colors=dark and not phone)
