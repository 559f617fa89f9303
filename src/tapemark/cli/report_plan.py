"""Plans as text that an assistant can rig from."""

from collections.abc import Iterator

from tapemark.cli.lines import WIDTH, folded
from tapemark.planning import Mark, Plan
from tapemark.services import PlanReport
from tapemark.studio import Brief
from tapemark.units import UnitSystem, format_length, format_mark, format_side

_WORDS = {"trouble": "TROUBLE", "caution": "CAUTION"}


def plan_text(report: PlanReport) -> str:
    """Return plans, or what to give up, as text."""
    lines = [*_head(report)]
    if report.plans:
        for plan in report.plans:
            lines += ["", *_plan(plan, system=report.brief.units)]
        return "\n".join(lines)
    if report.interrupted:
        return "\n".join([*lines, "", "Stopped before anything was found."])
    return "\n".join([*lines, "", *_not_possible(report)])


def _head(report: PlanReport) -> Iterator[str]:
    brief = report.brief
    yield brief.title or "Untitled brief"
    yield from folded(_wished(brief), indent=0)
    if report.plans:
        count = len(report.plans)
        found = "1 plan" if count == 1 else f"{count} plans"
        fewer = "" if count >= report.wanted else f"; {report.wanted} were asked for"
        again = "" if report.seed == 0 else f", seed {report.seed}"
        yield f"{found} from your gear, fewest lights first{fewer}{again}"


def _wished(brief: Brief) -> str:
    people = 1 + len(brief.companions)
    parts = [brief.framing, f"f/{brief.aperture:g}"]
    parts += [f"{people} people"] if people > 1 else []
    parts += [brief.mood] if brief.mood != "any" else []
    parts += [brief.pattern] if brief.pattern != "any" else []
    parts += [f"{brief.face} light"] if brief.face != "any" else []
    parts += [f"background {brief.background}"] if brief.background != "any" else []
    parts += [f"{brief.time_s / 60:.0f} min to build"] if brief.time_s is not None else []
    return f"Wished: {', '.join(parts)}"


def _plan(plan: Plan, *, system: UnitSystem) -> Iterator[str]:
    title = f"PLAN {plan.letter}  {plan.title}"
    yield title
    yield "=" * min(len(title), WIDTH)
    if plan.share_clear is not None:
        share = f"about {100 * plan.share_clear:.0f} %"
        yield f"  Walk-ins: {share} of wearers clear, with a catchlight in both eyes, untouched"
    yield from _listed("Why", plan.why)
    yield from _listed("Binds", tuple(f"{_upper(one.text)}." for one in plan.limits))
    yield ""
    yield from _marks(plan, system)
    yield ""
    yield from _settings(plan)
    yield ""
    yield from _listed("Pack", ("; ".join(plan.packing) + ".",))
    yield from _numbered(f"Build (about {plan.minutes:.0f} min with the shots)", plan.build)
    yield from _numbered("Test shots", plan.test_shots)
    yield from _findings(plan)


def _marks(plan: Plan, system: UnitSystem) -> Iterator[str]:
    """Yield the table of marks: one tape and an angle, or two tapes from the corners."""
    yield "  Marks: from the sitter, or with two tapes from the corners behind the sitter,"
    yield "  A on camera-left and B on camera-right; heights to the middle of face or lens."
    rows = [["", "from sitter", "side", "height", "tape A", "tape B"]]
    rows += [_row(mark, system) for mark in plan.marks]
    widths = [max(len(row[k]) for row in rows) for k in range(6)]
    for row in rows:
        cells = [row[0].ljust(widths[0]), *map(str.rjust, row[1:], widths[1:])]
        yield f"    {'  '.join(cells)}".rstrip()
    backdrop = plan.setup.backdrop
    if backdrop is not None:
        yield f"    backdrop {format_length(backdrop.distance_m, system=system)} behind the sitter"
    aims = [f"{one.name} at {one.aim}" for one in plan.marks[1:] if one.aim]
    yield from _listed("Aim", (f"{plan.marks[0].aim}; {'; '.join(aims)}.",))


def _row(mark: Mark, system: UnitSystem) -> list[str]:
    here = mark.distance_m < 0.005
    side = "" if here else "straight" if mark.side_deg == 0 else format_side(mark.side_deg)
    return [
        mark.name,
        "on the mark" if here else format_mark(mark.distance_m, system=system),
        side,
        format_mark(mark.height_m, system=system),
        format_mark(mark.from_a_m, system=system),
        format_mark(mark.from_b_m, system=system),
    ]


def _settings(plan: Plan) -> Iterator[str]:
    camera = plan.setup.camera
    shutter = f"1/{1 / camera.shutter_s:.0f} s"
    yield (
        f"  Camera {camera.focal_length_mm:g} mm, {camera.orientation}, f/{camera.aperture:g}, "
        f"{shutter}, ISO {camera.iso}"
    )
    yield "  Lights, each metered alone at the face, dome to the camera:"
    rows = [
        (one.name, f"power {one.dial}", f"reads {one.reading}" if one.reading else "background")
        for one in plan.lights
    ]
    modelled = "" if plan.pattern == "none" else f", {plan.pattern}"
    rows.append(("together", "", f"reads {plan.reading}"))
    widths = [max(len(row[k]) for row in rows) for k in range(3)]
    gear = [f"{one.modifier} on {one.head}" for one in plan.lights]
    for row, words in zip(rows, [*gear, f"ratio {plan.ratio}{modelled}"], strict=True):
        yield f"    {'  '.join(map(str.ljust, row, widths))}  {words}"


def _findings(plan: Plan) -> Iterator[str]:
    if plan.edge_reason:
        yield from folded(f"Edge    {plan.edge_reason}", indent=2)
    told = [one for one in plan.findings if one.severity in _WORDS and one.code != "lens-edge"]
    for one in told:
        yield from folded(f"{_WORDS[one.severity]}  {one.text} {one.what_to_do}", indent=2)
    if not told and not plan.edge_reason:
        yield "  Check   nothing in the way"


def _not_possible(report: PlanReport) -> Iterator[str]:
    if report.unfit:
        yield from folded(f"Not possible: {report.unfit}.", indent=0)
        return
    if not report.instead:
        yield "Not possible with this gear in this room, whichever wish is given up."
        if report.nearest:
            yield from folded(f"Nearest: {report.nearest}.", indent=2)
        return
    first = report.instead[0]
    if first.wishes:
        one = len(first.wishes) == 1
        yield "Not possible as wished. It is enough to give up " + (
            "one wish:" if one else f"{len(first.wishes)} wishes together:"
        )
    else:
        yield "Not possible as wished, and no wish is to blame. It would take:"
    for number, each in enumerate(report.instead, 1):
        yield from folded(f"{number}. {_upper(each.text)} ({each.plan.title})", indent=2)
    yield ""
    yield (
        f"What comes of giving up {_upper(first.text)[:1].lower()}{first.text[1:]}:"
        if (first.wishes)
        else "What comes of the first:"
    )
    yield from _plan(first.plan, system=report.brief.units)


def _listed(lead: str, texts: tuple[str, ...]) -> Iterator[str]:
    for number, text in enumerate(texts):
        first = f"{lead:<8}" if number == 0 else " " * 8
        lines = [*folded(f"{'x' * 8}{text}", indent=2)]
        yield f"  {first}{lines[0][10:]}"
        yield from (f"          {line.strip()}" for line in lines[1:])


def _numbered(title: str, texts: tuple[str, ...]) -> Iterator[str]:
    yield f"  {title}"
    for number, text in enumerate(texts, 1):
        yield from folded(f"{number}. {text}", indent=4)


def _upper(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"
