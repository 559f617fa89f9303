"""Decisions about a setup: what is good, what to move, where lights may stand, in which order."""

from tapemark.planning.judge import Judged, JudgedPerson, judge
from tapemark.planning.lens_judge import LensesJudged, PersonLenses, lenses_only
from tapemark.planning.moves.result import Move, MovesFound, MoveStep
from tapemark.planning.moves.search import find_moves
from tapemark.planning.moves.side_effects import KEEPS, Keep
from tapemark.planning.plans.gear_words import gear_trouble
from tapemark.planning.plans.limits import Limit
from tapemark.planning.plans.marks import Mark
from tapemark.planning.plans.relax import Relaxation, relaxations
from tapemark.planning.plans.search import PLAN_BUDGET, Option, PlanSearch, choose, find_options
from tapemark.planning.plans.sheet import LETTERS, LightLine, Plan, plan_sheet
from tapemark.planning.plans.walkins import WalkIns, best_for_walk_ins
from tapemark.planning.plans.wishes import Lack
from tapemark.planning.run_orders.appointments import Appointment
from tapemark.planning.run_orders.controls import Control, HandTimes
from tapemark.planning.run_orders.run_order import RunOrder, Turn, reorder, run_order
from tapemark.planning.run_orders.sitter_changes import Change, changes_text
from tapemark.planning.run_orders.sitter_needs import SitterNeeds
from tapemark.planning.sightlines.map_sheet import MapSheet
from tapemark.planning.sightlines.map_words import OpenHeights, open_heights
from tapemark.planning.sightlines.sightline_map import MapPlace, SightlineMap, sightline_map
from tapemark.planning.walk_ins.gaining_moves import WalkInMove
from tapemark.planning.walk_ins.groups import Group
from tapemark.planning.walk_ins.interval import Gain, Share
from tapemark.planning.walk_ins.share import (
    QuickShare,
    ShownSource,
    WalkInShare,
    share_of,
    walk_in_share,
)
from tapemark.planning.walk_ins.wearer_looks import Crowd, gathered
from tapemark.planning.walk_ins.wearers import Wearers, sample_wearers
from tapemark.watch import Watch

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
