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
from tapemark.services.pictures import drawings, picture_files
from tapemark.services.report_json import report_as_plain
from tapemark.store import read_setup, write_results
from tapemark.studio import json_schema

__all__ = [
    "DEMO_STEMS",
    "CheckReport",
    "DemoStep",
    "FrameReport",
    "PersonReport",
    "check_setup",
    "demo_setup_text",
    "drawings",
    "json_schema",
    "outlines_of",
    "picture_files",
    "read_setup",
    "refuse_edited",
    "report_as_plain",
    "run_demo",
    "write_results",
]
