"""The start: a brief in five steps, plans with pictures, the demo, an empty set, a file."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from tests.browser.seeing import LOOKS, assert_fit_to_use

from tapemark.services import demo_setup_text
from tapemark.studio import setup_from_toml, setup_to_mapping
from tapemark.web.start.brief import usual_answers

playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
expect = playwright.expect
expect.set_options(timeout=15_000)

SETUP = setup_to_mapping(setup_from_toml(demo_setup_text("quillmere-cured")))
A_SEARCH_MS = 150_000  # some ten seconds where nothing else runs
A_SET = re.compile(r"/set/[0-9a-f]{32}$")


def a_brief(app: Any, **plans: Any) -> str:
    """Keep a brief with plans, and return its id."""
    plan = {
        "letter": "A", "title": "one light: softbox from camera-left", "verdict": "clear",
        "pattern": "loop", "ratio": "3.1:1", "reading": "f/8", "iso": 100, "minutes": 16.0,
        "why": ["One light does everything that is asked for."], "setup": SETUP, "findings": [
            {"severity": "note", "text": "The fill is near.", "what_to_do": "Look at it."}],
        "limits": [{"what": "ceiling", "text": "the ceiling: 0.13 m over the key", "left": 0.1}],
    }  # fmt: skip
    found = {"plans": [plan], "give_up": [], "nearest": "", "interrupted": False} | plans
    for proposal in found["give_up"]:
        proposal["plan"] = plan
    body = {"what": "brief", "answers": usual_answers("metric"), "plans": found}
    return str(app.add("session", body, name="Brief: Portrait day"))


def step(page: Any, name: str) -> Any:
    return page.get_by_role("heading", name=re.compile(rf"^\d {name}$"))


def test_five_steps_lead_to_a_plan_that_becomes_a_set(app, desk_page):
    page = desk_page
    page.goto(app.address + "/start?anew")
    expect(step(page, "Who")).to_be_visible()
    expect(step(page, "Glasses")).to_be_hidden()
    page.get_by_label("Name", exact=True).fill("Oriel")
    page.get_by_role("button", name="On to glasses").click()
    page.get_by_label("Which are most like theirs").select_option("cat-eye, mild short-sighted")
    page.get_by_label("Their eyes through the lens look").select_option("smaller")
    page.get_by_role("button", name="On to room").click()
    page.get_by_label("Ceiling height").fill("27")
    page.get_by_role("button", name="4 Gear").click()
    page.get_by_label("medium softbox 60x90 cm").fill("0")
    page.get_by_role("button", name="On to wish").click()
    page.get_by_role("button", name="Plan it").click()
    # what is wrong is said where it stands
    expect(page.get_by_role("alert")).to_be_visible()
    expect(step(page, "Room")).to_be_visible()
    expect(page.get_by_text("27 has no unit")).to_be_visible()
    page.get_by_label("Ceiling height").fill("2.7 m")
    page.get_by_role("button", name="Plan it").click()
    expect(page.get_by_role("heading", name="Plans for Oriel")).to_be_visible()
    take = page.get_by_role("button", name="Take plan A")
    expect(take).to_be_visible(timeout=A_SEARCH_MS)
    expect(page.get_by_role("heading", name="What binds").first).to_be_visible()
    picture = page.get_by_role("img", name="Plan A as the camera sees the sitter")
    picture.scroll_into_view_if_needed()
    seen(page, picture)
    take.click()
    expect(page).to_have_url(A_SET)
    expect(page.locator("#set-name")).to_contain_text("plan A")


def seen(page: Any, picture: Any) -> None:
    """A picture has come, and is one."""
    for _ in range(600):
        if picture.evaluate("one => one.complete && one.naturalWidth > 100"):
            return
        page.wait_for_timeout(100)
    raise AssertionError("the picture did not come")


def test_answers_are_kept_while_typing_and_found_again(app, open_window):
    page = open_window()
    page.goto(app.address + "/start?anew")
    page.get_by_label("Body height").fill("181 cm")
    expect(page.locator("[data-kept]")).to_have_text("kept")
    other = open_window(phone=True)
    other.goto(app.address + "/start")
    expect(other.get_by_label("Body height")).to_have_value("181 cm")


def test_units_change_what_was_not_touched(app, desk_page):
    desk_page.goto(app.address + "/start?anew")
    desk_page.get_by_role("button", name="3 Room").click()
    desk_page.get_by_label("Width", exact=True).fill("3.5 m")
    desk_page.get_by_role("button", name="feet and inches").click()
    desk_page.get_by_role("button", name="3 Room").click()
    expect(desk_page.get_by_label("Ceiling height")).to_have_value("9 ft")
    expect(desk_page.get_by_label("Width", exact=True)).to_have_value("3.5 m")


def test_enter_goes_on_and_does_not_plan(app, desk_page):
    desk_page.goto(app.address + "/start?anew")
    desk_page.get_by_label("Body height").press("Enter")
    expect(step(desk_page, "Glasses")).to_be_visible()
    expect(step(desk_page, "Glasses")).to_be_focused()


def test_without_scripts_it_is_one_long_form_that_works(app, open_window):
    page = open_window(phone=True, java_script_enabled=False)
    page.goto(app.address + "/start?anew")
    for name in ("Who", "Glasses", "Room", "Gear", "Wish"):
        expect(step(page, name)).to_be_visible()
    page.get_by_label("Ceiling height").fill("high")
    page.get_by_role("button", name="Plan it").click()
    expect(page.get_by_text("Some answers cannot be used yet")).to_be_visible()


@pytest.mark.parametrize("phone", [False, True], ids=["desk", "phone"])
def test_one_begins_with_the_demo_or_with_nothing(app, open_window, phone):
    page = open_window(phone=phone)
    page.goto(app.address + "/start")
    page.get_by_role("button", name="The demo, in trouble" if phone else "An empty set").click()
    expect(page).to_have_url(A_SET)


def test_a_file_becomes_a_set_and_a_wrong_one_is_refused(app, desk_page, tmp_path: Path):
    good, wrong = tmp_path / "reading.json", tmp_path / "holiday.toml"
    good.write_text(json.dumps(SETUP))
    wrong.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(99))
    desk_page.goto(app.address + "/start")
    desk_page.get_by_label("A setup from a file").set_input_files(good)
    desk_page.get_by_role("button", name="Take this file").click()
    expect(desk_page).to_have_url(A_SET)
    desk_page.goto(app.address + "/start")
    desk_page.get_by_label("A setup from a file").set_input_files(wrong)
    desk_page.on("console", lambda said: None)
    with desk_page.expect_response("**/start/file") as sent:
        desk_page.get_by_role("button", name="Take this file").click()
    assert sent.value.status == 400
    expect(desk_page.get_by_text("holiday.toml is not what can be read here")).to_be_visible()


def test_what_to_give_up_is_offered_as_buttons(app, phone_page):
    proposals = [
        {"wishes": ["aperture"], "text": "aperture: f/5.6 in place of f/16"},
        {"wishes": ["mood", "pattern"], "text": "mood: 2:1 in place of dramatic; pattern: loop"},
    ]
    brief = a_brief(app, plans=[], give_up=proposals)
    phone_page.goto(f"{app.address}/start/{brief}")
    expect(phone_page.get_by_text("Aperture: f/5.6 in place of f/16")).to_be_visible()
    phone_page.get_by_role("button", name="Plan again with another aperture").click()
    expect(phone_page.get_by_role("button", name="Enough: show what was found")).to_be_visible()
    phone_page.get_by_role("button", name="Stop, and keep nothing").click()
    expect(phone_page.get_by_role("alert")).to_contain_text("It was stopped.")
    phone_page.get_by_role("link", name="Change the brief").click()
    expect(phone_page.locator('[name="aperture"]')).to_have_value("f/8")


@LOOKS
def test_the_start_is_fit_to_use(app, open_window, phone, dark):
    page = open_window(phone=phone, dark=dark)
    page.goto(app.address + "/start?anew")
    names = ("Who",) if dark and not phone else ("Who", "Glasses", "Room", "Gear", "Wish")
    for name in names:
        page.get_by_role("button", name=re.compile(rf"^\d {name}$")).click()
        assert_fit_to_use(page, only_colors=dark)
    page.goto(f"{app.address}/start/{a_brief(app)}")
    assert_fit_to_use(page, only_colors=dark)
