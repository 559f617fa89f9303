"""Use cases: what the command line and the app ask for."""

from tapemark.services.check import CheckReport, PersonReport, check_setup, outlines_of
from tapemark.services.demo import (
    DEMO_STEMS,
    DemoStep,
    demo_setup_text,
    refuse_edited,
    run_demo,
)
from tapemark.services.frame import FrameReport
from tapemark.services.moves import moves_as_plain, moves_for
from tapemark.services.pictures import drawings, picture_files
from tapemark.services.plan import (
    Instead,
    PlanReport,
    plan_as_plain,
    plan_brief,
    plan_files,
)
from tapemark.services.report_json import report_as_plain
from tapemark.services.run_order import OrderReport, order_as_plain, order_sitters
from tapemark.services.sightline import (
    MapReport,
    map_as_csv,
    map_as_plain,
    map_light,
    map_picture,
    picture_bytes,
)
from tapemark.services.walkins import share_clear_of, walk_ins_as_plain, walk_ins_for
from tapemark.store import read_brief, read_setup, write_results
from tapemark.studio import json_schema

__all__ = [
    "DEMO_STEMS",
    "CheckReport",
    "DemoStep",
    "FrameReport",
    "Instead",
    "MapReport",
    "OrderReport",
    "PersonReport",
    "PlanReport",
    "check_setup",
    "demo_setup_text",
    "drawings",
    "json_schema",
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
    "share_clear_of",
    "walk_ins_as_plain",
    "walk_ins_for",
    "write_results",
]
