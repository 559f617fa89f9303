"""What frames every page: colours that are kept, a way past its head, plain refusals."""

from typing import Any

import pytest

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
    assert lost.get_by_role("navigation", name="Pages").locator("a").count() == 5
    found = axe.Axe().run(lost).response["violations"]
    assert [one["id"] for one in found if one["impact"] in TROUBLE] == []
    wide = lost.evaluate("document.documentElement.scrollWidth - innerWidth")
    assert wide <= 0


def test_everything_in_the_head_is_large_enough_for_a_finger(lost):
    for one in lost.locator(".masthead a, .masthead button").all():
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
