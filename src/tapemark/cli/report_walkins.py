"""The text of `tapemark walkins`."""

from collections.abc import Iterator
from itertools import groupby

from tapemark.analysis.glare import CLEAR_LENS_COVER
from tapemark.cli.lines import folded, wrapped
from tapemark.planning import Group, Share, WalkInMove, WalkInShare
from tapemark.planning.walk_ins.share import SHOWN
from tapemark.units import UnitSystem, format_length

RARE = 0.005  # what shows on fewer wearers is not listed
MOST = 0.5
_BAR = 20  # characters of a bar


def walk_ins_text(found: WalkInShare, *, system: UnitSystem) -> str:
    """Return a walk-in share for reading."""
    return "\n".join(_lines(found, system))


def _lines(found: WalkInShare, system: UnitSystem) -> Iterator[str]:
    yield found.setup_title or "Untitled setup"
    who = f"{found.count:,} wearers drawn from: {found.population_title} (seed {found.seed})"
    yield from wrapped("  walk-ins", who)
    if not found.count:
        return
    yield ""
    yield from _shares(found)
    yield ""
    yield from folded(_in_words(found), indent=2)
    yield from _sources(found)
    yield from _groups(found)
    yield from _moves(found)
    yield ""
    low, high = (format_length(one, system=system) for one in (found.eyes_low_m, found.eyes_high_m))
    yield f"  Taken as given (eyes of 9 in 10 at {low} to {high})"
    for text in found.assumptions:
        yield from folded(text, indent=4)


def _shares(found: WalkInShare) -> Iterator[str]:
    sure = f"{100 * found.confidence:.0f} % sure"
    rows = (
        ("CLEAR", found.clear, "nothing that matters on either lens"),
        ("CLEAR OR EDGE", found.clear_or_edge, "nothing over an eye"),
        ("EYES ALIVE", found.live, "a catchlight in both eyes"),
        ("READY", found.ready, "clear, and a catchlight in both eyes"),
    )
    for name, share, text in rows:
        yield f"  {name:<14}{_range(share)}   {text}"
    yield f"  {'':<14}({sure}: {found.method}, for the play of chance)"


def _range(share: Share) -> str:
    return f"{100 * share.share:5.1f} %  ({100 * share.low:4.1f} to {100 * share.high:5.1f} %)"


def _in_words(found: WalkInShare) -> str:
    """Return what a photographer with a queue wants to know."""
    shares = (found.ready, found.clear, found.clear_or_edge)
    ready, clear, free = (round(100 * one.share) for one in shares)
    lifeless, beside, veiled = clear - ready, free - clear, 100 - free
    parts = [f"Of 100 strangers with glasses about {ready} can sit down and be photographed as is"]
    if lifeless:
        parts.append(f"{lifeless} are clear but have no catchlight in both eyes")
    if beside:
        parts.append(f"{beside} would show a reflection beside the eye")
    if veiled:
        parts.append(f"{veiled} one over an eye")
    # those without glasses are taken to have catchlights as often as those with
    bare = (1.0 - found.wearing) * found.live.share
    everybody = 100 * (bare + found.wearing * found.ready.share)
    return (
        ", ".join(parts)
        + f". Counting those who wear none, about {everybody:.0f} of 100 people are fine."
    )


def _sources(found: WalkInShare) -> Iterator[str]:
    shown = [one for one in found.sources if max(one.on_lens, one.over_eye) >= RARE]
    if not shown:
        return
    yield ""
    yield f"  {'What shows a trace':<32}{'over an eye':>12}{'on a lens':>12}"
    for one in shown:
        yield f"    {one.name:<30.30}{100 * one.over_eye:10.0f} %{100 * one.on_lens:10.0f} %"
    trace, matters = (f"{100 * one:.1f}".removesuffix(".0") for one in (SHOWN, CLEAR_LENS_COVER))
    text = (
        f"A trace: {trace} % of an eye or of a lens, on this share of the wearers. Over an eye "
        f"that matters at once; beside it a lens is clear until {matters} % of it shows light."
    )
    yield from folded(text, indent=4)


def _groups(found: WalkInShare) -> Iterator[str]:
    if found.clear.hits == found.count:
        return
    yield ""
    yield f"  {'Who is clear':<48}{'of all':>6}   clear  (# clear, . beside the eye only)"
    for by, groups in groupby(found.groups, key=lambda one: one.by):
        yield f"    by {by}"
        for one in groups:
            yield f"      {one.name:<44}{100 * one.part:4.0f} %  {_bar(one)}"


def _bar(group: Group) -> str:
    """Return the share that is clear as a bar, what is clear of the eye added in dots."""
    clear = round(_BAR * group.clear.share)
    free = max(round(_BAR * group.clear_or_edge.share) - clear, 0)
    bar = "#" * clear + "." * free
    return f"{100 * group.clear.share:4.0f} %  {bar:<{_BAR}}|"


def _moves(found: WalkInShare) -> Iterator[str]:
    if found.clear.hits == found.count:
        return
    if found.moves:
        yield ""
        on = found.moves[0].clear_after.count
        yield f"  One change that would gain most (tried on {on} wearers)"
        for one in found.moves:
            yield from wrapped("    *     ", f"{one.text[:1].upper()}{one.text[1:]}.")
            yield from wrapped("          ", _gain_text(one))
    if all(one.clear_after.share < MOST for one in found.moves) and not found.interrupted:
        yield ""
        text = "No single change of this size makes it clear for most: plan the lights anew"
        yield from folded(f"{text} (tapemark plan), or see where they may stand.", indent=2)
    if found.set_stool is not None:
        yield ""
        yield from folded(_stool_text(found), indent=2)


def _gain_text(one: WalkInMove) -> str:
    parts = [f"clear {_signed(one.gain.gain)} to {100 * one.clear_after.share:.0f} %"]
    if abs(one.free_gain.gain) >= RARE:
        free = 100 * one.free_after.share
        parts.append(f"nothing over an eye {_signed(one.free_gain.gain)} to {free:.0f} %")
    if abs(one.power_change_stops) >= 0.05:
        parts.append(
            f"turn it {'up' if one.power_change_stops > 0 else 'down'} "
            f"{abs(one.power_change_stops):.1f} stop"
        )
    return "; ".join(parts) + "."


def _signed(gain: float) -> str:
    return f"{100 * gain:+.0f} %"


def _stool_text(found: WalkInShare) -> str:
    assert found.set_stool is not None
    after, now = found.set_stool, found.clear
    if after.low <= now.share <= after.high:
        return (
            f"Setting the stool for each sitter would change little: "
            f"{100 * after.share:.0f} % clear."
        )
    return (
        f"Setting the stool for each sitter, so that all eyes come to the planned height: "
        f"{100 * after.share:.0f} % clear."
    )
