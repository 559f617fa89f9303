"""Decisions about a setup: what is good, what to move, where lights may stand, in which order."""

from tapemark.planning.appointments import Appointment
from tapemark.planning.controls import Control, HandTimes
from tapemark.planning.judge import Judged, JudgedPerson, judge
from tapemark.planning.lens_judge import LensesJudged, PersonLenses, lenses_only
from tapemark.planning.map_sheet import MapSheet
from tapemark.planning.map_words import OpenHeights, open_heights
from tapemark.planning.move_result import Move, MovesFound, MoveStep
from tapemark.planning.moves import find_moves
from tapemark.planning.plan import PLAN_BUDGET, Option, PlanSearch, choose, find_options
from tapemark.planning.plan_gear_words import gear_trouble
from tapemark.planning.plan_limits import Limit
from tapemark.planning.plan_marks import Mark
from tapemark.planning.plan_sheet import LETTERS, LightLine, Plan, plan_sheet
from tapemark.planning.plan_walkins import WalkIns, best_for_walk_ins
from tapemark.planning.plan_wishes import Lack
from tapemark.planning.relax import Relaxation, relaxations
from tapemark.planning.run_order import RunOrder, Turn, reorder, run_order
from tapemark.planning.share_interval import Gain, Share
from tapemark.planning.side_effects import KEEPS, Keep
from tapemark.planning.sightline_map import MapPlace, SightlineMap, sightline_map
from tapemark.planning.sitter_changes import Change, changes_text
from tapemark.planning.sitter_needs import SitterNeeds
from tapemark.planning.walkin_groups import Group
from tapemark.planning.walkin_moves import WalkInMove
from tapemark.planning.walkins import (
    QuickShare,
    ShownSource,
    WalkInShare,
    share_of,
    walk_in_share,
)
from tapemark.planning.watch import Watch
from tapemark.planning.wearer_looks import Crowd, gathered
from tapemark.planning.wearers import Wearers, sample_wearers

__all__ = [
    "KEEPS",
    "LETTERS",
    "PLAN_BUDGET",
    "Appointment",
    "Change",
    "Control",
    "Crowd",
    "Gain",
    "Group",
    "HandTimes",
    "Judged",
    "JudgedPerson",
    "Keep",
    "Lack",
    "LensesJudged",
    "LightLine",
    "Limit",
    "MapPlace",
    "MapSheet",
    "Mark",
    "Move",
    "MoveStep",
    "MovesFound",
    "OpenHeights",
    "Option",
    "PersonLenses",
    "Plan",
    "PlanSearch",
    "QuickShare",
    "Relaxation",
    "RunOrder",
    "Share",
    "ShownSource",
    "SightlineMap",
    "SitterNeeds",
    "Turn",
    "WalkInMove",
    "WalkInShare",
    "WalkIns",
    "Watch",
    "Wearers",
    "best_for_walk_ins",
    "changes_text",
    "choose",
    "find_moves",
    "find_options",
    "gathered",
    "gear_trouble",
    "judge",
    "lenses_only",
    "open_heights",
    "plan_sheet",
    "relaxations",
    "reorder",
    "run_order",
    "sample_wearers",
    "share_of",
    "sightline_map",
    "walk_in_share",
]
