"""Plan whole setups from a brief: read it, search, and hand back what can be rigged from."""

from collections.abc import Iterator
from dataclasses import dataclass

from tapemark.planning import (
    LETTERS,
    PLAN_BUDGET,
    Option,
    Plan,
    PlanSearch,
    Relaxation,
    WalkIns,
    Watch,
    best_for_walk_ins,
    choose,
    find_options,
    gear_trouble,
    plan_sheet,
    relaxations,
)
from tapemark.services.check import check_setup
from tapemark.services.paper.sheet import sheet_bytes
from tapemark.services.pictures import picture_files_in_turn
from tapemark.services.plain import Plain, as_plain, rounded
from tapemark.studio import Brief, Setup, changed, setup_to_mapping, setup_to_toml
from tapemark.units import format_length

SHORTER = 2700.0  # what the search may cost where walk-ins are looked at as well
_NO_ROOM = {
    "ceiling": "the ceiling is too low for the lights",
    "stand": "the stands do not reach high enough",
    "room": "the walls are too near for the lights",
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Instead:
    """A set of wishes to give up, and the plan that one then gets.

    Attributes
    ----------
    wishes : tuple of str
        Keys of the brief; empty where something given has to change.
    text : str
        What to give up and what one gets, in words.
    plan : Plan
        A setup that meets all else.
    """

    wishes: tuple[str, ...]
    text: str
    plan: Plan


@dataclass(frozen=True, kw_only=True, eq=False)
class PlanReport:
    """What planning a brief came to.

    Attributes
    ----------
    brief : Brief
        What was wished.
    seed : int
        The same seed gives the same plans.
    wanted : int
        How many plans were asked for.
    plans : tuple of Plan
        Different setups that meet all wishes, fewest lights first.
    instead : tuple of Instead
        Where there are none: the smallest sets of wishes to give up.
    nearest : str
        Where not even that helps: what still fails in the best setup found.
    interrupted : bool
        Whether the search was stopped before its end.
    unfit : str
        Why no light can be put together from the gear; nothing is then searched.
    """

    brief: Brief
    seed: int
    wanted: int
    plans: tuple[Plan, ...]
    instead: tuple[Instead, ...]
    nearest: str
    interrupted: bool
    unfit: str = ""


def plan_brief(
    brief: Brief,
    *,
    seed: int = 0,
    count: int = 3,
    watch: Watch | None = None,
    walk_ins: WalkIns | None = None,
) -> PlanReport:
    """Return setups for a brief, or what to give up.

    Parameters
    ----------
    brief : Brief
        What is wished, and what is there.
    seed : int
        The same seed gives the same plans.
    count : int
        How many.
    watch : Watch, optional
        Told how far it is; it may stop the search.
    walk_ins : WalkIns, optional
        Strangers by whom plans are then chosen and improved.
    """
    unfit = gear_trouble(brief)
    if unfit:
        return PlanReport(
            brief=brief,
            seed=seed,
            wanted=count,
            plans=(),
            instead=(),
            nearest="",
            interrupted=False,
            unfit=unfit,
        )
    search = find_options(
        brief, seed=seed, count=count, watch=watch, budget=SHORTER if walk_ins else PLAN_BUDGET
    )
    if walk_ins is None:
        chosen: list[tuple[Option, float | None]] = [
            (one, None) for one in choose(search.options, count=count)
        ]
    else:
        chosen = [*best_for_walk_ins(search, walk_ins, count=count)]
    options = tuple(one for one, _ in chosen)
    plans = tuple(
        plan_sheet(
            one,
            brief=brief,
            letter=LETTERS[number],
            others=options[:number],
            share_clear=share,
        )
        for number, (one, share) in enumerate(chosen)
    )
    found = () if plans or search.interrupted else relaxations(search)
    return PlanReport(
        brief=brief,
        seed=seed,
        wanted=count,
        plans=plans,
        instead=tuple(_instead(one, brief, number) for number, one in enumerate(found[:count])),
        nearest="" if plans or found else _nearest(search),
        interrupted=search.interrupted,
    )


def plan_setups(report: PlanReport, *, stem: str) -> dict[str, Setup]:
    """Return the setups of a report by the first part of their files' names.

    Parameters
    ----------
    report : PlanReport
        What was planned.
    stem : str
        First part of the file names.
    """
    plans = report.plans or tuple(one.plan for one in report.instead[:1])
    return {
        f"{stem}-{plan.letter.lower()}": changed(plan.setup, {"title": _title(report.brief, plan)})
        for plan in plans
    }


def plan_files(
    report: PlanReport, *, stem: str, sheets: bool = False, watch: Watch | None = None
) -> Iterator[dict[str, str | bytes]]:
    """Yield the setups of a report, then their drawings one after the other, as files.

    Parameters
    ----------
    report : PlanReport
        What was planned.
    stem : str
        First part of the file names.
    sheets : bool
        Whether each also comes as a page to rig from.
    watch : Watch, optional
        Told what is drawn; once stopped, no further setup is drawn.
    """
    watch = Watch() if watch is None else watch
    setups = plan_setups(report, stem=stem)
    yield {f"{own}.toml": setup_to_toml(setup) for own, setup in setups.items()}
    for own, setup in setups.items():
        if watch.stopped:
            return
        watch.tell(f"Drawing {own}")
        checked = check_setup(setup)
        if sheets:
            yield {f"{own}-sheet.pdf": sheet_bytes(checked)}
        for number, files in enumerate(picture_files_in_turn(checked, stem=own), 1):
            yield files
            watch.tell(f"Drawing {own}, {number} drawings done")


def plan_as_plain(report: PlanReport) -> Plain:
    """Return a report as dictionaries, lists, numbers and text.

    Returns
    -------
    dict
        ``title``, ``seed``, ``plans``, ``give_up`` and ``interrupted``. A plan has its ``setup``
        as a whole, so that it can be checked again.
    """
    return {
        "title": report.brief.title,
        "seed": report.seed,
        "wanted": report.wanted,
        "plans": [_plan_as_plain(one) for one in report.plans],
        "give_up": [
            {"wishes": list(one.wishes), "text": one.text, "plan": _plan_as_plain(one.plan)}
            for one in report.instead
        ],
        "nearest": report.unfit or report.nearest,
        "interrupted": report.interrupted,
    }


def _plan_as_plain(plan: Plan) -> Plain:
    return {
        "letter": plan.letter,
        "title": plan.title,
        "verdict": plan.verdict,
        "edge_reason": plan.edge_reason,
        "pattern": plan.pattern,
        "face_side": plan.face_side,
        "ratio": plan.ratio,
        "aperture": rounded(plan.aperture, 2),
        "reading": plan.reading,
        "iso": plan.iso,
        "lights": as_plain(plan.lights),
        "marks": as_plain(plan.marks),
        "packing": list(plan.packing),
        "build": list(plan.build),
        "test_shots": list(plan.test_shots),
        "minutes": rounded(plan.minutes, 0),
        "why": list(plan.why),
        "limits": as_plain(plan.limits),
        "findings": as_plain(plan.findings),
        "share_clear": rounded(plan.share_clear),
        "setup": setup_to_mapping(plan.setup),
    }


def _instead(one: Relaxation, brief: Brief, number: int) -> Instead:
    plan = plan_sheet(one.option, brief=brief, letter=LETTERS[number])
    if one.wishes:
        parts = [f"{lack.wish}: {lack.got} in place of {lack.wanted}" for lack in one.instead]
        text = "; ".join(parts)
    else:
        text = f"with {one.given} all wishes can be met"
    return Instead(wishes=one.wishes, text=text, plan=plan)


def _nearest(search: PlanSearch) -> str:
    """Return what still fails in the best setup found."""
    best = min(search.options, key=_failures, default=None)
    if best is None and search.closest is not None:
        lacking = search.closest.parts
        worst = max(_NO_ROOM, key=lambda name: lacking.get(name, 0.0))
        far = format_length(lacking.get(worst, 0.0), system=search.brief.units)
        return f"{_NO_ROOM[worst]}, by {far} even at its best"
    if best is None:
        return "no way to light is known for these wishes with this gear"
    parts = [one.text.rstrip(".") for one in best.troubles]
    parts += [f"{lack.wish} {lack.wanted}: {lack.got}" for lack in best.lacks]
    return "; ".join(parts)


def _failures(one: Option) -> tuple[int, int, float]:
    return len(one.troubles), len(one.lacks), one.cost


def _title(brief: Brief, plan: Plan) -> str:
    lead = f"{brief.title}, " if brief.title else ""
    return f"{lead}plan {plan.letter}: {plan.title}"[:200]
