"""For which share of the strangers who wear glasses is a setup clear, as it stands?

Wearers are drawn from a described population, sat down on the mark and looked at.  Nothing is
touched for them: lights and camera stay and keep pointing where the setup points them.
"""

from dataclasses import dataclass, replace

import numpy as np

from tapemark.analysis import emitters
from tapemark.geometry import FloatArray
from tapemark.planning.walk_ins.gaining_moves import WalkInMove, best_walk_in_moves
from tapemark.planning.walk_ins.groups import Group, groups_of
from tapemark.planning.walk_ins.interval import CONFIDENCE, Share, share_of_mask
from tapemark.planning.walk_ins.wearer_faces import eye_heights_m, seat_of
from tapemark.planning.walk_ins.wearer_looks import (
    CLEAR,
    VEILED,
    Crowd,
    Looks,
    gathered,
    looks_before,
    looks_of_all,
)
from tapemark.planning.walk_ins.wearers import Wearers, sample_wearers
from tapemark.studio import Population, Setup, changed
from tapemark.units import format_length
from tapemark.watch import Watch

SHOWN = 0.005  # lens cover from which an emitter counts as shown on a lens [-]
METHOD = "Wilson score interval"


@dataclass(frozen=True, kw_only=True, slots=True)
class ShownSource:
    """How often one emitter shows.

    Attributes
    ----------
    name : str
        What the photographer calls it.
    over_eye, on_lens : float
        Share of the wearers on whom it shows over an eye, and anywhere on a lens. [-]
    """

    name: str
    over_eye: float
    on_lens: float


@dataclass(frozen=True, kw_only=True, slots=True)
class WalkInShare:
    """What becomes of walk-ins before a setup.

    Attributes
    ----------
    setup_title, population_title : str
        What they are called.
    seed : int
        Of the sample.
    asked : int
        How many wearers were asked for; fewer are counted after an interruption.
    clear, clear_or_edge : Share
        Nothing that matters on either lens; nothing over an eye.
    live : Share
        A catchlight in both eyes.
    ready : Share
        Clear, and a catchlight in both eyes.
    sources : tuple of ShownSource
        What shows, most often over an eye first.
    groups : tuple of Group
        Who fails, by kind of lens, prescription, coating, frame and eye height.
    moves : tuple of WalkInMove
        Single changes that gain, best first; empty if not asked for.
    set_stool : Share or None
        Clear if the stool were set for each, so that all eyes come to the planned height.
    eyes_low_m, eyes_high_m : float
        Eye heights that 9 of 10 lie between. [m]
    wearing : float
        Share of all who come that wear glasses at all. [-]
    assumptions : tuple of str
        What was assumed about setup and people, one sentence each.
    method : str
        How the intervals were made.
    confidence : float
        How often such an interval holds the true share. [-]
    interrupted : bool
        Whether it was stopped before all wearers were looked at.
    """

    setup_title: str
    population_title: str
    seed: int
    asked: int
    clear: Share
    clear_or_edge: Share
    live: Share
    ready: Share
    sources: tuple[ShownSource, ...]
    groups: tuple[Group, ...]
    moves: tuple[WalkInMove, ...]
    set_stool: Share | None
    eyes_low_m: float
    eyes_high_m: float
    wearing: float
    assumptions: tuple[str, ...]
    method: str = METHOD
    confidence: float = CONFIDENCE
    interrupted: bool = False

    @property
    def count(self) -> int:
        """How many wearers were looked at."""
        return self.clear.count


@dataclass(frozen=True, kw_only=True, slots=True)
class QuickShare:
    """Shares of one sample, to compare setups by.

    Attributes
    ----------
    clear, clear_or_edge, live, ready : float
        As in `WalkInShare`. [-]
    """

    clear: float
    clear_or_edge: float
    live: float
    ready: float


def walk_in_share(
    setup: Setup,
    *,
    population: Population | None = None,
    count: int = 2000,
    seed: int = 1,
    moves: bool = True,
    watch: Watch | None = None,
) -> WalkInShare:
    """Return for which share of a population of wearers a setup is clear without touching it.

    Parameters
    ----------
    setup : Setup
        As it stands; companions are left out.
    population : Population, optional
        Who comes; adult wearers if not stated.
    count : int
        How many wearers to draw.
    seed : int
        The same seed draws the same wearers.
    moves : bool
        Whether to look for the single change that would gain most.
    watch : Watch, optional
        Told how far it is; it may end the work, and what was found is returned.
    """
    population = Population() if population is None else population
    watch = Watch() if watch is None else watch
    alone = without_companions(setup)
    wearers = sample_wearers(population, count=count, seed=seed)
    looks = looks_of_all(alone, wearers, population=population, watch=watch)
    interrupted = len(looks) < count
    found = _counted(alone, wearers, looks, population=population, seed=seed)
    found = replace(found, interrupted=interrupted, assumptions=_assumptions(setup, population))
    if not moves or interrupted or found.clear.hits == count:
        return found
    best, stool = best_walk_in_moves(alone, wearers, population=population, watch=watch)
    return replace(found, moves=best, set_stool=stool, interrupted=watch.stopped)


def share_of(
    setup: Setup, wearers: Wearers, *, population: Population, crowd: Crowd | None = None
) -> QuickShare:
    """Return the shares of a fixed sample, by a first look only.

    Parameters
    ----------
    setup : Setup
        As it stands; companions are left out.
    wearers : Wearers
        The sample; the same one makes setups comparable.
    population : Population
        What it was drawn from.
    crowd : Crowd, optional
        The sample before the same camera and mark, from `gathered`, where only lights differ.

    Notes
    -----
    Over nine setups one verdict in twenty differed from the full check, most of them between
    edge and veiled; the share that is clear came out lower by 1.5 % of all wearers on average.
    """
    alone = without_companions(setup)
    if crowd is None:
        crowd = gathered(alone, wearers, population=population)
    looks = looks_before(alone, crowd, closely=False)
    clear = looks.verdict == CLEAR
    return QuickShare(
        clear=float(clear.mean()),
        clear_or_edge=float((looks.verdict < VEILED).mean()),
        live=float(looks.live.mean()),
        ready=float((clear & looks.live).mean()),
    )


def without_companions(setup: Setup) -> Setup:
    """Return a setup for one person at a time."""
    return changed(setup, {"companions": ()}) if setup.companions else setup


def _counted(
    setup: Setup, wearers: Wearers, looks: Looks, *, population: Population, seed: int
) -> WalkInShare:
    """Return the shares and who fails, without moves."""
    seen = len(looks)
    clear, free = looks.verdict == CLEAR, looks.verdict < VEILED
    height = eye_heights_m(setup.sitter, wearers, population=population)[:seen]
    low, high = np.quantile(height, (0.05, 0.95)) if seen else (np.nan, np.nan)
    return WalkInShare(
        setup_title=setup.title,
        population_title=population.title,
        seed=seed,
        asked=len(wearers),
        clear=share_of_mask(clear),
        clear_or_edge=share_of_mask(free),
        live=share_of_mask(looks.live),
        ready=share_of_mask(clear & looks.live),
        sources=_sources(setup, looks),
        groups=groups_of(
            wearers.only(slice(0, seen)),
            clear=clear,
            free=free,
            eye_over_planned_m=height - setup.sitter.eye_height_m,
            system=setup.units,
        ),
        moves=(),
        set_stool=None,
        eyes_low_m=float(low),
        eyes_high_m=float(high),
        wearing=population.wearing,
        assumptions=(),
    )


def _sources(setup: Setup, looks: Looks) -> tuple[ShownSource, ...]:
    def part(mask: FloatArray) -> float:
        return float(mask.mean()) if mask.size else 0.0

    found = [
        ShownSource(name=one.name, over_eye=part(veil >= SHOWN), on_lens=part(cover >= SHOWN))
        for one, veil, cover in zip(emitters(setup), looks.veils, looks.covers, strict=True)
    ]
    shown = [one for one in found if one.on_lens > 0 or one.over_eye > 0]
    return tuple(sorted(shown, key=lambda one: (-one.over_eye, -one.on_lens)))


def _assumptions(setup: Setup, population: Population) -> tuple[str, ...]:
    sitter, texts = setup.sitter, []
    planned = format_length(sitter.eye_height_m, system=setup.units)
    if population.seat == "set for each":
        texts.append(f"The stool is set for each sitter, so that the eyes come to {planned}.")
    elif sitter.posture == "standing":
        texts.append("Everybody stands on the mark; nobody is asked to bend or to step up.")
    else:
        seat = format_length(seat_of(sitter, population=population), system=setup.units)
        how = "as stated"
        if population.seat_height_m is None and "seat_height_m" not in sitter.model_fields_set:
            how = f"which brings an average adult's eyes to about {planned}"
        texts.append(f"Everybody sits on the same stool, {seat} high, {how}.")
    if setup.companions:
        texts.append("Companions in the setup are left out: walk-ins come one at a time.")
    texts.append("Lights and camera stay and keep pointing where they point now.")
    texts.append(
        "The intervals tell the play of chance; how well the description fits your town they "
        "do not tell."
    )
    return tuple(texts)
