"""What frames every page: colours that are kept, a way past its head, plain refusals."""

from typing import Any

import pytest

from tapemark.web.page_list import page_tabs

playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe is not installed")

TROUBLE = {"serious", "critical"}


@pytest.fixture(
    params=[(1280, 800, "light"), (390, 844, "dark")], ids=["desk", "phone in the dark"]
)
def lost(browser: Any, app: Any, request: pytest.FixtureRequest) -> Any:
    """Return a window at an address that there is not."""
    width, height, scheme = request.param
    context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
    page = context.new_page()
    page.goto(f"{app.address}/nowhere")
    yield page
    context.close()


def test_a_wrong_address_says_what_to_do(lost):
    assert lost.locator("h1").inner_text() == "That did not work"
    tabs = lost.get_by_role("navigation", name="Pages")
    more = tabs.locator("summary")
    if more.is_visible():
        more.click()
    offered = [one.get_attribute("href") for one in tabs.locator("a:visible").all()]
    assert sorted(offered) == sorted(path for path, _ in page_tabs())  # each once
    if more.is_visible():
        lost.keyboard.press("Escape")
        assert tabs.locator(".more a:visible").count() == 0
    found = axe.Axe().run(lost).response["violations"]
    assert [one["id"] for one in found if one["impact"] in TROUBLE] == []
    wide = lost.evaluate("document.documentElement.scrollWidth - innerWidth")
    assert wide <= 0


def test_everything_in_the_head_is_large_enough_for_a_finger(lost):
    if lost.locator(".more summary").is_visible():
        lost.locator(".more summary").click()
    held = lost.locator(".masthead :is(a, button, summary):visible").all()
    assert len(held) > 5
    for one in held:
        box = one.bounding_box()
        assert box["height"] >= 44
        assert box["width"] >= 44


def test_the_first_key_leads_past_the_head(lost):
    lost.keyboard.press("Tab")
    assert lost.evaluate("document.activeElement.textContent") == "Skip to the page"
    lost.keyboard.press("Enter")
    assert lost.evaluate("document.activeElement.id") == "main"


def test_chosen_colors_are_kept_and_sent_with_the_page(lost):
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    switch = lost.locator("[data-theme-switch]")
    seen = {}
    for _ in range(3):
        switch.click()
        chosen = lost.evaluate("document.documentElement.dataset.theme ?? ''")
        now = lost.evaluate(ground)
        lost.reload()
        assert lost.evaluate("document.documentElement.dataset.theme ?? ''") == chosen
        assert lost.evaluate(ground) == now
        seen[chosen] = now
    assert set(seen) == {"dark", "light", ""}
    assert seen["dark"] != seen["light"]
    assert seen[""] in {seen["dark"], seen["light"]}


#: The line of a set with a network of its own: attempts fail at once, and waits are written down.
LINE = """
async () => {
  const waits = [], real = window.setTimeout;
  let attempts = 0, held = false;
  const waiting = [];
  window.setTimeout = (act, ms, ...rest) => {
    if (ms >= 5000 || ms === 600) return 0; // not waits before an attempt
    waits.push(ms);
    if (held) { waiting.push(act); return 0; }
    return real(act, 0, ...rest);
  };
  window.WebSocket = class extends EventTarget {
    static OPEN = 1;
    readyState = 0;
    constructor() {
      super();
      attempts += 1;
      real(() => this.dispatchEvent(new CloseEvent("close", { code: 1006 })), 0);
    }
    close() {}
  };
  const { LiveLink } = await import("/static/js/socket.js?alone");
  new LiveLink("/live/1").open();
  const until = async (many) => { while (attempts < many) await new Promise((go) => real(go, 5)); };
  await until(9);
  held = true;
  await new Promise((go) => real(go, 50));
  const grown = [...waits], before = waits.length;
  const woken = {};
  for (const [name, target] of [["online", window], ["visibilitychange", document]]) {
    target.dispatchEvent(new Event(name));
    woken[name] = waits.at(-1);
  }
  return { grown, woken, more: waits.length - before };
}
"""


def test_a_lost_line_is_tried_again_within_three_seconds_and_at_once_when_woken(lost):
    found = lost.evaluate(LINE)
    assert len(found["grown"]) >= 8
    assert max(found["grown"]) <= 3000
    assert max(found["grown"]) > 2000  # it does wait longer and longer
    assert found["grown"][0] <= 250
    assert found["woken"] == {"online": 0, "visibilitychange": 0}
    assert found["more"] == 2
