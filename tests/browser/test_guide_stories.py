"""The guide: figures that follow a slider, a key, a grip under the mouse and a finger."""

import re

import pytest
from tests.browser.seeing import LOOKS, assert_fit_to_use

playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
expect = playwright.expect
expect.set_options(timeout=15_000)


def open_guide(page, app, *, units: str = "metric"):
    page.goto(f"{app.address}/guide?units={units}", wait_until="domcontentloaded")
    expect(page.get_by_role("heading", name="High or wide opens it")).to_be_visible()
    return page


def figure(page, key: str):
    return page.locator(f"[data-topic={key}]")


def test_a_light_is_raised_by_keys_until_the_lenses_are_clear(app, desk_page):
    place = figure(open_guide(desk_page, app), "place")
    expect(place.locator(".verdict")).to_have_text("veiled")
    slider = place.get_by_label("Height of the light")
    slider.focus()
    for _ in range(6):
        slider.press("PageUp")
    expect(place.locator(".verdict")).to_have_text("clear")
    expect(place.get_by_role("status")).to_contain_text("This place is open")
    expect(slider).to_have_attribute("aria-valuetext", re.compile(r"^2\.\d\d m$"))
    place.get_by_role("button", name="As it was").click()
    expect(place.locator(".verdict")).to_have_text("veiled")


def test_a_face_is_turned_by_its_grip_and_what_is_drawn_follows(app, desk_page):
    broad = figure(open_guide(desk_page, app), "broad")
    expect(broad.get_by_role("status")).to_contain_text("Broad")
    before = broad.locator("svg").nth(1).inner_html()
    grip = broad.locator(".grip")
    grip.scroll_into_view_if_needed()
    box = grip.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    desk_page.mouse.move(x, y)
    desk_page.mouse.down()
    there = broad.locator("svg").first.evaluate(
        """(svg) => { const turn = 25 * Math.PI / 180;
        const at = new DOMPoint(-620 * Math.sin(turn), 620 * Math.cos(turn));
        const { x, y } = at.matrixTransform(svg.getScreenCTM()); return [x, y]; }"""
    )
    desk_page.mouse.move(*there, steps=8)
    desk_page.mouse.up()
    expect(broad.get_by_role("status")).to_contain_text("Short")
    expect(broad.locator(".reading")).to_contain_text("camera-left")
    assert broad.locator("svg").nth(1).inner_html() != before


def test_a_finger_drags_the_light_out_of_the_hatching(app, phone_page):
    place = figure(open_guide(phone_page, app), "place")
    grip = place.locator(".grip")
    grip.scroll_into_view_if_needed()
    box = grip.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    touch = phone_page.context.new_cdp_session(phone_page)
    for kind, k in [("touchStart", 0), *(("touchMove", k) for k in range(1, 8))]:
        points = [{"x": x, "y": y - 10 * k}]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    expect(place.locator(".verdict")).to_have_text("clear")


def test_without_scripts_a_button_draws_the_figure(app, open_window):
    page = open_guide(open_window(java_script_enabled=False), app, units="us")
    bounce = figure(page, "bounce")
    bounce.get_by_label("at the face, through an umbrella").check()
    bounce.get_by_role("button", name="Draw it anew").click()
    expect(figure(page, "bounce").get_by_role("status")).to_contain_text("Through the umbrella")
    assert "units=us" in page.url


@LOOKS
def test_the_guide_is_fit_to_use(app, open_window, phone, dark):
    page = open_guide(open_window(phone=phone, dark=dark), app)
    assert_fit_to_use(page, only_colors=phone)
