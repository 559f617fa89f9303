"""Drawings of a setup as files for other programs, and the set as a model for any 3D viewer."""

from __future__ import annotations

from typing import Literal

from tapemark.analysis import build_scenes
from tapemark.services.check import CheckReport, check_setup
from tapemark.services.pictures import KINDS, PNG_WIDTH_PX, drawings_of_kind
from tapemark.studio import Setup

DrawingForm = Literal["svg", "png", "pdf"]
DRAWING_FORMS: tuple[DrawingForm, ...] = ("svg", "png", "pdf")
DRAWING_KINDS = KINDS


def export_drawing(setup: Setup | CheckReport, which: str, form: DrawingForm) -> bytes:
    """Return one drawing of a setup as a file.

    Parameters
    ----------
    setup : Setup or CheckReport
        The setup, or what a check of it found.
    which : str
        ``plan``, ``elevation``, ``camera``, ``face`` or ``distance``; ``camera-2`` and
        ``face-2`` are about the second person, and so on.
    form : str
        ``svg``, ``png`` or ``pdf``.

    Raises
    ------
    LookupError
        There is no such drawing.
    """
    from tapemark.drawing import svg_to_png
    from tapemark.drawing.svg_page import svg_to_pdf

    kind = which.partition("-")[0]
    report = check_setup(setup) if isinstance(setup, Setup) else setup
    found = drawings_of_kind(report, kind) if kind in DRAWING_KINDS else {}
    if which not in found:
        raise LookupError(_no_such(which, report))
    svg = found[which]
    if form == "png":
        return svg_to_png(svg, width_px=PNG_WIDTH_PX)
    return svg_to_pdf(svg) if form == "pdf" else svg.encode()


def export_set(setup: Setup | CheckReport) -> bytes:
    """Return the whole set as binary glTF 2.0: metres, y up, names on every node."""
    from tapemark.drawing.solid.gltf import set_as_glb

    if isinstance(setup, Setup):
        return set_as_glb(build_scenes(setup))
    return set_as_glb(tuple(one.scene for one in setup.people))


def drawing_names(setup: Setup) -> tuple[str, ...]:
    """Return which drawings there are of a setup."""
    more = range(2, len(setup.people) + 1)
    each = [f"{kind}-{number}" for kind in ("camera", "face") for number in more]
    return (*DRAWING_KINDS, *each)


def _no_such(which: str, report: CheckReport) -> str:
    names = ", ".join(drawing_names(report.scene.setup))
    return f'there is no drawing "{which}" of this setup; there are {names}'
