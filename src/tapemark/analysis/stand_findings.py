"""What to say about stands, booms and what hangs over people."""

from math import ceil

from tapemark.analysis.finding import Finding, Severity
from tapemark.analysis.overhead import Overhead
from tapemark.analysis.rigs import ASSUMED_STAND
from tapemark.analysis.safety import Safety
from tapemark.analysis.stands import AIM_DEG, StandBalance
from tapemark.geometry import STANDARD_GRAVITY
from tapemark.studio import Setup
from tapemark.units import KILOGRAM_PER_POUND, UnitSystem, format_length, format_mass

#: Less than this is called out where the stand was described; the limit of [ul-153] for lamps
#: in homes, by analogy. [deg]
LEAST_DEG = 8.0
#: The same where it was not described, so that it is bad on any usual stand, from
#: [iec-60598-2-4]; and what makes a caution of it (assumption). [deg]
LEAST_ASSUMED_DEG, BAD_ASSUMED_DEG = 6.0, 3.0
#: Less than this on a described stand is trouble: a sleeve that catches tips it (assumption). [deg]
BAD_DEG = 3.0
MOST_BALLAST_KG = 30.0  # more than this is no help: another stand is (assumption)
LITTLE_DEG = 1.0  # ballast that adds less than this hangs in the wrong place (assumption)
ARM_SLACK_M = 0.1  # by which a boom may be described too short (assumption)
COUNTERWEIGHT_SLACK = 0.1  # share by which it may be off (assumption)

STAND_DEFERS = "The markings of stand and head decide."
LINE_DEFERS = "Have somebody qualified look at anything rigged over people."


def stand_findings(setup: Setup, found: Safety) -> list[Finding]:
    """Return findings about stands, booms and lights over people."""
    overhead = {one.light for one in found.overhead}
    shaky = {one.name for one in found.stands if one.weakest_deg < LEAST_ASSUMED_DEG}
    described = [one for one in found.stands if not one.stand_assumed]
    assumed = [one for one in found.stands if one.stand_assumed and one.name not in overhead]
    return [
        *(finding for one in described for finding in _reach(one, setup.units)),
        *(_unsteady(one, setup.units) for one in described if one.weakest_deg < LEAST_DEG),
        *_on_assumed_stands(assumed, setup.units),
        *_overhead(found.overhead, setup, shaky=shaky),
    ]


def _unsteady(one: StandBalance, system: UnitSystem) -> Finding:
    """Return that a described stand tips too easily, and the next thing that steadies it."""
    falls = one.over_leg_deg <= 0.0 and one.weakest_deg <= 0.0
    if one.weakest_deg <= 0.0:
        way = "even with a leg under the load" if falls else "between two legs"
        text = f"{one.name} would fall by itself {way}"
    else:
        text = (
            f"{one.name} tips at {one.weakest_deg:.1f}° {_way(one)} (aim for 8° to 10°), or with a "
            f"push of {_push(one, system)} at {format_length(one.push_height_m, system=system)}"
        )
    if _bag_is_lost(one):
        hung = format_mass(one.hung_kg, system=system)
        out = format_length(one.hung_out_m, system=system)
        adds = "almost nothing" if one.hung_adds_deg < 0.1 else f"only {one.hung_adds_deg:.1f}°"
        text += f"; the {hung} hung {out} out on a leg may add {adds}"
    return Finding(
        code="stand-falls" if one.weakest_deg <= 0.0 else "stand-unsteady",
        severity="trouble" if falls or one.weakest_deg < BAD_DEG else "caution",
        text=f"{text}.",
        what_to_do=f"{_how_to_steady(one, system)} {STAND_DEFERS}",
        topic="safety",
    )


def _way(one: StandBalance) -> str:
    return "with a leg under the load" if one.leg_under_load else "between its legs"


def _push(one: StandBalance, system: UnitSystem) -> str:
    """Return a push as what people know: the weight of so much."""
    weight_kg = one.push_n / STANDARD_GRAVITY
    if system == "us":
        return f"{weight_kg / KILOGRAM_PER_POUND:.1f} lb"
    return f"{one.push_n:.0f} N (the weight of {weight_kg:.1f} kg)"


def _bag_is_lost(one: StandBalance) -> bool:
    return one.hung_kg > 0.0 and one.hung_out_m > 0.0 and one.hung_adds_deg < LITTLE_DEG


def _how_to_steady(one: StandBalance, system: UnitSystem) -> str:
    """Return the next single thing that steadies a stand."""
    if _arm_is_off(one):
        weight = _rounded_up(one.counterweight_kg or 0.0, system)
        out = format_length(one.counterweight_out_m or 0.0, system=system)
        steady = one.balanced_deg is not None and one.balanced_deg >= LEAST_DEG
        then = "" if steady else ", and then ballast on the column"
        return (
            f"Balance the arm with a counterweight of {weight} in all, {out} from the column, on "
            f"after the head and off before it: {one.balanced_deg:.1f}°{then}."
        )
    if _bag_is_lost(one):
        return "Hang the bags on the column, or on the leg away from the load, off the floor."
    if not one.leg_under_load and one.weakest_leg_under_deg >= LEAST_DEG:
        return f"Turn a leg under the load: {one.weakest_leg_under_deg:.0f}°."
    if one.ballast_kg is not None and one.ballast_kg <= MOST_BALLAST_KG:
        more = " more" if one.hung_kg > 0.0 else ""
        weight = _rounded_up(one.ballast_kg, system)
        return f"Hang {weight}{more} low on the column, off the floor: {AIM_DEG:.0f}°."
    return "Bring it down, spread the legs wider, or take a heavier stand."


def _lowered(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def _arm_is_off(one: StandBalance) -> bool:
    """Return whether another counterweight is what a boom needs most."""
    if one.counterweight_kg is None or one.balanced_deg is None:
        return False
    off = abs(one.counterweight_kg - (one.hung_counterweight_kg or 0.0))
    gains = one.balanced_deg - one.weakest_deg
    return off > COUNTERWEIGHT_SLACK * one.counterweight_kg and gains > LITTLE_DEG


def _rounded_up(mass_kg: float, system: UnitSystem) -> str:
    """Return a mass to be hung, up to the next half kilogram or pound."""
    step = KILOGRAM_PER_POUND if system == "us" else 0.5
    return format_mass(ceil(mass_kg / step - 1e-9) * step, system=system)


def _reach(one: StandBalance, system: UnitSystem) -> list[Finding]:
    """Return what a described stand or boom cannot reach."""
    found = []
    if one.head_height_m > one.highest_m:
        height, highest = (
            format_length(size, system=system) for size in (one.head_height_m, one.highest_m)
        )
        found.append(
            Finding(
                code="stand-too-short",
                severity="caution",
                text=f"{one.name} hangs at {height}, its stand reaches {highest}.",
                what_to_do="Take a higher stand or bring the light down; never draw a column "
                f"past its mark. {STAND_DEFERS}",
                topic="safety",
            )
        )
    if one.kind == "boom" and one.arm_m > one.boom_out_m + ARM_SLACK_M > ARM_SLACK_M:
        arm, reach = (format_length(size, system=system) for size in (one.arm_m, one.boom_out_m))
        found.append(
            Finding(
                code="boom-too-short",
                severity="caution",
                text=f"{one.name} hangs {arm} from the column, its boom reaches {reach}.",
                what_to_do="Bring the stand nearer, or check base and boom_out of the stand. "
                f"{STAND_DEFERS}",
                topic="safety",
            )
        )
    return found


def _on_assumed_stands(stands: list[StandBalance], system: UnitSystem) -> list[Finding]:
    """Return one finding about lights that would be unsteady on any usual stand."""
    bad = sorted(
        (one for one in stands if one.weakest_deg < LEAST_ASSUMED_DEG),
        key=lambda one: one.weakest_deg,
    )
    if not bad:
        return []
    worst = bad[0]
    names = ", ".join(
        f"{one.name} at {one.weakest_deg:.0f}°"
        if one.weakest_deg > 0.0
        else f"{one.name} by itself"
        for one in bad
    )
    usual = format_mass(ASSUMED_STAND.weight_kg, system=system)
    radius = format_length(ASSUMED_STAND.leg_radius_m, system=system)
    severity: Severity = "caution" if worst.weakest_deg < BAD_ASSUMED_DEG else "note"
    return [
        Finding(
            code="stand-not-described",
            severity=severity,
            text=f"Stands are not described; on a usual one ({usual}, three legs {radius} out) "
            f"these tip easily: {names}.",
            what_to_do=f"For {worst.name}: {_lowered(_how_to_steady(worst, system))} Or describe "
            f"the stand. {STAND_DEFERS}",
            topic="safety",
        )
    ]


def _overhead(over: tuple[Overhead, ...], setup: Setup, *, shaky: set[str]) -> list[Finding]:
    """Return one finding for each light that hangs over somebody; trouble where it tips easily."""
    found = []
    for name in dict.fromkeys(one.light for one in over):
        own = [one for one in over if one.light == name]
        nearest = min(own, key=lambda one: one.aside_m)
        people = " and ".join(dict.fromkeys(one.person for one in own))
        part = name if nearest.what == "light" else f"The arm of {name}"
        height = format_length(nearest.height_m, system=setup.units)
        fixed = nearest.held_by == "fixed"
        found.append(
            Finding(
                code="over-person",
                severity="note" if fixed else "trouble" if name in shaky else "caution",
                text=f"{part} hangs over {people}, at {height}.",
                what_to_do=f"{_how_to_hang(nearest)} {LINE_DEFERS}",
                topic="safety",
                sitter=nearest.person if setup.companions and len(own) == 1 else "",
            )
        )
    return found


def _how_to_hang(one: Overhead) -> str:
    line = "a safety line through head and modifier"
    if one.held_by == "fixed":
        return f"Check the clamp, and put {line}."
    if one.held_by == "unknown":
        return f"Describe the boom or stand that holds it, put {line}, and ballast the stand."
    return (
        f"Before anybody sits down put {line}, point the lead leg under the load, turn the "
        "knuckle so that the load tightens it, and ballast the stand. Some crews point the leg "
        "the other way: the stand's own marking decides."
    )
