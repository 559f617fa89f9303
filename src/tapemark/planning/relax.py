"""No setup meets a brief: which smallest set of wishes has to be given up, and for what?

Sets of one wish are tried before sets of two, and so on.  A set does where a setup is known, or
is found by a shorter search without these wishes, that fails in nothing else.  Where no wish is to
blame, what is given is changed in its place: a higher ceiling, a seated sitter, stronger heads.
"""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace

from tapemark.photometry import nominal_aperture
from tapemark.planning.judge import judge
from tapemark.planning.plan import Option, PlanSearch, Stopped, find_options
from tapemark.planning.plan_wishes import Lack, unmet
from tapemark.studio import Brief, changed
from tapemark.units import format_length

LARGEST_SET = 3
#: What a shorter search may cost, and all of them with the first one, in first looks.
EACH, MOST = 900.0, 6500.0
EFFORT = 0.35  # of a whole search, for each wish that is left out
HIGHER_M, FARTHER_M, STRONGER = (0.5, 1.0, 1.5), 1.0, 4.0
_LOOSE: dict[str, object] = {
    "mood": "any",
    "pattern": "any",
    "face": "any",
    "background": "any",
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Relaxation:
    """What to give up, and what one gets.

    Attributes
    ----------
    wishes : tuple of str
        Keys of the wishes given up; empty where something given has to change.
    given : str
        What has to change in its place, in words; empty for wishes.
    instead : tuple of Lack
        What each wish becomes.
    option : Option
        A setup that meets all other wishes.
    """

    wishes: tuple[str, ...]
    given: str
    instead: tuple[Lack, ...]
    option: Option


def relaxations(search: PlanSearch) -> tuple[Relaxation, ...]:
    """Return the smallest sets of wishes to give up, the cheapest first.

    Parameters
    ----------
    search : PlanSearch
        What was found with all wishes; nothing good.
    """
    known = list(search.options)
    wishes = search.brief.wishes
    try:
        for size in range(1, min(LARGEST_SET, len(wishes)) + 1):
            found = _of_size(search, known, size=size)
            if found:
                return tuple(found)
        return tuple(_given(search))
    except Stopped:
        search.interrupted = True
        return ()


def _of_size(search: PlanSearch, known: list[Option], *, size: int) -> list[Relaxation]:
    """Return the sets of one size that do, from what is known and by searching on."""
    sets = list(itertools.combinations(search.brief.wishes, size))
    found = {one: _best(known, one) for one in sets}
    if not any(found.values()):
        for one in sets:
            known_or_not = found[one] is not None or not _can_search(one, size=size)
            if known_or_not or search.spent > MOST:
                continue
            search.tell(f"Giving up {' and '.join(one)}")
            known += _without(search, one)
            found = {each: found[each] or _best(known, each) for each in sets}
    costs = {one: option.cost for one, option in found.items() if option is not None}
    first = min(costs, key=lambda one: costs[one], default=None)
    if first is not None and _can_search(first, size=size) and search.spent < MOST:
        known += _without(search, first)
        found[first] = _best(known, first)
    kept = [(one, option) for one, option in found.items() if option is not None]
    kept.sort(key=lambda pair: pair[1].cost)
    return [_relaxation(search, one, option) for one, option in kept]


def _relaxation(search: PlanSearch, wishes: tuple[str, ...], option: Option) -> Relaxation:
    """Return what giving up some wishes leads to, the camera set to what the lights give."""
    reading = option.judged.people[0].exposure.aperture
    if "aperture" in wishes and reading is not None and 0.7 <= reading <= 128.0:
        camera = option.setup.camera
        wider = changed(camera, {"aperture": float(nominal_aperture(reading))})
        judged = judge(changed(option.setup, {"camera": wider}), like=option.judged)
        option = replace(option, judged=judged)
    return Relaxation(wishes=wishes, given="", instead=option.lacks, option=option)


def _can_search(wishes: tuple[str, ...], *, size: int) -> bool:
    """Return whether a search without these wishes can find what one with them did not."""
    return size <= 2 and any(one in _LOOSE for one in wishes)


def _best(known: list[Option], wishes: tuple[str, ...]) -> Option | None:
    """Return the best option that fails in these wishes only, and in all of them."""
    fitting = [
        one
        for one in known
        if one.works and one.lacks and {lack.wish for lack in one.lacks} == set(wishes)
    ]
    return min(fitting, key=lambda one: (_loss(one), one.cost), default=None)


def _loss(one: Option) -> float:
    """Return how far the reading is off, so that the nearest aperture is offered."""
    over = one.judged.people[0].exposure.stops_over
    return 0.0 if over is None else round(abs(over), 1)


def _without(search: PlanSearch, wishes: tuple[str, ...]) -> list[Option]:
    """Return what a shorter search finds without some wishes, told by all wishes."""
    brief = search.brief
    loose = changed(brief, {one: _LOOSE[one] for one in wishes if one in _LOOSE})
    other = find_options(
        loose,
        seed=search.seed,
        count=1,
        effort=EFFORT,
        watch=search.watch,
        budget=EACH,
    )
    search.scorer.spent += other.spent
    search.heed()
    return [again(one, brief) for one in other.options]


def again(one: Option, brief: Brief) -> Option:
    """Return an option with its lacks told by another brief."""
    return replace(one, lacks=unmet(one.judged, brief=brief, minutes=one.minutes))


def _given(search: PlanSearch) -> Iterator[Relaxation]:
    """Yield what would have to be different about room, sitter or gear."""
    higher = False  # the lowest ceiling that does is enough
    for words, brief in _other_givens(search.brief):
        search.tell(f"Trying {words}")
        if search.spent > MOST:
            return
        found = find_options(
            brief, seed=search.seed, count=1, effort=EFFORT, watch=search.watch, budget=EACH
        )
        search.scorer.spent += found.spent
        good = [one for one in found.options if one.good]
        if good and not (words.startswith("a ceiling") and higher):
            higher = higher or words.startswith("a ceiling")
            best = min(good, key=lambda one: one.cost)
            yield Relaxation(wishes=(), given=words, instead=(), option=best)
        search.heed()


def _other_givens(brief: Brief) -> Iterator[tuple[str, Brief]]:
    """Yield briefs with one given thing changed, and the change in words."""
    room, system = brief.room, brief.units
    for more_m in HIGHER_M:
        higher = changed(room, {"height_m": min(room.height_m + more_m, 12.0)})
        words = f"a ceiling at {format_length(higher.height_m, system=system)}"
        yield words, changed(brief, {"room": higher})
    if brief.sitter.posture == "standing" and not brief.companions:
        seated = {"posture": "seated", "eye_height_m": 1.2}
        yield "the sitter seated", changed(brief, {"sitter": changed(brief.sitter, seated)})
    heads = tuple(
        changed(one, {"head": changed(one.head, {"energy_j": STRONGER * one.head.energy_j})})
        for one in brief.heads
        if one.head.energy_j is not None and STRONGER * one.head.energy_j <= 10_000.0
    )
    if len(heads) == len(brief.heads):
        yield "heads of four times the energy", changed(brief, {"heads": heads})
    longer = changed(
        room,
        {
            "length_m": room.length_m + FARTHER_M,
            "behind_sitter_m": room.behind_sitter_m + FARTHER_M,
        },
    )
    yield (
        f"{format_length(longer.behind_sitter_m, system=system)} behind the sitter",
        changed(brief, {"room": longer}),
    )
