"""What was measured of the app, as a section of docs/performance.md."""

from benchmarks.app_drag import AppTime, ScreenTime
from benchmarks.tables import filled, table, verdict

LEAST_PER_SECOND = 20.0

WORDS = """`tapemark open` and a real browser (Chromium) on the same two cores, the demo's first
setup: one sitter, two lights. A finger drags the key; an answer is a view with verdicts, readings
and the drawings that the screen shows. The phone is the same browser with its processor slowed to a
quarter. At least {least:g} updates a second are asked for."""

MEMORY = """{edits:,} edits saved and checked one after the other took {edit:.0f} ms each; the app
with all its processes held {start:.0f} MB after a warm-up, and {growth:+.0f} MB for each thousand
edits after that."""

NOTHING = "Not measured: there is no Chromium on this machine."


def app_section(app: AppTime | None) -> str:
    """Return the section, with its heading."""
    if app is None:
        return f"## The app\n\n{NOTHING}"
    head = (
        "screen",
        "first paint",
        "whole set",
        "finger to painted answer",
        "19 of 20",
        "updates a second",
        "processor time an answer",
        "",
    )
    memory = MEMORY.format(
        edits=app.edits, edit=app.edit_ms, start=app.start_mb, growth=app.growth_mb
    )
    return "\n\n".join(
        (
            "## The app",
            filled(WORDS.format(least=LEAST_PER_SECOND)),
            table(head, (_row(one) for one in app.screens)),
            filled(memory),
        )
    )


def _row(one: ScreenTime) -> tuple[str, ...]:
    return (
        one.screen,
        f"{one.first_paint_ms:.0f} ms",
        f"{one.ready_ms:.0f} ms",
        f"{one.latency_ms:.0f} ms",
        f"{one.slowest_ms:.0f} ms",
        f"{one.per_second:.1f}",
        f"{one.server_ms:.0f} ms",
        verdict(kept=one.per_second >= LEAST_PER_SECOND),
    )
