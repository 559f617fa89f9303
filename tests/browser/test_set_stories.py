"""The set screen: what a photographer does with it, at a desk and with a phone in hand."""

import re
from typing import Any

import pytest

playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
expect = playwright.expect
expect.set_options(timeout=15_000)


def open_set(page: Any, app: Any, which: str = "quillmere-troubled") -> str:
    """Open one of the demo's setups, kept anew, and return its id."""
    key = app.add_setup(which)
    page.goto(f"{app.address}/set/{key}")
    expect(page.locator("#set[data-ready]")).to_be_visible()
    expect(page.locator("#kept")).to_have_text("kept")
    return key


def handle(page: Any, thing: str, *, on: str = "plan") -> Any:
    return page.locator(f'#{on}-stage [data-handle="{thing}"]')


def middle(locator: Any) -> tuple[float, float]:
    box = locator.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def assert_comes_to(page, held, place, *, within):
    """A thing is at a place of the screen, now or with one of the next frames."""
    for _ in range(100):
        if middle(held) == pytest.approx(place, abs=within):
            return
        page.wait_for_timeout(50)
    assert middle(held) == pytest.approx(place, abs=within)


def drag(page: Any, locator: Any, dx: float, dy: float, *, let_go: bool = True) -> None:
    x, y = middle(locator)
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(1, 9):
        page.mouse.move(x + dx * step / 8, y + dy * step / 8)
        page.wait_for_timeout(15)
    if let_go:
        page.mouse.up()


def verdicts(page: Any) -> list[str]:
    return [
        page.locator(f"#strip .lens.{side}").get_attribute("data-verdict")
        for side in ("right", "left")
    ]


def holding(part: str) -> re.Pattern[str]:
    return re.compile(re.escape(part))


def show(page: Any, leaf: str) -> None:
    page.locator(f'[data-thumb="{leaf}"]').click()


def settled(page: Any) -> None:
    expect(page.locator("#kept")).to_have_text("kept")


def light(app: Any, key: str, name: str = "key") -> dict[str, Any]:
    return next(one for one in app.body(key)["light"] if one["name"] == name)


def height_m(app: Any, key: str, name: str = "key") -> float:
    return float(light(app, key, name)["place"]["height"].removesuffix(" m"))


def test_dragging_both_lights_wide_clears_the_lenses(app, desk_page):
    key = open_set(desk_page, app)
    assert verdicts(desk_page) == ["veiled", "veiled"]
    drag(desk_page, handle(desk_page, "light.key"), -120, -150)
    drag(desk_page, handle(desk_page, "light.fill"), 130, -270)
    for side in ("right", "left"):
        lens = desk_page.locator(f"#strip .lens.{side}")
        expect(lens).to_have_attribute("data-verdict", "clear")
        expect(lens.locator(".word")).to_have_text("clear")
    settled(desk_page)
    assert light(app, key)["place"]["side"] != "30 deg camera-left"
    assert light(app, key)["place"]["height"] == "1.4 m"


def test_the_picture_follows_while_the_finger_is_down_and_escape_puts_it_back(app, desk_page):
    key = open_set(desk_page, app)
    before = app.body(key)
    held = handle(desk_page, "light.key")
    start = middle(held)
    drag(desk_page, held, -170, -60, let_go=False)
    assert_comes_to(desk_page, held, (start[0] - 170, start[1] - 60), within=3)
    expect(desk_page.locator("#kept")).to_have_text("let go to keep")
    expect(held.locator(".second")).not_to_contain_text("30°")
    desk_page.keyboard.press("Escape")
    expect(desk_page.locator("#kept")).to_have_text("kept")
    assert_comes_to(desk_page, held, start, within=1)
    desk_page.mouse.up()
    assert app.body(key) == before


def test_a_stand_is_raised_in_the_side_elevation(app, desk_page):
    key = open_set(desk_page, app)
    drag(desk_page, handle(desk_page, "light.key", on="side"), 3, -45)
    expect(desk_page.locator("#undo")).to_be_enabled()
    settled(desk_page)
    assert height_m(app, key) > 1.5
    assert light(app, key)["place"]["distance"] == "1.5 m"


def test_keys_raise_a_light_and_move_it_by_the_step(app, desk_page):
    key = open_set(desk_page, app)
    held = handle(desk_page, "light.key")
    held.focus()
    for _ in range(10):
        desk_page.keyboard.press("PageUp")
    desk_page.keyboard.press("Shift+PageUp")
    expect(desk_page.locator("#undo")).to_be_enabled()
    settled(desk_page)
    assert height_m(app, key) == pytest.approx(1.91)
    expect(held).to_be_focused()
    expect(held).to_have_attribute("aria-label", holding("1.91 m high"))
    desk_page.locator("#undo").click()
    expect(held).to_have_attribute("aria-label", holding("1.40 m high"))


def test_brackets_turn_the_head(app, desk_page):
    key = open_set(desk_page, app)
    handle(desk_page, "sitter").focus()
    desk_page.keyboard.press("[")
    desk_page.keyboard.press("[")
    expect(desk_page.locator("#undo")).to_be_enabled()
    settled(desk_page)
    assert app.body(key)["sitter"]["turn"] == "10 deg camera-left"


def test_an_exact_height_is_typed_and_a_wrong_one_is_refused_beside_its_field(app, desk_page):
    key = open_set(desk_page, app)
    handle(desk_page, "light.key").focus()
    desk_page.keyboard.press("Enter")
    entry = desk_page.locator('[data-entry="light.key"]')
    height, distance = entry.get_by_label("Height"), entry.get_by_label("Distance")
    expect(distance).to_be_focused()
    height.fill("tall")
    height.press("Enter")
    row = entry.locator('[data-path="light.key.place.height"]')
    expect(row.locator(".refused")).to_contain_text("height")
    expect(height).to_have_attribute("aria-invalid", "true")
    expect(height).to_have_value("tall")
    expect(distance).to_have_value("1.5 m")
    height.fill("1.873 m")
    height.press("Enter")
    expect(desk_page.locator("#undo")).to_be_enabled()
    expect(row.locator(".refused")).to_be_hidden()
    settled(desk_page)
    assert height_m(app, key) == pytest.approx(1.873)


def test_a_thing_that_is_renamed_stays_open_in_hand_and_under_the_fingers(app, desk_page):
    key = open_set(desk_page, app)
    show(desk_page, "things")
    desk_page.locator('[data-entry="light.key"] > summary').click()
    named = desk_page.locator('[data-entry="light.key"]').get_by_label("Name")
    named.fill("ליד 7")
    named.press("Enter")
    entry = desk_page.locator('[data-entry="light.ליד 7"]')
    expect(entry).to_have_attribute("open", "")
    expect(entry.get_by_label("Name")).to_be_focused()
    expect(desk_page.locator("#set")).to_have_attribute("data-hand", "light.ליד 7")
    tag = handle(desk_page, "light.ליד 7").locator(".tag b")
    assert tag.evaluate("(name) => getComputedStyle(name).direction") == "rtl"
    settled(desk_page)
    assert light(app, key, "ליד 7")


def test_a_height_typed_twice_in_the_same_field_is_kept_twice_and_asks_nothing(app, desk_page):
    key = open_set(desk_page, app)
    sent: list[str] = []
    desk_page.on(
        "websocket", lambda line: line.on("framesent", lambda text: sent.append(str(text)))
    )
    desk_page.reload()
    expect(desk_page.locator("#kept")).to_have_text("kept")
    handle(desk_page, "light.key").focus()
    desk_page.keyboard.press("Enter")
    height = desk_page.locator('[data-entry="light.key"]').get_by_label("Height")
    for typed in ("1.81 m", "1.72 m"):
        height.click()
        height.select_text()
        desk_page.keyboard.type(typed)
        desk_page.keyboard.press("Enter")
        expect(height).to_have_value(typed)
        settled(desk_page)
    height.press("Tab")
    desk_page.wait_for_timeout(300)
    expect(desk_page.get_by_role("dialog")).to_have_count(0)
    assert len([one for one in sent if '"take"' in one]) == 2
    assert height_m(app, key) == pytest.approx(1.72)
    desk_page.locator("#undo").click()
    expect(height).to_have_value("1.81 m")
    assert height_m(app, key) == pytest.approx(1.81)


def test_a_refused_number_and_what_is_said_of_it_come_and_go_together(app, desk_page):
    open_set(desk_page, app)
    handle(desk_page, "light.key").focus()
    desk_page.keyboard.press("Enter")
    row = desk_page.locator('[data-path="light.key.place.height"]')
    height = row.get_by_label("Height")
    height.fill("tall")
    height.press("Tab")
    expect(row.locator(".refused")).to_be_visible()
    expect(height).to_have_value("tall")
    held = handle(desk_page, "light.key")
    held.focus()
    desk_page.keyboard.press("PageUp")
    expect(height).to_have_value("1.45 m")
    expect(row.locator(".refused")).to_be_hidden()
    height.fill("99 m")
    height.press("Enter")
    expect(row.locator(".refused")).to_be_visible()
    height.fill("1.8 m")
    expect(row.locator(".refused")).to_be_hidden()
    settled(desk_page)


def test_undo_and_redo_go_all_the_way_and_outlive_a_reload(app, desk_page):
    key = open_set(desk_page, app)
    first = app.body(key)
    held = handle(desk_page, "light.key")
    held.focus()
    for step in ("ArrowLeft", "ArrowUp", "PageUp"):
        desk_page.keyboard.press(step)
        desk_page.wait_for_timeout(650)
        settled(desk_page)
    last = app.body(key)
    assert last != first
    desk_page.reload()
    expect(desk_page.locator("#undo")).to_be_enabled()
    for _ in range(3):
        desk_page.keyboard.press("Control+z")
    expect(desk_page.locator("#undo")).to_be_disabled()
    assert app.body(key) == first
    for _ in range(3):
        desk_page.keyboard.press("Control+Shift+Z")
    expect(desk_page.locator("#redo")).to_be_disabled()
    assert app.body(key) == last


def test_a_move_is_tried_beside_its_ghost_and_then_taken(app, desk_page):
    key = open_set(desk_page, app)
    before = app.body(key)
    show(desk_page, "moves")
    desk_page.get_by_role("button", name="Look for moves").click()
    first = desk_page.locator(".move").first
    expect(first).to_be_visible(timeout=40_000)
    first.get_by_role("button", name="Try").click()
    expect(desk_page.locator("#trying")).to_be_visible()
    expect(desk_page.locator("#plan-stage .ghosts > *")).not_to_have_count(0)
    assert app.body(key) == before
    desk_page.keyboard.press("Escape")
    expect(desk_page.locator("#trying")).to_be_hidden()
    expect(desk_page.locator("#plan-stage .ghosts > *")).to_have_count(0)
    first.get_by_role("button", name="Take").click()
    expect(desk_page.locator("#undo")).to_be_enabled()
    settled(desk_page)
    assert app.body(key) != before
    assert "veiled" not in verdicts(desk_page)


def test_the_sightline_map_lies_on_plan_and_elevation(app, desk_page):
    open_set(desk_page, app)
    handle(desk_page, "light.key").focus()
    for _ in range(12):  # far below where it may hang
        desk_page.keyboard.press("PageDown")
    expect(desk_page.locator("#undo")).to_be_enabled()
    settled(desk_page)
    switch = desk_page.get_by_role("button", name="Where may key stand?")
    switch.click()
    expect(desk_page.locator("#plan-stage .map-layer path").first).to_be_attached(timeout=40_000)
    expect(desk_page.locator("#side-stage .map-layer > *").first).to_be_attached()
    expect(desk_page.locator(".map-words")).not_to_be_empty()
    assert desk_page.locator(".map-key").is_visible()
    for stage in ("#plan-stage", "#side-stage"):  # the light at its best place is all in sight
        whole = desk_page.locator(stage).bounding_box()
        ghost = desk_page.locator(f"{stage} .best-place").bounding_box()
        assert whole["x"] <= ghost["x"]
        assert whole["y"] <= ghost["y"]
        assert ghost["x"] + ghost["width"] <= whole["x"] + whole["width"]
        assert ghost["y"] + ghost["height"] <= whole["y"] + whole["height"]
    switch.click()
    expect(desk_page.locator("#plan-stage .map-layer > *")).to_have_count(0)


def test_a_light_is_added_from_the_gear_list_and_taken_away(app, desk_page):
    key = open_set(desk_page, app)
    desk_page.get_by_role("button", name="Add").click()
    dialog = desk_page.get_by_role("dialog")
    dialog.get_by_label("Name").fill("hair")
    dialog.get_by_label("Modifier").select_option("strip 30x120 cm")
    dialog.get_by_role("button", name="Add the light").click()
    expect(handle(desk_page, "light.hair")).to_be_visible()
    assert light(app, key, "hair")["modifier"]
    handle(desk_page, "light.hair").focus()
    desk_page.keyboard.press("Delete")
    expect(handle(desk_page, "light.hair")).to_have_count(0)
    settled(desk_page)
    assert [one["name"] for one in app.body(key)["light"]] == ["key", "fill"]


def two_windows(app: Any, open_window: Any) -> tuple[str, Any, Any]:
    """Open one setup twice; the first window still holds a light when the second changes it."""
    first, second = open_window(), open_window()
    key = open_set(first, app)
    second.goto(f"{app.address}/set/{key}")
    expect(second.locator("#set[data-ready]")).to_be_visible()
    return key, first, second


def test_two_windows_change_different_things_and_merge(app, open_window):
    key, first, second = two_windows(app, open_window)
    drag(first, handle(first, "light.key"), -100, -40, let_go=False)
    handle(second, "light.fill").focus()
    second.keyboard.press("PageUp")
    expect(second.locator("#undo")).to_be_enabled()
    first.wait_for_timeout(300)
    first.mouse.up()
    dialog = first.get_by_role("dialog")
    dialog.get_by_role("button", name="Merge both").click()
    expect(dialog).to_be_hidden()
    settled(first)
    assert height_m(app, key, "fill") == pytest.approx(1.35)
    assert light(app, key)["place"]["side"] != "30 deg camera-left"
    expect(handle(second, "light.key")).to_have_attribute(
        "aria-label", handle(first, "light.key").get_attribute("aria-label")
    )


def test_two_windows_change_the_same_thing_and_keep_both(app, open_window):
    key, first, second = two_windows(app, open_window)
    drag(first, handle(first, "light.key"), -100, -40, let_go=False)
    handle(second, "light.key").focus()
    second.keyboard.press("ArrowRight")
    expect(second.locator("#undo")).to_be_enabled()
    theirs = app.body(key)
    first.wait_for_timeout(300)
    first.mouse.up()
    dialog = first.get_by_role("dialog")
    expect(dialog.get_by_role("button", name="Merge both")).to_be_hidden()
    dialog.get_by_role("button", name="Keep both").click()
    first.wait_for_url(lambda address: key not in address)
    expect(first.locator("#set[data-ready]")).to_be_visible()
    assert app.body(key) == theirs
    assert app.body(first.url.rpartition("/")[2]) != theirs


def test_after_the_server_was_killed_the_page_goes_on_where_it_was(app, desk_page):
    key = open_set(desk_page, app)
    app.kill()
    expect(desk_page.locator(".away")).to_be_visible()
    drag(desk_page, handle(desk_page, "light.key"), -100, -40)
    app.start()
    expect(desk_page.locator(".away")).to_be_hidden(timeout=30_000)
    expect(desk_page.locator("#undo")).to_be_enabled()
    settled(desk_page)
    assert light(app, key)["place"]["side"] != "30 deg camera-left"


def test_on_a_phone_one_drawing_at_a_time_with_the_verdict_always_there(app, phone_page):
    key = open_set(phone_page, app)
    strip = phone_page.locator("#strip")
    for leaf, seen in (
        ("side", "#side-stage"),
        ("view", "#view-frame"),
        ("notes", ".findings"),
        ("things", ".things"),
        ("plan", "#plan-stage"),
    ):
        show(phone_page, leaf)
        expect(phone_page.locator(seen)).to_be_visible()
        expect(strip).to_be_in_viewport(ratio=1)
        visible = [
            one
            for one in ("#plan-stage", "#side-stage", "#view-frame", ".margin")
            if phone_page.locator(one).is_visible()
        ]
        assert len(visible) == 1
    assert phone_page.evaluate("document.documentElement.scrollWidth") <= 390
    touch_drag(phone_page, handle(phone_page, "light.key"), -40, -50)
    expect(phone_page.locator("#undo")).to_be_enabled()
    settled(phone_page)
    assert light(app, key)["place"]["side"] != "30 deg camera-left"
    assert phone_page.evaluate("scrollY") == 0


def touch_drag(page: Any, locator: Any, dx: float, dy: float) -> None:
    x, y = middle(locator)
    touch = page.context.new_cdp_session(page)
    point = lambda part: [{"x": x + dx * part, "y": y + dy * part}]  # noqa: E731
    touch.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": point(0)})
    for step in range(1, 9):
        touch.send(
            "Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": point(step / 8)}
        )
        page.wait_for_timeout(15)
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def test_targets_are_large_enough_for_a_finger(app, phone_page):
    open_set(phone_page, app)
    for leaf in ("plan", "side", "view", "notes", "moves", "things"):
        show(phone_page, leaf)
        small = phone_page.evaluate(
            """() => [...document.querySelectorAll("button, summary, input, select, a")]
              .filter((one) => one.checkVisibility() && !one.matches(".skip, [type=checkbox]"))
              .map((one) => [one.outerHTML.slice(0, 80), one.getBoundingClientRect()])
              .filter(([, box]) => box.width > 0 && (box.width < 43.5 || box.height < 43.5))
              .map(([text]) => text)"""
        )
        assert small == []


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("phone", [False, True], ids=["desk", "phone"])
def test_nothing_serious_for_those_who_hear_or_feel_the_page(app, open_window, phone, dark):
    checker = pytest.importorskip("axe_playwright_python.sync_playwright", reason="no axe")
    page = open_window(phone=phone, dark=dark)
    open_set(page, app)
    leaves = ("moves", "things")
    if phone:
        leaves = ("plan", "things") if dark else ("plan", "side", "view", "notes", *leaves)
    # What depends on the theme is contrast; the rest is the same in both.
    rules = {"runOnly": ["color-contrast"]} if dark else {}
    for leaf in leaves:
        show(page, leaf)
        if leaf == "things":
            page.locator('[data-entry="light.key"] > summary').click()
        found = checker.Axe().run(page, options=rules).response["violations"]
        serious = [
            (one["id"], [node["html"][:120] for node in one["nodes"]])
            for one in found
            if one["impact"] in ("serious", "critical")
        ]
        assert serious == [], leaf


def test_every_field_says_what_it_is(app, desk_page):
    open_set(desk_page, app)
    show(desk_page, "things")
    for entry in desk_page.locator(".thing-entry > summary").all():
        entry.click()
    # An entry fills its form after the click that opens it.
    desk_page.wait_for_function("document.querySelectorAll('.things .field').length > 40")
    unsaid = desk_page.evaluate(
        """() => [...document.querySelectorAll(".things .field")].filter((row) =>
          !row.querySelector("label").textContent || !row.querySelector(".why").textContent)
          .map((row) => row.outerHTML.slice(0, 120))"""
    )
    assert unsaid == []
