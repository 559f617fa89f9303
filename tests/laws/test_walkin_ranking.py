"""Moves for walk-ins that gain alike are told with the gentlest first."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.planning.walk_ins.gaining_moves import WalkInMove, gentlest_of_equal
from tapemark.planning.walk_ins.interval import Gain, share_of_sample
from tapemark.services import demo_setup_text
from tapemark.studio import setup_from_toml

SETUP = setup_from_toml(demo_setup_text("quillmere-cured"))


def move(name: str, gain: float, *, effort: float, half: float = 0.04) -> WalkInMove:
    found = Gain(gain=gain, low=gain - half, high=gain + half)
    share = share_of_sample(200, 256)
    return WalkInMove(
        what="light",
        name=name,
        text=name,
        gain=found,
        free_gain=found,
        clear_after=share,
        free_after=share,
        live_after=share,
        power_change_stops=0.0,
        effort=effort,
        setup=SETUP,
    )


def test_gentler_of_equal_gains_comes_first():
    swing, raise_it = move("swing 50", 0.074, effort=4.5), move("raise 20", 0.066, effort=1.4)
    assert [one.name for one in gentlest_of_equal([swing, raise_it])] == ["raise 20", "swing 50"]


@pytest.mark.parametrize(("gain", "half"), [(0.03, 0.04), (0.07, 0.002)])
def test_gain_that_is_surely_or_much_less_comes_after(gain: float, half: float):
    much = move("swing 50", 0.075, effort=4.5, half=half)
    little = move("raise 20", gain, effort=1.4)
    assert [one.name for one in gentlest_of_equal([little, much])] == ["swing 50", "raise 20"]


@given(
    st.lists(st.tuples(st.floats(0.0, 0.5), st.floats(1.0, 9.0)), max_size=6),
    st.randoms(use_true_random=False),
)
def test_ranking_keeps_everybody_and_does_not_hang_on_the_order(values, random):
    moves = [move(str(k), gain, effort=cost) for k, (gain, cost) in enumerate(values)]
    ranked = gentlest_of_equal(moves)
    assert sorted(one.name for one in ranked) == sorted(one.name for one in moves)
    if len({gain for gain, _ in values}) == len({cost for _, cost in values}) == len(values):
        shuffled = [replace(one) for one in moves]
        random.shuffle(shuffled)
        assert [one.name for one in gentlest_of_equal(shuffled)] == [one.name for one in ranked]
