"""The section of docs/performance.md about pictures."""

from benchmarks.picture_time import CORES, DROPPED_AFTER_S, LIGHTS, SMALL, PictureTimes
from benchmarks.tables import filled, table, verdict

SECTION = """## Pictures

{words}

{rows}"""

WORDS = """`tapemark picture` of the demo's first try, 480 × 600 pixels as a preview, plain
variant of the path tracer on all cores; compiled modules and the mannequin's meshes in the cache.
Half of the processor time is what {cores} idle cores cannot go below. Likeness is against
{samples:,} paths a pixel with the finest mannequin, both {columns} × {lines}, as seen on a screen.
A final picture was dropped {times} after its start."""

FIRST_LOOK_S, PREVIEW_S, LEAST_DB, DROPPING_MS = 1.0, 3.0, 38.0, 300.0


def picture_section(found: PictureTimes) -> str:
    """Return the section as Markdown."""
    whole = found.whole
    times = ", ".join(f"{one:g} s" for one in DROPPED_AFTER_S)
    rows = [
        _row("first look, from pressing Enter", whole.first_look_s, FIRST_LOOK_S, "s"),
        _row("the preview, from pressing Enter", whole.done_s, PREVIEW_S, "s"),
        ("its processor time", f"{whole.processor_s:.2f} s", "", ""),
        ("the preview in a process that runs already", f"{found.warm_s:.2f} s", "", ""),
        (
            "likeness to the finished picture",
            f"{found.likeness_db:.1f} dB",
            f"at least {LEAST_DB:g} dB",
            verdict(kept=found.likeness_db >= LEAST_DB),
        ),
        _row("longest from being dropped to the end", found.dropping_ms, DROPPING_MS, "ms"),
        (f"{LIGHTS} lights turned up or down", f"{found.turn_ms:.1f} ms", "", ""),
        ("most memory of the process", f"{found.peak_mb:.0f} MB", "", ""),
    ]
    words = WORDS.format(
        cores="two" if CORES == 2 else CORES,
        samples=found.finished_samples,
        columns=SMALL[0],
        lines=SMALL[1],
        times=times,
    )
    return SECTION.format(words=filled(words), rows=table(("what", "measured", "asked", ""), rows))


def _row(what: str, value: float, most: float, unit: str) -> tuple[str, str, str, str]:
    digits = 0 if unit == "ms" else 2
    return what, f"{value:.{digits}f} {unit}", f"{most:g} {unit}", verdict(kept=value <= most)
