"""The session: photos dropped and chosen, what their lenses show, two taps, the log, going back."""

import base64
import json
from pathlib import Path
from typing import Any

import pytest
from tests.browser.seeing import LOOKS, assert_fit_to_use, assert_nothing_moves_sideways

from tapemark.services.photos.session_log import begin_session
from tapemark.store import Library

playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
expect = playwright.expect
expect.set_options(timeout=15_000)

PICTURES = sorted((Path(__file__).resolve().parents[1] / "pictures").glob("*.jpg"))
WEARER, BARE = PICTURES[0], PICTURES[3]
READ_MS = 90_000  # some seconds, where nothing else runs

DROP = """([name, text]) => {
  const bytes = Uint8Array.from(atob(text), (one) => one.charCodeAt(0));
  const files = new DataTransfer();
  files.items.add(new File([bytes], name, { type: "image/jpeg" }));
  for (const kind of ["dragover", "drop"]) {
    document.body.dispatchEvent(
      new DragEvent(kind, { dataTransfer: files, bubbles: true, cancelable: true }),
    );
  }
}"""


def begun(app: Any, *, setup: str = "") -> str:
    with Library.open(app.library) as library:
        return begin_session(library, setup_id=setup, name="Portrait day").id


def read(page: Any, name: str) -> None:
    """Wait until a frame was read and is shown large."""
    expect(page.locator(".said-of h2")).to_have_text(name, timeout=READ_MS)
    expect(page.locator("[data-picture]")).to_be_visible(timeout=READ_MS)


def frames(app: Any, session: str) -> list[Any]:
    with Library.open(app.library) as library:
        return list(reversed(library.log(session).entries(("frame",))))


def test_photos_are_dropped_read_and_gone_back_to(app, desk_page):
    setup, page = app.add_setup(name="Reading room, session"), desk_page
    page.goto(app.address + "/session")
    page.get_by_label("Setup").select_option(setup)
    page.get_by_role("button", name="Begin").click()
    expect(page.get_by_text("No frame yet")).to_be_visible()
    page.wait_for_load_state("load")
    session = page.url.rpartition("/")[2]
    page.evaluate(DROP, ["IMG_1.jpg", base64.b64encode(WEARER.read_bytes()).decode()])
    read(page, "IMG_1.jpg")
    expect(page.locator(".lens")).not_to_have_count(0)
    expect(page.locator(".eyes-said")).to_contain_text("right eye")
    with Library.open(app.library) as library:
        now = library.get(setup)
        lights = [dict(one) for one in now.body["light"]]
        lights[0]["place"] = {**lights[0]["place"], "height": "1.9 m"}
        lights[1]["power"] = "1/2"
        after = {**now.body, "light": lights}
        library.save(setup, after, base_revision=now.revision)
    page.get_by_label("Photos of this session").set_input_files(
        [{"name": "IMG_2.jpg", "mimeType": "image/jpeg", "buffer": BARE.read_bytes()}]
    )
    read(page, "IMG_2.jpg")
    expect(page.locator(".log .change")).to_contain_text("Two things changed: key: ")
    expect(page.get_by_role("heading", name="Before and after")).to_be_visible()
    page.get_by_role("link", name="IMG_1.jpg", exact=True).click()
    expect(page.get_by_text("You look at an earlier frame.")).to_be_visible()
    page.get_by_role("button", name="Back to this setup").click()
    expect(page).to_have_url(f"{app.address}/set/{setup}")
    assert app.body(setup) == now.body
    assert [one.body["name"] for one in frames(app, session)] == ["IMG_1.jpg", "IMG_2.jpg"]


def test_a_phone_sends_from_its_roll_and_two_taps_put_the_pupils_right(app, phone_page):
    session, page = begun(app), phone_page
    page.goto(f"{app.address}/session/{session}")
    page.get_by_label("Photos of this session").set_input_files([str(BARE), str(WEARER)])
    expect(page.get_by_text("All 2 were sent.")).to_be_visible(timeout=READ_MS)
    expect(page.locator(".log .entry")).to_have_count(2, timeout=READ_MS)
    page.get_by_role("link", name=WEARER.name, exact=True).tap()
    read(page, WEARER.name)
    page.get_by_role("button", name="Tap the pupils").tap()
    expect(page.get_by_text("Tap the middle of one pupil.")).to_be_visible()
    known = json.loads(WEARER.with_suffix(".json").read_text())["pupils"]
    for side in ("left", "right"):  # in any order
        x, y = page.locator("[data-picture]").evaluate(
            "(svg, [x, y]) => { const at = new DOMPoint(x, y).matrixTransform(svg.getScreenCTM());"
            " return [at.x, at.y]; }",
            known[side],
        )
        page.touchscreen.tap(x, y)
    expect(page.get_by_role("button", name="Tap the pupils")).to_be_visible()
    wearer = next(one for one in frames(app, session) if one.body["name"] == WEARER.name)
    with Library.open(app.library) as library:
        said = library.log(session).last("taught", about=wearer.number).body["pupils"]
    for tapped, side in zip(said, ("right", "left"), strict=True):
        assert abs(tapped[0] - known[side][0]) < 2.0  # pixels: less than a finger is sure
        assert abs(tapped[1] - known[side][1]) < 2.0
    assert_nothing_moves_sideways(page)


@LOOKS
def test_a_session_is_fit_to_use(app, open_window, phone, dark):
    session = begun(app, setup=app.add_setup(name="Reading room, looks"))
    page = open_window(phone=phone, dark=dark)
    page.goto(app.address + "/session")
    assert_fit_to_use(page)
    page.goto(f"{app.address}/session/{session}")
    page.get_by_label("Photos of this session").set_input_files([str(WEARER)])
    read(page, WEARER.name)
    for summary in page.locator("main summary").all():
        if not summary.evaluate("(one) => one.parentElement.open"):
            summary.click()
    assert_fit_to_use(page)


def test_a_session_goes_on_after_the_app_was_killed(app, desk_page):
    session, page = begun(app), desk_page
    page.goto(f"{app.address}/session/{session}")
    page.get_by_label("Photos of this session").set_input_files([str(one) for one in PICTURES])
    expect(page.get_by_text("All 5 were sent.")).to_be_visible(timeout=READ_MS)
    app.kill()
    app.start()
    expect(page.locator(".log .entry")).to_have_count(5, timeout=READ_MS)
    expect(page.locator("[data-says]")).to_be_hidden(timeout=READ_MS)
    assert {one.body["name"] for one in frames(app, session)} == {one.name for one in PICTURES}
