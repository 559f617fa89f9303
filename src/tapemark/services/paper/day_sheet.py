"""The order of a day on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tapemark.planning.run_orders.day_sheet import DaySheet, day_sheet
from tapemark.services.paper.sheet import SheetForm, SheetPaper, paper_for
from tapemark.services.run_order import OrderReport

if TYPE_CHECKING:
    from tapemark.planning import RunOrder


def day_sheet_of(report: OrderReport | RunOrder) -> DaySheet:
    """Return what the pages about an order say."""
    if isinstance(report, OrderReport):
        return day_sheet(report.plan, notes=report.notes)
    return day_sheet(report)


def day_sheet_bytes(
    report: OrderReport | RunOrder, *, paper: SheetPaper | None = None, form: SheetForm = "pdf"
) -> bytes:
    """Return the order of a day as a file; its first page where it is a picture.

    Parameters
    ----------
    report : OrderReport or RunOrder
        The order.
    paper : str, optional
        ``a4`` or ``letter``; by the units of the setup if left out.
    form : str
        ``pdf``, ``svg`` or ``png``.
    """
    return day_sheet_pages(report, paper=paper, form=form)[0]


def day_sheet_pages(
    report: OrderReport | RunOrder, *, paper: SheetPaper | None = None, form: SheetForm = "pdf"
) -> tuple[bytes, ...]:
    """Return the order of a day: one PDF, or a picture of each page; as `day_sheet_bytes`."""
    from tapemark.drawing.paper.day_page import day_pages

    plan = report.plan if isinstance(report, OrderReport) else report
    chosen = paper or paper_for(plan.setup)
    return day_pages(day_sheet_of(report), paper=chosen, form=form)
