"""Walk-in share: who of the strangers with glasses a setup suits, and as plain data."""

from pathlib import Path

from tapemark.planning import WalkInMove, WalkInShare, Watch
from tapemark.planning import walk_in_share as _walk_in_share
from tapemark.planning.walk_ins.interval import Gain, Share
from tapemark.services.plain import Plain, rounded
from tapemark.store import read_population
from tapemark.studio import Population, Setup, setup_to_mapping


def walk_ins_for(
    setup: Setup,
    *,
    population: Path | None = None,
    count: int = 2000,
    seed: int = 1,
    moves: bool = True,
    watch: Watch | None = None,
) -> WalkInShare:
    """Return what becomes of walk-ins before a setup.

    Parameters
    ----------
    setup : Setup
        As it stands.
    population : Path, optional
        File that describes who comes; adult wearers of glasses if not stated.
    count, seed, moves, watch
        As in `tapemark.planning.walk_in_share`.

    Raises
    ------
    FileError, SetupError
        The file cannot be read, or does not describe a population.
    """
    who = Population() if population is None else read_population(population)
    return _walk_in_share(setup, population=who, count=count, seed=seed, moves=moves, watch=watch)


def walk_ins_as_plain(found: WalkInShare) -> Plain:
    """Return a walk-in share as dictionaries, lists, numbers and text."""
    return {
        "title": found.setup_title,
        "population": found.population_title,
        "count": found.count,
        "asked": found.asked,
        "seed": found.seed,
        "interrupted": found.interrupted,
        "method": found.method,
        "confidence": found.confidence,
        "clear": _share(found.clear),
        "clear_or_edge": _share(found.clear_or_edge),
        "catchlights_in_both_eyes": _share(found.live),
        "clear_with_catchlights": _share(found.ready),
        "shown": [
            {
                "source": one.name,
                "over_eye": rounded(one.over_eye),
                "on_lens": rounded(one.on_lens),
            }
            for one in found.sources
        ],
        "groups": [
            {
                "by": one.by,
                "name": one.name,
                "part": rounded(one.part),
                "clear": _share(one.clear),
                "clear_or_edge": _share(one.clear_or_edge),
            }
            for one in found.groups
        ],
        "moves": [_move(one) for one in found.moves],
        "stool_set_for_each": None if found.set_stool is None else _share(found.set_stool),
        "eye_height_m": [rounded(found.eyes_low_m, 3), rounded(found.eyes_high_m, 3)],
        "wearing": rounded(found.wearing),
        "assumptions": list(found.assumptions),
    }


def _share(one: Share) -> Plain:
    return {
        "share": rounded(one.share),
        "low": rounded(one.low),
        "high": rounded(one.high),
        "hits": one.hits,
        "of": one.count,
    }


def _gain(one: Gain) -> Plain:
    return {"gain": rounded(one.gain), "low": rounded(one.low), "high": rounded(one.high)}


def _move(one: WalkInMove) -> Plain:
    return {
        "what": one.what,
        "name": one.name,
        "change": one.text,
        "clear": _gain(one.gain),
        "clear_or_edge": _gain(one.free_gain),
        "clear_after": _share(one.clear_after),
        "clear_or_edge_after": _share(one.free_after),
        "catchlights_after": _share(one.live_after),
        "power_change_stops": rounded(one.power_change_stops, 2),
        "setup": setup_to_mapping(one.setup),
    }
