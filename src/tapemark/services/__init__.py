"""Use cases: what the command line and the app ask for."""

import importlib
import typing

from tapemark.analysis import FrameReport, PersonReport
from tapemark.services.check import CheckReport, check_setup, outlines_of
from tapemark.services.demo import (
    DEMO_LISTS,
    DEMO_STEMS,
    DemoStep,
    demo_lists,
    demo_setup_text,
    refuse_edited,
    run_demo,
)
from tapemark.services.pictures import drawings, picture_files
from tapemark.services.report_json import report_as_plain
from tapemark.store import read_setup, write_results
from tapemark.studio import json_schema

if typing.TYPE_CHECKING:
    from tapemark.services.drill import (
        Drill,
        DrillAnswer,
        DrillScore,
        draw_drill,
        drill_as_plain,
        make_drills,
    )
    from tapemark.services.moves import moves_as_plain, moves_for
    from tapemark.services.paper.day_sheet import day_sheet_bytes, day_sheet_of, day_sheet_pages
    from tapemark.services.paper.exports import drawing_names, export_drawing, export_set
    from tapemark.services.paper.sheet import sheet_bytes, sheet_of, sheet_pages
    from tapemark.services.picture import Picture, PictureWanted, take_lights, take_picture
    from tapemark.services.plan import (
        Instead,
        PlanReport,
        plan_as_plain,
        plan_brief,
        plan_files,
    )
    from tapemark.services.run_order import OrderReport, order_as_plain, order_sitters
    from tapemark.services.sightline import (
        MapReport,
        map_as_csv,
        map_as_plain,
        map_light,
        map_picture,
        picture_bytes,
    )
    from tapemark.services.walkins import walk_ins_as_plain, walk_ins_for
    from tapemark.store import read_brief

__all__ = [
    "DEMO_LISTS",
    "DEMO_STEMS",
    "CheckReport",
    "DemoStep",
    "Drill",
    "DrillAnswer",
    "DrillScore",
    "FrameReport",
    "Instead",
    "MapReport",
    "OrderReport",
    "PersonReport",
    "Picture",
    "PictureWanted",
    "PlanReport",
    "check_setup",
    "day_sheet_bytes",
    "day_sheet_of",
    "day_sheet_pages",
    "demo_lists",
    "demo_setup_text",
    "draw_drill",
    "drawing_names",
    "drawings",
    "drill_as_plain",
    "export_drawing",
    "export_set",
    "json_schema",
    "make_drills",
    "map_as_csv",
    "map_as_plain",
    "map_light",
    "map_picture",
    "moves_as_plain",
    "moves_for",
    "order_as_plain",
    "order_sitters",
    "outlines_of",
    "picture_bytes",
    "picture_files",
    "plan_as_plain",
    "plan_brief",
    "plan_files",
    "read_brief",
    "read_setup",
    "refuse_edited",
    "report_as_plain",
    "run_demo",
    "sheet_bytes",
    "sheet_of",
    "sheet_pages",
    "take_lights",
    "take_picture",
    "walk_ins_as_plain",
    "walk_ins_for",
    "write_results",
]

#: Where names are that a check has no use for: planning takes a quarter of a second to load.
_LATER = {
    "day_sheet_bytes": "tapemark.services.paper.day_sheet",
    "day_sheet_of": "tapemark.services.paper.day_sheet",
    "day_sheet_pages": "tapemark.services.paper.day_sheet",
    "drawing_names": "tapemark.services.paper.exports",
    "export_drawing": "tapemark.services.paper.exports",
    "export_set": "tapemark.services.paper.exports",
    "sheet_bytes": "tapemark.services.paper.sheet",
    "sheet_of": "tapemark.services.paper.sheet",
    "sheet_pages": "tapemark.services.paper.sheet",
    "read_brief": "tapemark.store",
    "Instead": "tapemark.services.plan",
    "MapReport": "tapemark.services.sightline",
    "OrderReport": "tapemark.services.run_order",
    "PlanReport": "tapemark.services.plan",
    "map_as_csv": "tapemark.services.sightline",
    "map_as_plain": "tapemark.services.sightline",
    "map_light": "tapemark.services.sightline",
    "map_picture": "tapemark.services.sightline",
    "moves_as_plain": "tapemark.services.moves",
    "moves_for": "tapemark.services.moves",
    "order_as_plain": "tapemark.services.run_order",
    "order_sitters": "tapemark.services.run_order",
    "picture_bytes": "tapemark.services.sightline",
    "plan_as_plain": "tapemark.services.plan",
    "plan_brief": "tapemark.services.plan",
    "plan_files": "tapemark.services.plan",
    "walk_ins_as_plain": "tapemark.services.walkins",
    "walk_ins_for": "tapemark.services.walkins",
    "Picture": "tapemark.services.picture",
    "PictureWanted": "tapemark.services.picture",
    "take_lights": "tapemark.services.picture",
    "take_picture": "tapemark.services.picture",
    "Drill": "tapemark.services.drill",
    "DrillAnswer": "tapemark.services.drill",
    "DrillScore": "tapemark.services.drill",
    "draw_drill": "tapemark.services.drill",
    "drill_as_plain": "tapemark.services.drill",
    "make_drills": "tapemark.services.drill",
}


def __getattr__(name: str) -> object:
    """Return a public name whose module is loaded when it is first asked for."""
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(_LATER[name]), name)
