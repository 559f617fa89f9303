"""The section on decisions of docs/performance.md."""

from benchmarks.counting import Machine
from benchmarks.deciding import Deciding, Decision, Kernel, OneByOne, OrderGap
from benchmarks.tables import filled, table, verdict

SECTION = """## Decisions

{words}

{decisions}

{one_by_one}

{gap}

### Where the time goes

Shares of the processor's time in one further run each, with clocks around the stages.

{stages}

### How far from the limits of the machine

{limit_words}

{kernels}

{limit_notes}"""

WORDS = """Asked for again and again in one process, the first answer left out; the processor's time
is that of all threads together. Budgets are for two cores, and here both may be used; only the
walk-in share uses the second. Quality is fixed: numbers of places, wearers and trials are those
of the commands."""

ONE_BY_ONE = """The map has {places:,} places. Looked at one by one, a first quick look at the
lenses (the camera's rays traced once, 600 points a lens, followed to one place of the light after
the other) takes {quick:.2f} ms a place, which comes to {quick_all:.1f} s or **{quick_ratio:,.0f}
times** the map, without catchlights, shadows, patterns and limits; the lens part of a check takes
{check:.1f} ms a place, {check_all:,.0f} s or **{check_ratio:,.0f} times**. Every place of the map
with all that it tells costs {each:.1f} microseconds."""

GAP = """The order of the {count} sitters needs {found} min of re-rigging, in the order of their
list it would be {listed} min. Could everybody come at any time it would be {free} min, and no
order falls short of {least} min: {gap}. That floor knows nothing of appointments; how much of the
rest they cost it cannot tell."""

LIMIT_WORDS = """What numpy attains on one core of this machine, asked in the same run: sums of
arrays beyond all caches read and write {far:.1f} GB/s, those in the nearest cache {near:.0f} GB/s;
a product of matrices does {product:.0f} thousand million operations a second, single precision.
Against this stands the longest array work of each decision. Operations are those that numpy was
asked for, one for each number of each elementary function (a root or a sine counts as one),
and bytes what these read and write; both were counted while it ran. Limits: the same bytes at the
speed of memory and of the cache, the same operations at the speed of the product."""

LIMIT_NOTES = """An elementary function of numpy does one operation for each 8 to 12 bytes in single
precision, so that the cache and not the arithmetic is its limit: work that is faster than memory
allows gains from being done in pieces that fit the caches. What is left to the limit of the cache
goes into roots, divisions and picking out, and into some microseconds for each call of a
function, which weigh most where arrays are small, as in a first look. What is left to the limit of
arithmetic only a compiler could gain, which keeps numbers in registers from one operation to the
next. The run order has no such work: its time goes into looking at lenses, as in a check, and into
the routing library."""


def deciding_section(found: Deciding) -> str:
    """Return the section as Markdown."""
    return SECTION.format(
        words=filled(WORDS),
        decisions=table(
            ("decision", "time", "processor", "budget", ""),
            (_decision_row(one) for one in found.decisions),
        ),
        one_by_one=filled(_one_by_one(found.one_by_one, found.decisions[0])),
        gap=filled(_gap(found.gap)),
        stages=table(
            ("decision", "stages"),
            ((one.what, _stages(one)) for one in found.decisions),
        ),
        limit_words=filled(
            LIMIT_WORDS.format(
                far=found.machine.far_gb_s,
                near=found.machine.near_gb_s,
                product=found.machine.product_gflop_s,
            )
        ),
        kernels=table(
            (
                "work, of",
                "time",
                "operations",
                "bytes",
                "limit of memory",
                "of the cache",
                "of arithmetic",
            ),
            (_kernel_row(one, found.machine) for one in found.kernels),
        ),
        limit_notes=filled(LIMIT_NOTES),
    )


def _decision_row(one: Decision) -> tuple[str, ...]:
    times = one.what, _time(one.wall_s), _time(one.cpu_s)
    if one.budget_s is None:
        return (*times, "", "")
    return (*times, _time(one.budget_s), verdict(kept=one.wall_s <= one.budget_s))


def _one_by_one(one: OneByOne, whole: Decision) -> str:
    quick_all, check_all = (one.places * each for each in (one.quick_s, one.check_s))
    return ONE_BY_ONE.format(
        places=one.places,
        quick=1e3 * one.quick_s,
        quick_all=quick_all,
        quick_ratio=quick_all / whole.cpu_s,
        check=1e3 * one.check_s,
        check_all=check_all,
        check_ratio=check_all / whole.cpu_s,
        each=1e6 * whole.cpu_s / one.places,
    )


def _gap(gap: OrderGap) -> str:
    over = gap.any_time_s / gap.least_s - 1.0
    return GAP.format(
        count=gap.sitters,
        found=_minutes(gap.found_s),
        listed=_minutes(gap.listed_s),
        free=_minutes(gap.any_time_s),
        least=_minutes(gap.least_s),
        gap="proven the best there is" if over <= 0 else f"at most {over:.1%} above the best",
    )


def _minutes(seconds: int) -> str:
    return f"{seconds / 60:.1f}"


def _stages(one: Decision) -> str:
    shown = [f"{words} {100 * share:.0f} %" for words, share in one.stages if share >= 0.01]
    return ", ".join(shown)


def _kernel_row(one: Kernel, machine: Machine) -> tuple[str, ...]:
    limits = (
        one.bytes / (1e9 * machine.far_gb_s),
        one.bytes / (1e9 * machine.near_gb_s),
        one.operations / (1e9 * machine.product_gflop_s),
    )
    return (
        f"{one.what}, {one.decision}",
        _time(one.time_s),
        f"{one.operations / 1e6:.1f} million",
        f"{one.bytes / 1e6:.1f} MB",
        *(f"{_time(limit)}, we take {_times(one.time_s / limit)}" for limit in limits),
    )


def _times(ratio: float) -> str:
    return f"{ratio:.1f} times" if ratio < 10 else f"{ratio:.0f} times"


def _time(seconds: float) -> str:
    if seconds >= 1.0:
        return f"{seconds:.2f} s".replace(".00 s", " s")
    return f"{1e3 * seconds:.3g} ms"
