"""The order of a day on paper: as many pages as it takes, headings repeated."""

import dataclasses
from typing import Any

from tapemark.drawing.paper.typst_pages import (
    PAPERS,
    PageForm,
    PaperName,
    breakable,
    page_facts,
    set_pages,
)
from tapemark.drawing.typeface import drawable
from tapemark.planning.run_orders.day_sheet import DaySheet

TEMPLATE = "day_sheet"


def day_pages(day: DaySheet, *, paper: PaperName, form: PageForm) -> tuple[bytes, ...]:
    """Return the order of a day as one PDF, or as an SVG or PNG for each page.

    Parameters
    ----------
    day : DaySheet
        What the pages say.
    paper : str
        ``a4`` or ``letter``.
    form : str
        ``pdf``, ``svg`` or ``png``.
    """
    return set_pages(TEMPLATE, _data(day, paper), form=form)


def day_page_count(day: DaySheet, *, paper: PaperName) -> int:
    """Return on how many pages the order of a day goes."""
    return int(page_facts(TEMPLATE, _data(day, paper))["pages"])


def _data(day: DaySheet, paper: PaperName) -> dict[str, Any]:
    wide, high = PAPERS[paper]
    words: dict[str, Any] = drawable(breakable(dataclasses.asdict(day)))
    return words | {"paper": {"width": wide, "height": high}}
