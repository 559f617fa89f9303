"""What does a move do to the picture besides the lenses, and what does that cost?

Costs are points of our own, to put moves in order: a point is about what an assistant does in
half a minute, or a change that one sees when looking for it (common practice, no published
source).
"""

from dataclasses import dataclass
from math import atan2, degrees, hypot
from typing import Literal

from tapemark.analysis import Catchlight, LensGlare, clock_text
from tapemark.analysis.finding import percent
from tapemark.anatomy import SIDES, Side
from tapemark.planning.judge import Judged, JudgedPerson
from tapemark.planning.moves.words import whose

Keep = Literal["pattern", "catchlight", "ratio", "background"]
KEEPS: tuple[Keep, ...] = ("pattern", "catchlight", "ratio", "background")

#: Within these a thing counts as kept. [stops], [h]
KEPT_STOPS, KEPT_HOURS = 0.34, 1.0
#: Smaller changes are not told. [stops], [h], [deg]
TOLD_STOPS, TOLD_HOURS, TOLD_DEG = 0.1, 0.5, 2.0
#: What a move may never bring, whatever the user keeps.
NEVER = ("stand-too-short", "boom-too-short", "over-person")
UNLIT_STOPS = 10.0  # between the darkest and the brightest part: the darkest has no light
_LENS_CODES = ("lens-veiled", "lens-edge")
_TOLD_ELSEWHERE = ("verdict-may-flip", "exposure-off")
_PLAIN_PATTERNS, _HARSH_PATTERNS = ("none", "flat"), ("split", "rim")
_PATTERN_POINTS, _SIDE_POINTS, _HOUR_POINTS, _LOST_POINTS = 2.0, 1.0, 0.3, 0.5
_CLOSE_POINTS, _MOST_UNEVEN_POINTS = 0.5, 2.0
_NAMED_CAUSES = 2  # of a close call
_MAIN_LOST_POINTS = 1.5  # of the largest catchlight in an eye
_STOP_POINTS, _CAUTION_POINTS, VIEW_POINTS_PER_DEG = 1.5, 1.0, 0.12


@dataclass(frozen=True, kw_only=True, slots=True)
class SideEffects:
    """What a change does besides clearing lenses.

    Attributes
    ----------
    texts : tuple of str
        What changes, in words; empty where nothing is worth saying.
    losses : tuple of str
        What it breaks: kept things, or something that fails the frame; empty for a clean one.
    points : float
        What it costs the picture.
    """

    texts: tuple[str, ...]
    losses: tuple[str, ...]
    points: float


def side_effects(before: Judged, after: Judged, *, keep: frozenset[Keep]) -> SideEffects:
    """Return what a change does besides clearing lenses.

    Parameters
    ----------
    before, after : Judged
        The setup without and with it; the same people in the same order.
    keep : frozenset of str
        Of ``pattern``, ``catchlight``, ``ratio`` and ``background``: what must stay.
    """
    parts = [
        part
        for old, new in zip(before.people, after.people, strict=True)
        for part in (
            _pattern(old, new),
            _catchlights(old, new),
            _ratio(old, new),
            _exposure(old, new),
            _view(old, new),
        )
    ]
    parts += [_background(before, after), _findings(before, after)]
    losses = [*_broken(before, after)]
    losses += [
        text
        for part in parts
        if part.kept is not None and part.kept in keep
        for text in part.breaks
    ]
    told = dict.fromkeys(text for part in parts for text in part.texts)
    return SideEffects(
        texts=tuple(text for text in told if text not in losses),
        losses=tuple(dict.fromkeys(losses)),
        points=sum(part.points for part in parts),
    )


def close_calls(after: Judged) -> tuple[tuple[str, ...], float]:
    """Return whose clear lenses hang on what was not stated, in words, and what that costs.

    Parameters
    ----------
    after : Judged
        A setup after a move, with what its lenses would show at the ends of what is guessed.
    """
    parts = [_close_call(one) for one in after.people]
    return tuple(text for part in parts for text in part.texts), sum(one.points for one in parts)


@dataclass(frozen=True, kw_only=True, slots=True)
class _Part:
    """One kind of effect: what is told, what it costs, and what of a kept thing it breaks."""

    texts: tuple[str, ...] = ()
    points: float = 0.0
    kept: Keep | None = None
    breaks: tuple[str, ...] = ()


def _of(person: JudgedPerson) -> str:
    """Return whom an effect is about, where there are several people."""
    setup = person.scene.setup
    return f" of {whose(setup, person.scene.sitter)}" if len(setup.people) > 1 else ""


def _for(person: JudgedPerson) -> str:
    return _of(person).replace(" of ", " for ", 1)


def _pattern(old: JudgedPerson, new: JudgedPerson) -> _Part:
    was, now = old.modelling, new.modelling
    texts, breaks, points = [], [], 0.0
    if was.pattern != now.pattern:
        names = [("no pattern" if one == "none" else one) for one in (was.pattern, now.pattern)]
        texts.append(f"pattern{_of(new)}: {names[0]} becomes {names[1]}")
        breaks.append(f"the pattern{_of(new)} would be {names[1]} instead of {names[0]}")
        if was.pattern not in _PLAIN_PATTERNS or now.pattern in _HARSH_PATTERNS:
            points += _PATTERN_POINTS
    if was.key != now.key or was.key_side != now.key_side:
        breaks.append(f"the key{_of(new)} would change its side or be another light")
        points += _SIDE_POINTS
    if was.face_side != now.face_side and "neither" not in (was.face_side, now.face_side):
        texts.append(f"{was.face_side} lighting{_of(new)} becomes {now.face_side}")
        breaks.append(f"{was.face_side} lighting{_of(new)} would become {now.face_side}")
        points += _SIDE_POINTS
    named = was.pattern not in _PLAIN_PATTERNS
    return _Part(
        texts=tuple(texts), points=points, kept="pattern", breaks=tuple(breaks) if named else ()
    )


def _catchlights(old: JudgedPerson, new: JudgedPerson) -> _Part:
    """Return which catchlights go or wander, told once where both eyes agree."""
    told: dict[str, list[Side]] = {}
    broken: dict[str, list[Side]] = {}
    points = 0.0
    for side in SIDES:
        was, now = old.seen_catchlights(side), new.seen_catchlights(side)
        for index, one in enumerate(was):
            same = next((other for other in now if other.source == one.source), None)
            hours = 0.0 if same is None else clock_hours(one, same)
            if same is None:
                told.setdefault(f"no catchlight of {one.source} any more", []).append(side)
                points += _LOST_POINTS if index else _MAIN_LOST_POINTS
            elif hours >= TOLD_HOURS:
                told.setdefault(_clock_text(one, same), []).append(side)
            points += _HOUR_POINTS * hours / (1 + index)
        if was and not _catchlight_kept(was[0], now):
            text = f"the catchlight of {was[0].source} would go or wander by more than an hour"
            broken.setdefault(text, []).append(side)
    return _Part(
        texts=tuple(_with_eyes(text, sides, new) for text, sides in told.items()),
        points=points,
        kept="catchlight",
        breaks=tuple(_with_eyes(text, sides, new) for text, sides in broken.items()),
    )


def _with_eyes(text: str, sides: list[Side], person: JudgedPerson) -> str:
    where = "in both eyes" if len(sides) == 2 else f"in the {sides[0]} eye"
    return f"{text}, {where}{_of(person)}"


def _clock_text(was: Catchlight, now: Catchlight) -> str:
    return f"catchlight of {was.source} from {clock_text(was.clock)} to {clock_text(now.clock)}"


def clock_hours(one: Catchlight, other: Catchlight) -> float:
    """Return how far a catchlight wandered around the iris [h]; little where it is central."""
    apart = abs(one.clock - other.clock) % 12.0
    central = min(hypot(*one.offset_mm), hypot(*other.offset_mm)) < 0.4
    return 0.0 if central else min(apart, 12.0 - apart)


def _catchlight_kept(main: Catchlight, now: tuple[Catchlight, ...]) -> bool:
    same = next((other for other in now if other.source == main.source), None)
    return same is not None and clock_hours(main, same) <= KEPT_HOURS


def _ratio(old: JudgedPerson, new: JudgedPerson) -> _Part:
    was, now = old.modelling.ratio, new.modelling.ratio
    if was is None or now is None:
        if was is now:
            return _Part()
        what = "there is no fill any more" if now is None else "what was unfilled is filled"
        return _Part(texts=(what,), points=2.0, kept="ratio", breaks=(what,))
    change = now.key_over_fill_stops - was.key_over_fill_stops
    if abs(change) < TOLD_STOPS:
        return _Part()
    text = (
        f"ratio{_of(new)} {was.highlight_to_shadow:.1f}:1 becomes "
        f"{now.highlight_to_shadow:.1f}:1 as (key + fill) : fill"
    )
    breaks = (text,) if abs(change) > KEPT_STOPS else ()
    same = round(was.highlight_to_shadow, 1) == round(now.highlight_to_shadow, 1)
    return _Part(
        texts=() if same else (text,),
        points=_STOP_POINTS * abs(change),
        kept="ratio",
        breaks=breaks,
    )


def _exposure(old: JudgedPerson, new: JudgedPerson) -> _Part:
    was, now = old.exposure.stops_over, new.exposure.stops_over
    if was is None or now is None or abs(now - was) < TOLD_STOPS:
        return _Part()
    change = now - was
    return _Part(
        texts=(
            f"{abs(change):.1f} stops {'more' if change > 0 else 'less'} light at the face"
            f"{_of(new)}: meter again",
        ),
        points=_STOP_POINTS * abs(change),
    )


def _view(old: JudgedPerson, new: JudgedPerson) -> _Part:
    """Return from where the camera sees a face, and how it turns from the lens."""
    (turn, tilt), (turned, tilted) = _seen_from(old), _seen_from(new)
    texts, across, up = [], abs(turned) - abs(turn), tilted - tilt
    if abs(turned - turn) >= TOLD_DEG:
        where = "straight at" if abs(turned) < 1.0 else f"{abs(turned):.0f}\N{DEGREE SIGN} past"
        texts.append(f"the nose{_of(new)} points {where} the lens")
    if abs(up) >= TOLD_DEG:
        way = "above" if up > 0 else "below"
        size = f"{abs(up):.0f}\N{DEGREE SIGN}"
        texts.append(f"the face{_of(new)} is seen from {size} farther {way}")
    if old.scene.sitter.gaze != new.scene.sitter.gaze:
        texts.append(f"the eyes{_of(new)} look past the camera")
    points = VIEW_POINTS_PER_DEG * (abs(across) + abs(turned - turn) + 2.0 * abs(up))
    far, farther = (one.scene.setup.camera.place.distance_m for one in (old, new))
    if abs(farther / far - 1.0) > 0.05:
        texts.append("the perspective is flatter" if farther > far else "the face is drawn nearer")
    return _Part(texts=tuple(texts), points=points)


def _seen_from(person: JudgedPerson) -> tuple[float, float]:
    """Return how far nose and lens are apart across, and the camera over the face [deg]."""
    scene = person.scene
    x, y, z = scene.camera - scene.pose.origin
    nose = scene.pose.axes[:, 1]
    across = degrees(atan2(nose[0], nose[1]) - atan2(x, y))
    return (across + 180.0) % 360.0 - 180.0, degrees(atan2(z, hypot(x, y)))


def _background(before: Judged, after: Judged) -> _Part:
    was, now = before.background, after.background
    if was is None or now is None:
        gone = was is not None
        what = ("the background is out of the frame",) if gone else ()
        return _Part(texts=what, points=2.0 * gone, kept="background", breaks=what)
    stops = [one.mean.stops_over_key for one in (was, now)]
    texts, breaks, points = [], [], 0.0
    if stops[0] is not None and stops[1] is not None:
        change = stops[1] - stops[0]
        if abs(change) >= TOLD_STOPS:
            way = "brighter" if change > 0 else "darker"
            texts.append(f"background {abs(change):.1f} stops {way} against the face")
            points += abs(change)
        if abs(change) > KEPT_STOPS:
            breaks.append(texts[-1])
    uneven = now.evenness_stops - was.evenness_stops
    if uneven > KEPT_STOPS:
        dark = now.evenness_stops > UNLIT_STOPS
        texts.append(
            "part of the background gets no light"
            if dark
            else f"background less even by {uneven:.1f} stops"
        )
        breaks.append(texts[-1])
        points += min(uneven, _MOST_UNEVEN_POINTS)
    new = {
        code for code, _ in after.codes("trouble", "caution") - before.codes("trouble", "caution")
    }
    breaks += [f"new finding: {code}" for code in sorted(new) if code.startswith("background")]
    return _Part(texts=tuple(texts), points=points, kept="background", breaks=tuple(breaks))


def _findings(before: Judged, after: Judged) -> _Part:
    """Return what a check would newly caution about, and what it no longer would."""
    old, new = (one.codes("trouble", "caution") for one in (before, after))
    texts = [
        f"new: {one.text}"
        for one in after.findings
        if one.severity == "caution"
        and (one.code, one.sitter) not in old
        and one.code not in (*_LENS_CODES, *_TOLD_ELSEWHERE)
    ]
    gone = [
        one
        for one in before.findings
        if one.severity == "caution"
        and (one.code, one.sitter) not in new
        and one.code not in (*_LENS_CODES, "verdict-may-flip")
    ]
    return _Part(texts=tuple(texts), points=_CAUTION_POINTS * (len(texts) - 0.3 * len(gone)))


def _close_call(person: JudgedPerson) -> _Part:
    """Return what of the glasses, not stated, would undo the move."""
    clear = {lens.side for lens in person.lenses if lens.verdict == "clear"}
    undone = [
        (one.what, one.verdicts[side])
        for one in person.outcomes
        for side in clear
        if one.verdicts[side] != "clear"
    ]
    if not undone:
        return _Part()
    worst = "veiled" if any(verdict == "veiled" for _, verdict in undone) else "edge"
    named = list(dict.fromkeys(what for what, _ in undone))
    more = [] if len(named) <= _NAMED_CAUSES else [f"{len(named) - _NAMED_CAUSES} more"]
    causes = " or ".join([*named[:_NAMED_CAUSES], *more])
    return _Part(
        texts=(
            f"a close call{_for(person)}: {worst} with {causes}, not stated for the glasses; go "
            "a little farther",
        ),
        points=_CLOSE_POINTS,
    )


def _broken(before: Judged, after: Judged) -> list[str]:
    """Return what would newly fail the frame, lenses included."""
    old = before.troubles | {(one.code, one.sitter) for one in before.findings if one.code in NEVER}
    found = [
        one.text.rstrip(".")
        for one in after.findings
        if (one.severity == "trouble" or one.code in NEVER)
        and (one.code, one.sitter) not in old
        and one.code not in _LENS_CODES
    ]
    for was, now in zip(before.people, after.people, strict=True):
        found += [
            f"the {lens.side} lens{_of(now)} is still {lens.verdict}: {_shown(old, lens)}"
            for old, lens in zip(was.lenses, now.lenses, strict=True)
            if lens.verdict != "clear"
        ]
    return found


def _shown(old: LensGlare, new: LensGlare) -> str:
    """Return how much of the eye, or else of the lens, is covered, and was before."""
    if new.verdict == "veiled":
        return f"{percent(new.veil)} of the eye veiled, before {percent(old.veil)}"
    return f"{percent(new.lens_cover)} of the lens covered, before {percent(old.lens_cover)}"
