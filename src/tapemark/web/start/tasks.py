"""What the pages Start and Paper have computed: plans, pictures, sheets, models."""

from collections.abc import Mapping
from typing import Any

from tapemark.web.tasks import Plain, Tell

TITLE = "the setup"
PLATE_PX = 1100  # twice the widest that a page shows


def plan(*, tell: Tell, brief: Mapping[str, Any], count: int = 3, seed: int = 0) -> Plain:
    """Return ``plans``: what planning a brief came to; ends early with what there is."""
    from tapemark.services.plan import plan_as_plain, plan_brief
    from tapemark.studio import brief_from_mapping
    from tapemark.web.finishing import FinishingWatch

    wished = brief_from_mapping(brief, name="the brief")
    watch = FinishingWatch(tell)
    return {"plans": plan_as_plain(plan_brief(wished, count=count, seed=seed, watch=watch))}


def picture(*, tell: Tell, setup: Mapping[str, Any], which: str, form: str) -> Plain:
    """Return ``file``: one drawing of a setup as SVG, PNG or PDF."""
    from tapemark.services.paper.exports import export_drawing

    del tell
    return {"file": export_drawing(_setup(setup), which, form)}  # type: ignore[arg-type]


def plate(*, tell: Tell, setup: Mapping[str, Any], which: str) -> Plain:
    """Return ``file``: a drawing as a PNG for a page, where an SVG would lack its typeface."""
    from tapemark.drawing import svg_to_png
    from tapemark.services.paper.exports import export_drawing

    del tell
    svg = export_drawing(_setup(setup), which, "svg").decode()
    return {"file": svg_to_png(svg, width_px=PLATE_PX)}


def sheet(
    *, tell: Tell, setup: Mapping[str, Any], paper: str, form: str, link: str | None, page: int = 1
) -> Plain:
    """Return ``file``: the page that an assistant rigs from, and ``pages``: how many there are."""
    from tapemark.services.paper.sheet import sheet_pages

    del tell
    pages = sheet_pages(_setup(setup), paper=paper, form=form, link=link)  # type: ignore[arg-type]
    return {"file": pages[min(page, len(pages)) - 1], "pages": len(pages)}


def sheet_words(*, tell: Tell, setup: Mapping[str, Any]) -> Plain:
    """Return ``sheet``: what the page says, for a screen."""
    from tapemark.services.check import check_setup
    from tapemark.services.paper.sheet import sheet_of
    from tapemark.services.plain import as_plain

    del tell
    found = sheet_of(check_setup(_setup(setup)))
    words = {
        name: as_plain(getattr(found, name))
        for name in (
            *("title", "camera", "base", "lines", "backdrop", "together", "reading_note"),
            *("people", "packing", "build", "test", "cautions", "defers"),
        )
    }
    words["references"] = [as_plain(one) for one in (found.tapes.first, found.tapes.second)]
    words["side_note"] = found.tapes.side_note
    return {"sheet": words}


def model(*, tell: Tell, setup: Mapping[str, Any]) -> Plain:
    """Return ``file``: the set as a model for 3D viewers, binary glTF."""
    from tapemark.services.paper.exports import export_set

    del tell
    return {"file": export_set(_setup(setup))}


def _setup(body: Mapping[str, Any]) -> Any:
    from tapemark.studio import setup_from_mapping

    return setup_from_mapping(body, name=TITLE)
