"""A setup as a page that an assistant rigs from: what it says, and the paper."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from tapemark.planning.rigging.sheet import RigSheet, rig_sheet
from tapemark.services.check import CheckReport, check_setup, outlines_of
from tapemark.studio import Setup

if TYPE_CHECKING:
    from tapemark.drawing.sitter_picture import SitterPicture

SheetForm = Literal["pdf", "svg", "png"]
SheetPaper = Literal["a4", "letter"]


def sheet_of(report: CheckReport) -> RigSheet:
    """Return what the page about a checked setup says."""
    return rig_sheet(
        report.scene.setup,
        reading=report.exposure,
        verdicts=tuple(one.verdict for one in report.people),
        stands=report.safety.stands,
        findings=report.findings,
    )


def sheet_bytes(
    setup: Setup | CheckReport,
    *,
    paper: SheetPaper | None = None,
    form: SheetForm = "pdf",
    link: str | None = None,
) -> bytes:
    """Return the page about a setup; its first page where it is a picture.

    Parameters
    ----------
    setup : Setup or CheckReport
        The setup, or what a check of it found.
    paper : str, optional
        ``a4`` or ``letter``; by the units of the setup if left out.
    form : str
        ``pdf``, ``svg`` or ``png``.
    link : str, optional
        Where a phone finds the same page; printed as a QR code.
    """
    return sheet_pages(setup, paper=paper, form=form, link=link)[0]


def sheet_pages(
    setup: Setup | CheckReport,
    *,
    paper: SheetPaper | None = None,
    form: SheetForm = "pdf",
    link: str | None = None,
) -> tuple[bytes, ...]:
    """Return the page about a setup: one PDF, or a picture of each page; as `sheet_bytes`.

    Notes
    -----
    It is one page unless a setup has more cautions than even small type leaves room for. The
    same setup gives the same bytes.
    """
    from tapemark.drawing.paper.rig_page import RigDrawings, rig_pages

    report = check_setup(setup) if isinstance(setup, Setup) else setup
    drawings = RigDrawings(
        scene=report.scene,
        others=tuple(one.scene for one in report.people[1:]),
        picture=everybody(report),
    )
    chosen = paper or paper_for(report.scene.setup)
    return rig_pages(sheet_of(report), drawings, paper=chosen, form=form, link=link)


def paper_for(setup: Setup) -> SheetPaper:
    """Return the paper people with these units have."""
    return "letter" if setup.units == "us" else "a4"


def everybody(report: CheckReport) -> SitterPicture:
    """Return everybody in a checked setup as the camera sees them, for drawing."""
    from tapemark.drawing import Shown, SitterPicture

    shown = [
        Shown(lenses=one.lenses, catchlights=one.catchlights, outlines=outlines_of(one))
        for one in report.people
    ]
    others = tuple(
        SitterPicture(one.scene, own) for one, own in zip(report.people[1:], shown[1:], strict=True)
    )
    return SitterPicture(report.scene, shown[0], others=others)
