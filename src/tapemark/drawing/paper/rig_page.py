"""A rig sheet on one page of paper: text as large as fits, drawings as large as it leaves room.

The template first measures its own text at a type size; what is left of the
page is shared by the drawings, which are then drawn at that very size, so that
their labels stay readable.  Only where the drawings would get too small does
the type shrink.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from tapemark.analysis import Scene
from tapemark.drawing.paper.qr import qr_svg
from tapemark.drawing.paper.rig_elevation import rig_elevation, rig_frame
from tapemark.drawing.paper.rig_plan import rig_plan
from tapemark.drawing.paper.typst_pages import (
    PAPERS,
    PageForm,
    PaperName,
    breakable,
    page_facts,
    set_pages,
)
from tapemark.drawing.sitter_picture import SitterPicture
from tapemark.drawing.svg_page import svg_size_pt
from tapemark.drawing.typeface import STAND_IN, can_draw, drawable
from tapemark.planning.rigging.lines import RigLine
from tapemark.planning.rigging.sheet import Caution, RigSheet
from tapemark.units.apart import names_apart

TEMPLATE = "rig_sheet"
MARGIN_PT = 28.0
#: Type sizes tried, the largest first. [pt]
TEXT_SIZES_PT = (9.6, 9.0, 8.4, 8.0, 7.6, 7.2)
#: What is tried in turn: how much advice is given (`_told`), whether the elevation stands beside
#: the plan, and between which sizes the type is.
_TRIES = (
    ("all", False, 9.6, 8.4),
    ("all", True, 9.0, 8.0),
    ("safety", False, 8.4, 8.0),
    ("safety", True, 8.4, 8.0),
    ("none", True, 8.0, 7.2),
)
QR_PT = 62.0
LETTERS_LACK = f"{STAND_IN} in a name stands for letters that no font of this computer has."
TITLE_PT, LONG_TITLE_PT = 16.0, 12.0
_LONG_TITLE = 60  # letters
_GAP_PT = 9.0
_COLUMN_GAP = 1.4  # between the two columns at the foot, over the gap [-]
_PLAN_SHARE, _COMPACT_PLAN_SHARE = 0.645, 0.56  # of the width of the page
_COLUMNS = (  # what may stand at the foot of the page, on the left and on the right
    (("build", "test"), ("pack", "cautions")),
    (("build",), ("test", "pack", "cautions")),
    (("build", "test", "pack"), ("cautions",)),
    (("build", "cautions"), ("test", "pack")),
    (("build", "test", "cautions"), ("pack",)),
)
_LEAST_PLAN_PT, _MOST_PLAN_PT = 205.0, 370.0
_SQUEEZED_PLAN_PT = 176.0  # on a page that is full
_LEAST_SIDE_PT, _MOST_SIDE_PT = 104.0, 190.0
_SIDE_OF_REST = 0.35  # share of the free height that the elevation gets
_FRAME_PT = 40.0  # the smallest picture of the frame that says anything
_SLACK_PT = 3.0
_BLANK = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {} {}"/>'
_NOTE = "as the camera sees it"
_USUAL_POINTS = ("under the eyes", "under the front of the lens", "foot of the column")


@dataclass(frozen=True, kw_only=True, eq=False)
class RigDrawings:
    """What the drawings of a rig sheet are made from.

    Attributes
    ----------
    scene : Scene
        The setup as surfaces.
    others : tuple of Scene
        About everybody else in the setup.
    picture : SitterPicture
        Everybody as the camera sees them.
    """

    scene: Scene
    others: tuple[Scene, ...]
    picture: SitterPicture


@dataclass(frozen=True, kw_only=True, slots=True)
class _Layout:
    """How large everything is [pt], and what stands in which column at the foot."""

    text: float
    plan: tuple[float, float]
    side: tuple[float, float]
    frame: tuple[float, float]
    compact: bool = False
    left: tuple[str, ...] = ()
    right: tuple[str, ...] = ()

    def as_data(self) -> dict[str, Any]:
        """Return it as the template takes it."""
        return {
            "text_pt": self.text,
            "plan_pt": self.plan,
            "side_pt": self.side,
            "compact": self.compact,
            "left": self.left,
            "right": self.right,
        }


def rig_pages(
    rig: RigSheet,
    drawings: RigDrawings,
    *,
    paper: PaperName,
    form: PageForm,
    link: str | None = None,
) -> tuple[bytes, ...]:
    """Return a rig sheet as a PDF, or as SVG or PNG for each page; one page wherever it can be.

    Parameters
    ----------
    rig : RigSheet
        What the page says.
    drawings : RigDrawings
        What is drawn on it.
    paper : str
        ``a4`` or ``letter``.
    form : str
        ``pdf``, ``svg`` or ``png``.
    link : str, optional
        Where the same sheet is found; set as a QR code.
    """
    data, layout = _fitted(_words(rig, paper=paper, link=link), rig.cautions)
    return set_pages(TEMPLATE, drawable(data | _drawn(rig, drawings, layout)), form=form)


def rig_page_facts(rig: RigSheet, *, paper: PaperName, link: str | None = None) -> dict[str, Any]:
    """Return on how many pages a rig sheet goes, and how it is set, without drawing it.

    Returns
    -------
    dict
        ``pages``; ``text_pt``, the size of the type [pt]; ``left_out``, what the page says is
        not on it.
    """
    data, layout = _fitted(_words(rig, paper=paper, link=link), rig.cautions)
    sizes = {"plan": layout.plan, "side": layout.side, "frame": layout.frame}
    blank = {name: _BLANK.format(*size) for name, size in sizes.items()}
    words = {"mode": "page", "frame_pt": layout.frame, "plan_words": "", "side_words": ""}
    facts = page_facts(TEMPLATE, drawable(data | layout.as_data() | words | blank))
    return facts | {"text_pt": layout.text, "left_out": data["left_out"]}


def _fitted(data: dict[str, Any], cautions: tuple[Caution, ...]) -> tuple[dict[str, Any], _Layout]:
    """Return what the page says and a layout in which it fits, with as much said as may be.

    First the type shrinks and the elevation moves beside the plan, then advice beside what is
    no danger is left out, then all advice; only then cautions go to a second page.
    """
    for advice, compact, largest_pt, least_pt in _TRIES:
        said = data | _told(cautions, advice=advice)
        for text_pt in TEXT_SIZES_PT:
            if least_pt <= text_pt <= largest_pt:
                layout = _layout(said, text_pt, compact=compact, squeeze=advice == "none")
                if layout is not None:
                    return said, layout
    return _on_two_pages(data, cautions)


def _on_two_pages(
    data: dict[str, Any], cautions: tuple[Caution, ...]
) -> tuple[dict[str, Any], _Layout]:
    """Return what the page says with as many cautions as fit, and the others behind it."""
    small = TEXT_SIZES_PT[-1]
    best = data | _told(cautions, advice="all", kept=0), _start(data, small, compact=True)
    low, high = 0, len(cautions)
    while low < high:
        kept = (low + high) // 2
        said = data | _told(cautions, advice="all", kept=kept)
        layout = _layout(said, small, compact=True, squeeze=True)
        if layout is None:
            high = kept
        else:
            best, low = (said, layout), kept + 1
    return best


def _told(cautions: tuple[Caution, ...], *, advice: str, kept: int | None = None) -> dict[str, Any]:
    """Return the cautions as data, with what is said where some of it is left out."""
    told = [
        {
            "lead": "TROUBLE: " if one.severity == "trouble" else "",
            "text": one.text if advice != "none" or one.safety else one.in_short,
            "advice": one.what_to_do
            if advice == "all" or (advice == "safety" and one.safety)
            else "",
        }
        for one in cautions
    ]
    here = len(told) if kept is None else kept
    more = len(told) - here
    short = "" if advice == "all" else "Shortened to one page: the check says what to do."
    left_out = f"{more} more {'caution' if more == 1 else 'cautions'}: see page 2." if more else ""
    words = {"cautions": told[:here], "more": told[here:], "left_out": left_out or short}
    found: dict[str, Any] = breakable(words)
    return found


def _layout(
    data: dict[str, Any], text_pt: float, *, compact: bool, squeeze: bool
) -> _Layout | None:
    """Return how text of a size is laid out beside the drawings; None where there is no room."""
    start = _start(data, text_pt, compact=compact)
    facts = page_facts(TEMPLATE, data | start.as_data() | {"mode": "measure"})
    free = data["paper"]["height"] - 2 * MARGIN_PT - facts["fixed"] - 4 * _GAP_PT - _SLACK_PT
    if not compact:
        return _roomy(facts, free, start)
    return _compact(facts, free, start, least_pt=_SQUEEZED_PLAN_PT if squeeze else _LEAST_PLAN_PT)


def _roomy(facts: dict[str, float], free: float, start: _Layout) -> _Layout | None:
    """Return the layout with the elevation over the order of work."""
    found = []
    for left, right in _COLUMNS:
        under, beside = (_height(names, facts) for names in (left, right))
        side = min(max(beside - under - _GAP_PT, _LEAST_SIDE_PT), _MOST_SIDE_PT)
        found.append((max(side + _GAP_PT + under, beside), side, left, right))
    taken, side, left, right = min(found)
    least = max(_LEAST_PLAN_PT, facts["eyes"] + _FRAME_PT)
    spare = free - taken - least
    if spare < 0.0:
        return None
    under, beside = (_height(names, facts) for names in (left, right))
    side = min(max(side, _LEAST_SIDE_PT + _SIDE_OF_REST * spare), _MOST_SIDE_PT)
    plan = min(free - max(side + _GAP_PT + under, beside), _MOST_PLAN_PT)
    return replace(
        start,
        plan=(start.plan[0], plan),
        side=(start.side[0], side),
        frame=(start.frame[0], plan - facts["eyes"] - 4.0),
        left=("side", *left),
        right=right,
    )


def _compact(
    facts: dict[str, float], free: float, start: _Layout, *, least_pt: float
) -> _Layout | None:
    """Return the layout of a full page: the elevation beside the plan."""
    taken, left, right = min(
        (max(_height(left, facts), _height(right, facts)), left, right) for left, right in _COLUMNS
    )
    plan = min(free - taken, _MOST_PLAN_PT)
    side = min(max(0.5 * plan, _LEAST_SIDE_PT if plan > _LEAST_PLAN_PT else 0.0), _MOST_SIDE_PT)
    frame = plan - side - _GAP_PT
    if plan < least_pt or frame < _FRAME_PT:
        return None
    return replace(
        start,
        plan=(start.plan[0], plan),
        side=(start.side[0], side),
        frame=(start.frame[0] / 2, frame),
        compact=True,
        left=left,
        right=right,
    )


def _height(names: tuple[str, ...], facts: dict[str, float]) -> float:
    """Return how high blocks of text are, one under the other. [pt]"""
    return sum(facts[name] for name in names) + _GAP_PT * (len(names) - 1)


def _start(data: dict[str, Any], text_pt: float, *, compact: bool) -> _Layout:
    """Return the layout with the least drawings, and their widths."""
    wide = data["paper"]["width"] - 2 * MARGIN_PT
    plan = round((_COMPACT_PLAN_SHARE if compact else _PLAN_SHARE) * wide, 2)
    beside = round(wide - plan - _GAP_PT, 2)
    half = round((wide - _COLUMN_GAP * _GAP_PT) / 2, 2)
    return _Layout(
        text=text_pt,
        plan=(plan, _LEAST_PLAN_PT),
        side=(beside if compact else half, _LEAST_SIDE_PT),
        frame=(beside, _LEAST_PLAN_PT / 2),
    )


def _drawn(rig: RigSheet, drawings: RigDrawings, layout: _Layout) -> dict[str, Any]:
    """Return the drawings at their sizes."""
    scene, others = drawings.scene, drawings.others
    frame = rig_frame(drawings.picture, room_pt=layout.frame)
    return layout.as_data() | {
        "mode": "page",
        "frame_pt": svg_size_pt(frame),
        "plan": rig_plan(scene, rig, size_pt=layout.plan, others=others),
        "side": rig_elevation(scene, rig, size_pt=layout.side, others=others),
        "frame": frame,
        "plan_words": "Floor plan with the tapes of the table",
        "side_words": "Side elevation, seen from camera-left",
    }


def _words(rig: RigSheet, *, paper: PaperName, link: str | None) -> dict[str, Any]:
    """Return everything the page says, as data for the template."""
    first, second = rig.tapes.first, rig.tapes.second
    wide, high = PAPERS[paper]
    words: dict[str, Any] = {
        "title": rig.title,
        "camera": f"Camera {rig.camera}",
        "people": "; ".join(_person(one.name, one.verdict) for one in rig.people),
        "references": [
            {"letter": one.letter, "name": one.name, "find": one.find} for one in (first, second)
        ],
        "tapes_note": _tapes_note(rig),
        "columns": [
            *("", "", f"tapes from {first.letter} and {second.letter}", "height"),
            *("power", "aim at", "stand and ballast", ""),
        ],
        "lines": [_line(one, rig) for one in rig.lines],
        "table_note": _table_note(rig),
        "packing": [{"count": str(one.count), "what": one.what} for one in rig.packing],
        "build": list(rig.build),
        "test": list(rig.test),
        "nothing": "" if rig.cautions else "The check found nothing.",
        "defers": rig.defers if can_draw(_names(rig)) else f"{rig.defers} {LETTERS_LACK}",
        "frame_note": _NOTE,
        "eyes": [f"all lights together {rig.together}"] if rig.together else [],
    }
    found: dict[str, Any] = breakable(_set_apart(words, names_apart(_called(rig))))
    return found | {
        "paper": {"width": wide, "height": high},
        "margin_pt": MARGIN_PT,
        "link": breakable(link or ""),
        "qr": "" if link is None else qr_svg(link),
        "qr_pt": QR_PT,
        "title_pt": TITLE_PT if len(rig.title) < _LONG_TITLE else LONG_TITLE_PT,
    }


def _called(rig: RigSheet) -> list[str]:
    """Return the names on the page."""
    return [rig.title, *(one.name for one in rig.lines), *(one.name for one in rig.people)]


def _set_apart(value: Any, apart: Callable[[str], str]) -> Any:
    """Return texts in which names that are read from the right stay apart from what is around."""
    if isinstance(value, str):
        return apart(value)
    if isinstance(value, list | tuple):
        return [_set_apart(one, apart) for one in value]
    if isinstance(value, dict):
        return {key: _set_apart(one, apart) for key, one in value.items()}
    return value


def _names(rig: RigSheet) -> str:
    """Return everything on the page that somebody typed as a name."""
    return " ".join([rig.title, *(f"{one.name} {one.gear} {one.aim}" for one in rig.lines)])


def _person(name: str, verdict: str) -> str:
    return f"{name}: lenses {verdict}" if verdict else f"{name}: no glasses"


def _tapes_note(rig: RigSheet) -> str:
    first, second = rig.tapes.first.letter, rig.tapes.second.letter
    note = f"From {first} to {second}: {rig.base}. Tapes run along the floor. {rig.tapes.side_note}"
    return f"{note} {_upper(rig.backdrop)}." if rig.backdrop else note


def _table_note(rig: RigSheet) -> str:
    return (
        "Tapes to the foot of the column; of people and camera, to under eyes and lens. Height: "
        f"middle of the lit face; head: on the stand. Reads: {rig.reading_note}."
    )


def _line(one: RigLine, rig: RigSheet) -> dict[str, Any]:
    where = ""
    if not one.number:
        letter = rig.tapes.first.letter if one.kind == "sitter" else rig.tapes.second.letter
        where = f"is {letter}"
    return {
        "number": str(one.number) if one.number else "",
        "name": one.name,
        "gear": one.gear,
        "first": one.first,
        "second": one.second,
        "side": one.side,
        "where": where or ("" if one.point in _USUAL_POINTS else one.point),
        "inline": one.kind in {"sitter", "person", "camera"},
        "height": one.height,
        "stand_height": one.stand_height,
        "power": one.power,
        "reading": one.reading,
        "aim": one.aim,
        "stand": one.stand,
    }


def _upper(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"
