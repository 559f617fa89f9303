"""Limits that safety is held against: mains, flashes a second, tilt of a stand."""

import numpy as np
import pytest

from tapemark.analysis.circuits import (
    HOUSEHOLD_OUTLET_W,
    circuit_loads,
    continuous_limit_w,
    current_a,
)
from tapemark.analysis.flash_rate import (
    MOST_FLASHES_IN_1_S,
    TRIGGER_BAND_HZ,
    flashes_in_1_s,
)
from tapemark.analysis.stand_findings import LEAST_ASSUMED_DEG, LEAST_DEG
from tapemark.analysis.stands import AIM_DEG
from tapemark.studio import Camera, Circuit, Head, Light, Modifier, Place, Room, Setup

# SOURCE    [nec-210-20] 210.20(A) as restated: at least the load that is not continuous plus 125 %
#           of the continuous load; the watts are derived from it
# ASSUMES   all of the load is continuous, power factor 1
# PRINTED   voltage [V], breaker [A], most watts [W]
CONTINUOUS = [
    (120.0, 15.0, 1440.0),
    (120.0, 20.0, 1920.0),
    (230.0, 13.0, 2392.0),
    (230.0, 16.0, 2944.0),
]


@pytest.mark.parametrize(("voltage_v", "breaker_a", "most_w"), CONTINUOUS)
def test_continuous_load_may_be_four_fifths_of_the_breaker(voltage_v, breaker_a, most_w):
    limit = continuous_limit_w(voltage_v=voltage_v, breaker_a=breaker_a)
    np.testing.assert_allclose(limit, most_w, rtol=1e-12)
    np.testing.assert_allclose(current_a(limit, voltage_v=voltage_v), 0.8 * breaker_a, rtol=1e-12)


@pytest.mark.parametrize(("voltage_v", "breaker_a", "most_w"), CONTINUOUS)
def test_circuit_of_a_setup_is_full_at_the_same_watts(voltage_v, breaker_a, most_w):
    full = load_of(most_w, voltage_v=voltage_v, breaker_a=breaker_a)
    np.testing.assert_allclose(full.breaker_share, 1.0, rtol=1e-12)
    assert not load_of(most_w - 1.0, voltage_v=voltage_v, breaker_a=breaker_a).over
    assert load_of(most_w + 1.0, voltage_v=voltage_v, breaker_a=breaker_a).over


def test_load_that_is_not_continuous_counts_once():
    # SOURCE    [nec-210-20] as above
    # ASSUMES   a flash of 800 W with a modelling lamp of 300 W: 500 W not continuous
    # PRINTED   1 and 1.25
    head = Head(kind="flash", energy_j=400.0, lamp="halogen", mains_w=800.0, modelling_lamp_w=300.0)
    (load,) = circuit_loads(setup_with(head, Circuit(name="A", voltage_v=100.0, breaker_a=10.0)))
    np.testing.assert_allclose(load.breaker_share, (5.0 + 1.25 * 3.0) / 10.0, rtol=1e-12)
    np.testing.assert_allclose(load.current_a, 8.0, rtol=1e-12)


def test_household_outlet_is_held_to_two_kilowatts():
    # SOURCE    [mediacollege-power] lighting on one household outlet
    # ASSUMES   New Zealand and Australia
    # PRINTED   2 kW
    assert HOUSEHOLD_OUTLET_W == 2000.0


def test_three_flashes_in_one_second_are_the_most():
    # SOURCE    [wcag22] success criterion 2.3.1: no more than three flashes in any one second
    # ASSUMES   one flash for each frame, evenly spaced
    # PRINTED   3; [epilepsy-society] has 4 a second for clubs, which is looser
    assert MOST_FLASHES_IN_1_S == 3
    assert flashes_in_1_s(1.0 / 3.0) == 3
    assert flashes_in_1_s(0.999 / 3.0) == 4
    assert flashes_in_1_s(1.0 / 4.0) > MOST_FLASHES_IN_1_S


def test_band_that_sets_off_most_seizures_begins_where_the_rule_ends():
    # SOURCE    [epilepsy-society] 3 to 30 flashes a second common, under 3 uncommon
    # ASSUMES   the same flashes as above
    # PRINTED   3, 30
    assert TRIGGER_BAND_HZ == (3.0, 30.0)
    assert flashes_in_1_s(1.0 / TRIGGER_BAND_HZ[0]) <= MOST_FLASHES_IN_1_S
    assert flashes_in_1_s(1.0 / TRIGGER_BAND_HZ[1]) > MOST_FLASHES_IN_1_S


def test_tilts_that_lamps_in_homes_must_stand_are_the_limits_here():
    # SOURCE    [iec-60598-2-4] 4.6.3 and [ul-153] section 132, as restated
    # ASSUMES   an analogy: neither is about photographic lights
    # PRINTED   6 degrees, 8 degrees
    assert LEAST_ASSUMED_DEG == 6.0
    assert LEAST_DEG == 8.0
    assert LEAST_DEG < AIM_DEG


def setup_with(head, circuit):
    light = Light(
        name="key",
        head=head,
        modifier=Modifier(preset="reflector dish 18 cm"),
        place=Place(distance_m=1.5, side_deg=30.0, height_m=1.7),
    )
    camera = Camera(place=Place(distance_m=2.0, height_m=1.2), focal_length_mm=85.0)
    room = Room(width_m=5.0, length_m=6.0, height_m=2.7)
    return Setup(room=room, camera=camera, lights=(light,), circuits=(circuit,))


def load_of(power_w, *, voltage_v, breaker_a):
    head = Head(kind="continuous", lamp="halogen", lumens=10_000.0, mains_w=power_w)
    circuit = Circuit(name="A", voltage_v=voltage_v, breaker_a=breaker_a)
    (load,) = circuit_loads(setup_with(head, circuit))
    return load
