"""What every page of the app owes to whoever looks at it."""

from typing import Any

import pytest

TROUBLE = {"serious", "critical"}
LOOKS = pytest.mark.parametrize(
    ("phone", "dark"),
    [(False, False), (True, True), (False, True)],
    ids=["desk", "phone in the dark", "desk in the dark"],
)


def assert_fit_to_use(page: Any, *, only_colors: bool = False) -> None:
    """Nothing serious for axe, nothing wider than the window, large enough for a finger."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="no axe")
    options = {"runOnly": ["color-contrast"]} if only_colors else {}
    found = axe.Axe().run(page, options=options).response["violations"]
    serious = [
        (one["id"], [node["html"][:140] for node in one["nodes"][:4]])
        for one in found
        if one["impact"] in TROUBLE
    ]
    assert serious == []
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    small = page.evaluate(
        """[...document.querySelectorAll("main button, main .button, main select, main summary, "
        + "main input:not([type=hidden], [type=checkbox], [type=radio])")]
        .map((one) => [one.outerHTML.slice(0, 90), one.getBoundingClientRect()])
        .filter(([, box]) => box.width > 0 && box.height > 0 && box.height < 43.5)
        .map(([html]) => html)"""
    )
    assert small == []


def assert_nothing_moves_sideways(page: Any) -> None:
    """The page is as wide as the window."""
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
