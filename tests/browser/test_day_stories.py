"""The day: a list becomes an order, and the order is worked down on a phone and a laptop."""

import re
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from tests.browser.seeing import LOOKS, assert_fit_to_use

from tapemark.services import demo_setup_text
from tapemark.studio import setup_from_toml, setup_to_mapping
from tapemark.web.day.tasks import order

playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
expect = playwright.expect
expect.set_options(timeout=15_000)

SETUP = setup_to_mapping(setup_from_toml(demo_setup_text("quillmere-cured")))
LIST = """name;height;posture;glasses
Tova;171 cm;seated;none
Mirren;160 cm;seated;none
Jory;186 cm;standing;none
Thea;170 cm;seated;none
Linnet;158 cm;seated;none
"""
# Far from now, so that what is late or next is told from the plan and not from the hour of the run.
START_S = (18 if 5 <= datetime.now().hour < 14 else 9) * 3600
AN_ORDER_MS = 90_000  # some two seconds where nothing else runs


@pytest.fixture(scope="module")
def ordered() -> dict[str, Any]:
    return order(tell=lambda text: None, setup=SETUP, sitters=LIST, start_s=START_S, sitting_s=480)


@pytest.fixture
def day(app: Any, ordered: dict[str, Any]) -> str:
    body = {
        "what": "day", "setup_id": "", "setup": SETUP, "sitters": LIST, "start_s": START_S,
        "sitting_s": 480, "done": [], "absent": {}, "last": "", **ordered,
    }  # fmt: skip
    return str(app.add("session", body, name="Portrait day"))


def names(page: Any) -> list[str]:
    return [one.split("\n")[0] for one in page.locator(".order .who b").all_inner_texts()]


def next_name(page: Any) -> str:
    return page.locator(".next-name").inner_text().split("\n")[-1].strip()


def test_a_list_with_faults_is_put_right_beside_its_faults_and_ordered(app, desk_page):
    page = desk_page
    app.add("setup", SETUP, name="For the day")
    page.goto(app.address + "/day")
    page.get_by_label("Setup").select_option("For the day")
    page.get_by_label("Minutes each").fill("7")
    wrong = LIST.replace("171 cm", "171").replace("seated;none", "seated;x")
    page.get_by_label("Sitters").fill(wrong)
    page.get_by_role("button", name="Order the day").click()
    told = page.locator(".refusals li")
    expect(told.first).to_contain_text("line 2")
    assert told.count() >= 3  # all at once
    page.get_by_label("Sitters").fill(LIST)
    page.get_by_role("button", name="Order the day").click()
    expect(page.get_by_role("link", name="Next, large")).to_be_visible()
    expect(page.locator(".order .turn")).to_have_count(5, timeout=AN_ORDER_MS)
    with page.expect_download(timeout=AN_ORDER_MS) as download:
        page.get_by_role("link", name="Day sheet as PDF").click(no_wait_after=True)
    assert download.value.suggested_filename.endswith(".pdf")


def test_a_file_that_is_chosen_can_be_read_before_it_is_sent(app, desk_page, tmp_path: Path):
    app.add("setup", SETUP, name="For the file")
    file = tmp_path / "sitters.csv"
    file.write_text(LIST)
    desk_page.goto(app.address + "/day")
    desk_page.get_by_label("Or a CSV file").set_input_files(file)
    expect(desk_page.get_by_label("Sitters")).to_have_value(re.compile("Mirren;160 cm"))


def test_the_phone_works_the_day_down_and_the_laptop_follows(app, open_window, day):
    laptop, phone = open_window(), open_window(phone=True, dark=True)
    laptop.goto(f"{app.address}/day/{day}")
    phone.goto(f"{app.address}/day/{day}/next")
    planned = names(laptop)
    assert next_name(phone) == planned[0]
    phone.get_by_role("button", name=f"Done: {planned[0]}").click()
    expect(phone.locator(".next-name")).to_contain_text(planned[1])
    expect(laptop.locator(".order .who b").first).to_have_text(planned[1])
    boxes = phone.locator(".next-changes input")
    if boxes.count():
        boxes.first.check()
    phone.get_by_role("button", name="Take that back").click()
    expect(phone.locator(".next-name")).to_contain_text(planned[0])
    expect(laptop.locator(".order .who b").first).to_have_text(planned[0])


def test_late_away_back_and_early_change_the_order_in_place(app, phone_page, day):
    page = phone_page
    page.goto(f"{app.address}/day/{day}/next")
    first = next_name(page)
    page.get_by_text("Not here?").click()
    page.get_by_label("Comes").first.select_option("in 45 minutes")
    page.get_by_role("button", name="Late").first.click()
    expect(page.locator(".next-name")).not_to_contain_text(first, timeout=AN_ORDER_MS)
    expect(page.get_by_text(f"Last: {first} comes at")).to_be_visible()
    page.goto(f"{app.address}/day/{day}")
    away = names(page)[0]
    page.get_by_text("Not here?").click()
    page.get_by_role("button", name="Does not come").first.click()
    back = page.get_by_role("button", name="Is there after all")
    expect(back).to_be_visible(timeout=AN_ORDER_MS)
    assert away not in names(page)
    back.click()
    expect(page.locator(".order .who b", has_text=away)).to_have_count(1, timeout=AN_ORDER_MS)
    expect(back).to_have_count(0)
    last = names(page)[-1]
    page.locator(".turn").last.get_by_text("Late, away, early").click()
    page.get_by_role("button", name="Is here: take next").last.click()
    expect(page.locator(".order .who b").first).to_have_text(last, timeout=AN_ORDER_MS)


def test_a_day_goes_on_after_the_app_was_killed(app, phone_page, day):
    phone_page.goto(f"{app.address}/day/{day}/next")
    first = next_name(phone_page)
    phone_page.get_by_role("button", name=f"Done: {first}").click()
    expect(phone_page.locator(".next-name")).not_to_contain_text(first)
    second = next_name(phone_page)
    app.kill()
    app.start()
    phone_page.goto(f"{app.address}/day/{day}/next")
    expect(phone_page.locator(".next-name")).to_contain_text(second)


def test_who_is_next_can_be_read_at_arms_length(app, phone_page, day):
    phone_page.goto(f"{app.address}/day/{day}/next")
    size = "one => parseFloat(getComputedStyle(one).fontSize)"
    assert phone_page.locator(".next-name").evaluate(size) >= 44
    done = phone_page.get_by_role("button", name=re.compile("^Done: "))
    assert done.bounding_box()["height"] >= 72
    assert done.bounding_box()["y"] < 844  # without scrolling


@LOOKS
def test_the_day_is_fit_to_use(app, open_window, day, phone, dark):
    page = open_window(phone=phone, dark=dark)
    for path in ("", f"/{day}", f"/{day}/next"):
        page.goto(f"{app.address}/day{path}")
        for one in page.locator("summary").all()[:2]:
            one.click()
        assert_fit_to_use(page, only_colors=dark and not phone)
