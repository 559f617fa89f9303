"""No setup meets a brief: which smallest set of wishes has to be given up, and for what?

Sets of one wish are tried before sets of two, and so on.  A set does where a setup is known, or
is found by a shorter search without these wishes, that fails in nothing else.  Where no set of
three does, all wishes are left out, and those that can be met after all are taken back one by one.
Where no wish is to blame, what is given is changed in its place: a higher ceiling, a seated sitter,
stronger heads.
"""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace

from tapemark.photometry import nominal_aperture
from tapemark.planning.judge import judge
from tapemark.planning.plans.search import Option, PlanSearch, Stopped, find_options
from tapemark.planning.plans.wishes import Lack, stops_over_wish, unmet
from tapemark.studio import Brief, changed
from tapemark.units import format_length

LARGEST_SET = 3
#: What a shorter search may cost, and all of them with the first one, in first looks.
EACH, MOST = 900.0, 6500.0
ALL_MOST = 3000.0  # for taking back wishes one by one
EFFORT = 0.35  # of a whole search, for each wish that is left out
HIGHER_M, FARTHER_M, STRONGER = (0.5, 1.0, 1.5), 1.0, 4.0
_LOOSE: dict[str, object] = {
    "mood": "any",
    "pattern": "any",
    "face": "any",
    "background": "any",
}
#: In which order wishes are taken back where many have to go: first what makes the picture.
_TAKEN_BACK = ("framing", "background", "mood", "pattern", "face", "time", "aperture")
_WIDER = 2.8  # by which an aperture is divided that is given up: three stops
_WIDEST = 1.4


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
        return tuple(_of_many(search, known) or _given(search))
    except Stopped:
        search.interrupted = True
        return ()


def _of_size(search: PlanSearch, known: list[Option], *, size: int) -> list[Relaxation]:
    """Return the sets of one size that do, from what is known and by searching on."""
    brief = search.brief
    sets = list(itertools.combinations(brief.wishes, size))
    found = {one: _best(known, one, brief) for one in sets}
    if not any(found.values()) and not _far_off(known, size=size):
        for one in sets:
            known_or_not = found[one] is not None or not _can_search(one, size=size)
            if known_or_not or search.spent > MOST:
                continue
            search.tell(f"Giving up {' and '.join(one)}")
            known += _without(search, one)
            found = {each: found[each] or _best(known, each, brief) for each in sets}
    costs = {one: option.cost for one, option in found.items() if option is not None}
    first = min(costs, key=lambda one: costs[one], default=None)
    if first is not None and _can_search(first, size=size) and search.spent < MOST:
        known += _without(search, first)
        found[first] = _best(known, first, brief)
    kept = [(one, option) for one, option in found.items() if option is not None]
    kept.sort(key=lambda pair: pair[1].cost)
    return [_relaxation(search, one, option) for one, option in kept]


def _far_off(known: list[Option], *, size: int) -> bool:
    """Return whether all that is known fails in so much that trying every pair is of no use."""
    fewest = min((len(one.lacks) for one in known), default=0)
    return size > 1 and fewest > size


def _of_many(search: PlanSearch, known: list[Option]) -> list[Relaxation]:
    """Return a set with no wish too many, from all of them; none where even that is not enough."""
    brief, wishes = search.brief, search.brief.wishes
    search.tell("Giving up all wishes")
    known += _without(search, wishes, fully=True)
    fewest = _fewest(known, wishes, brief)
    if fewest is None:
        return []
    end = search.spent + ALL_MOST
    given_up = _names(fewest)
    for wish in _TAKEN_BACK:
        if wish not in given_up:
            continue
        fewer = tuple(one for one in given_up if one != wish)
        found = _fewest(known, fewer, brief)
        if found is None and fewer and search.spent < end:
            search.tell(f"Taking back {wish}")
            known += _without(search, fewer, fully=True)
            found = _fewest(known, fewer, brief)
        if found is not None:
            fewest, given_up = found, _names(found)
    return [_relaxation(search, given_up, fewest)]


def _names(option: Option) -> tuple[str, ...]:
    """Return the wishes that an option does not meet."""
    return tuple(lack.wish for lack in option.lacks)


def _fewest(known: list[Option], wishes: tuple[str, ...], brief: Brief) -> Option | None:
    """Return the option that works and fails in the fewest wishes, all of them among these."""
    fitting = [one for one in known if one.works and one.lacks and set(_names(one)) <= set(wishes)]
    return min(fitting, key=lambda one: (len(one.lacks), _loss(one, brief), one.cost), default=None)


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


def _best(known: list[Option], wishes: tuple[str, ...], brief: Brief) -> Option | None:
    """Return the best option that fails in these wishes only, and in all of them."""
    fitting = [
        one
        for one in known
        if one.works and one.lacks and {lack.wish for lack in one.lacks} == set(wishes)
    ]
    return min(fitting, key=lambda one: (_loss(one, brief), one.cost), default=None)


def _loss(one: Option, brief: Brief) -> float:
    """Return how far the reading is off, so that the nearest aperture is offered."""
    over = stops_over_wish(one.judged, brief)
    return 0.0 if over is None else round(abs(over), 1)


def _without(search: PlanSearch, wishes: tuple[str, ...], *, fully: bool = False) -> list[Option]:
    """Return what a shorter search finds without some wishes, told by all wishes.

    A wish for time or depth is kept unless it is to be left out `fully`: what misses it is known.
    """
    brief = search.brief
    loose = changed(brief, {one: _LOOSE[one] for one in wishes if one in _LOOSE})
    if fully:
        loose = _looser(loose, wishes)
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


def _looser(brief: Brief, wishes: tuple[str, ...]) -> Brief:
    """Return a brief without the wishes that a setup can miss but not do without."""
    values: dict[str, object] = {"time_s": None} if "time" in wishes else {}
    if "aperture" in wishes:
        wide = max(brief.aperture / _WIDER, _WIDEST)
        values["aperture"] = min(float(nominal_aperture(wide)), brief.aperture)
    return changed(brief, values) if values else brief


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
