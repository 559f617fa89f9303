"""Stands by closed form against a stand that is really tilted and pushed, edge by edge."""

import math

import numpy as np
import pytest

from tapemark.analysis.rigs import rigs
from tapemark.analysis.stands import AIM_DEG, BAG_HEIGHT_M, STAND_CENTER_SHARE, stand_balances
from tapemark.geometry import (
    STANDARD_GRAVITY,
    ballast_for_angle,
    center_of_mass,
    support_margin,
    tipping_angle,
    tipping_force,
)
from tapemark.studio import Camera, Head, Light, Modifier, Place, Room, Setup, Spot, Stand

DEGREE = math.radians(1.0)


def feet(leg_radius, legs, leg_turn):
    angles = leg_turn + 2.0 * np.pi * np.arange(legs) / legs
    return np.stack([leg_radius * np.cos(angles), leg_radius * np.sin(angles)], axis=-1)


def inside(points, corners):
    """Whether points lie in a polygon whose corners run from x towards y."""
    ahead = np.roll(corners, -1, axis=0) - corners
    away = points[..., None, :] - corners
    return np.all(ahead[:, 0] * away[..., 1] - ahead[:, 1] * away[..., 0] > 0.0, axis=-1)


def stands_tilted(masses, places, corners, *, angle, way):
    """Whether it stands on a floor that is tilted down along some directions.

    Gravity is turned instead of the floor: each mass presses on the floor where it lands along
    it, and it stands while their common place is between the feet.
    """
    angle, way = np.asarray(angle), np.asarray(way)
    slide = np.tan(angle)[..., None] * np.stack([np.cos(way), np.sin(way)], axis=-1)
    landed = places[:, :2] + places[:, 2:] * slide[..., None, :]
    return inside((masses[:, None] * landed).sum(axis=-2) / masses.sum(), corners)


def tilt_of_fall(masses, places, corners, *, way):
    """Smallest tilt along each direction at which it falls, by halving. [deg]"""
    low, high = np.zeros_like(way), np.full_like(way, 60.0 * DEGREE)
    for _ in range(40):
        middle = (low + high) / 2.0
        stood = stands_tilted(masses, places, corners, angle=middle, way=way)
        low, high = np.where(stood, middle, low), np.where(stood, high, middle)
    return low / DEGREE


def weakest_tilt(masses, places, corners, *, ways=720):
    around = np.arange(ways) * (2.0 * np.pi / ways)
    return tilt_of_fall(masses, places, corners, way=around).min()


def push_of_fall(masses, places, corners, *, height, edge):
    """Push square to one edge that lifts the other feet: moments about the line of the edge."""
    start, end = corners[edge], corners[(edge + 1) % len(corners)]
    line = np.array([*(end - start), 0.0]) / np.hypot(*(end - start))
    outward = np.array([line[1], -line[0], 0.0])
    arms = places - np.array([*start, 0.0])
    weights = np.zeros_like(places)
    weights[:, 2] = -masses * STANDARD_GRAVITY
    holds = -np.cross(arms, weights).sum(axis=0) @ line
    tips = np.cross(np.array([0.0, 0.0, height]) - np.array([*start, 0.0]), outward) @ line
    return holds / tips


# Two worked examples. A stand of 3 kg on three legs of 0.55 m, its own centre at 0.6 m; a head of
# 3 kg on the column and a softbox of 2 kg hung 0.30 m in front, both at 2.2 m. A stand of 6 kg on
# legs of 0.60 m, its own centre at 0.5 m; a head of 3 kg on a boom of 1.5 m and 2.5 kg, at 2.3 m,
# and then a counterweight of 10.6 kg at 0.6 m.
SOFTBOX = [(3.0, (0.0, 0.0, 0.6)), (3.0, (0.0, 0.0, 2.2)), (2.0, (0.3, 0.0, 2.2))]
BOOM = [(6.0, (0.0, 0.0, 0.5)), (3.0, (1.5, 0.0, 2.3)), (2.5, (0.75, 0.0, 2.3))]
BALANCED = [*BOOM, (10.6, (-0.6, 0.0, 2.3))]
# parts, leg radius [m], tilt over a leg and between legs [deg]; None: falls by itself
EXAMPLES = [
    (SOFTBOX, 0.55, 16.5, 7.1),
    (BOOM, 0.60, 1.9, None),
    (BALANCED, 0.60, 18.3, 9.4),
]
ATOL_DEG = 0.05  # half of the last digit of the examples


def parts_of(rows):
    masses, places = zip(*rows, strict=True)
    return np.array(masses), np.array(places)


@pytest.mark.parametrize(("rows", "radius", "over_leg", "between_legs"), EXAMPLES)
def test_worked_examples_tip_where_the_tilted_stand_falls(rows, radius, over_leg, between_legs):
    masses, places = parts_of(rows)
    _, center = center_of_mass(masses, places=places)
    to_edge = radius * math.cos(math.pi / 3)
    closed = np.degrees(tipping_angle(np.array([radius, to_edge]) - center[0], height=center[2]))
    np.testing.assert_allclose(closed[0], over_leg, rtol=0, atol=ATOL_DEG)
    leg_ahead = feet(radius, 3, 0.0)
    fallen = tilt_of_fall(masses, places, leg_ahead, way=np.array(0.0))
    np.testing.assert_allclose(fallen, closed[0], rtol=0, atol=1e-6)
    leg_behind = feet(radius, 3, math.pi)
    if between_legs is None:
        assert closed[1] < 0.0
        assert not stands_tilted(masses, places, leg_behind, angle=0.0, way=0.0)
    else:
        np.testing.assert_allclose(closed[1], between_legs, rtol=0, atol=ATOL_DEG)
        fallen = tilt_of_fall(masses, places, leg_behind, way=np.array(0.0))
        np.testing.assert_allclose(fallen, closed[1], rtol=0, atol=1e-6)


def test_worked_example_needs_the_push_that_moments_about_its_edge_ask_for():
    masses, places = parts_of(SOFTBOX)
    total, center = center_of_mass(masses, places=places)
    over_leg, between_legs = (
        tipping_force(np.array(reach - center[0]), mass_kg=total, height=1.5)
        for reach in (0.55, 0.275)
    )
    np.testing.assert_allclose(over_leg, 25.0, rtol=0, atol=0.5)
    np.testing.assert_allclose(between_legs, 10.5, rtol=0, atol=0.05)
    corners = feet(0.55, 3, math.pi / 3)  # the edge from foot 2 to foot 0 is in front
    moment = push_of_fall(masses, places, corners, height=1.5, edge=2)
    np.testing.assert_allclose(moment, between_legs, rtol=1e-12)


@pytest.mark.parametrize("legs", [3, 4, 5])
@pytest.mark.parametrize("leg_turn", [0.0, 0.4, 1.9])
def test_nearest_edge_is_the_weakest_way_of_all(legs, leg_turn):
    masses, places = parts_of([(4.0, (0.03, -0.02, 0.5)), (3.0, (0.1, 0.14, 1.9))])
    corners = feet(0.5, legs, leg_turn)
    _, center = center_of_mass(masses, places=places)
    margin = support_margin(center[:2], leg_radius=0.5, legs=legs, leg_turn=leg_turn)
    closed = float(np.degrees(tipping_angle(margin, height=center[2])))
    # A quarter of a degree off the weakest way the tilt is larger by 1/cos, some 1e-5 of it.
    np.testing.assert_allclose(weakest_tilt(masses, places, corners), closed, rtol=0, atol=0.0002)
    ahead = np.roll(corners, -1, axis=0) - corners
    away = center[:2] - corners
    apart = (ahead[:, 0] * away[:, 1] - ahead[:, 1] * away[:, 0]) / np.hypot(*ahead.T)
    np.testing.assert_allclose(margin, apart.min(), rtol=1e-12)


@pytest.mark.parametrize("out", [-0.3, 0.0, 0.2])
def test_ballast_is_the_least_that_holds_the_tilted_stand(out):
    masses, places = parts_of(SOFTBOX)
    total, center = center_of_mass(masses, places=places)
    needed = float(
        ballast_for_angle(
            np.array(0.275 - center[0]),
            mass_kg=total,
            height=center[2],
            angle=10.0 * DEGREE,
            ballast_margin=0.275 - out,
            ballast_height=0.3,
        )
    )
    corners, bag = feet(0.55, 3, math.pi), np.array([[out, 0.0, 0.3]])
    for share, holds in ((1.001, True), (0.999, False)):
        heavier = np.append(masses, share * needed)
        stood = stands_tilted(
            heavier, np.concatenate([places, bag]), corners, angle=10.0 * DEGREE, way=0.0
        )
        assert bool(stood) is holds


def test_no_ballast_at_the_edge_helps():
    assert (
        ballast_for_angle(
            np.array(0.05),
            mass_kg=8.0,
            height=1.6,
            angle=10.0 * DEGREE,
            ballast_margin=0.0,
            ballast_height=0.3,
        )
        == np.inf
    )


def studio_with(stand):
    light = Light(
        name="key",
        head=Head(preset="600 Ws studio head"),
        modifier=Modifier(preset="octagonal box 110 cm"),
        place=Place(distance_m=1.4, side_deg=38.0, height_m=2.05),
        stand=stand,
    )
    camera = Camera(place=Place(distance_m=2.2, height_m=1.2), focal_length_mm=85.0)
    room = Room(width_m=6.0, length_m=7.0, height_m=3.2, behind_sitter_m=3.0)
    return Setup(room=room, camera=camera, lights=(light,))


def parts_in_the_world(rig):
    """Masses and places of a rig, from the foot of its column, with the way it leans."""
    stand, light = rig.stand, rig.light
    foot = np.array([*rig.base_m, 0.0])
    head, box = np.array(rig.head_m) - foot, np.array(rig.modifier_m) - foot
    height = head[2]
    arm = head[:2] if stand.kind == "boom" else np.zeros(2)
    unit = arm / max(np.hypot(*arm), 1e-12)
    rows = [
        (stand.weight_kg, (0.0, 0.0, STAND_CENTER_SHARE * height)),
        (light.head.weight_kg, tuple(head)),
        (light.modifier.assumed_weight_kg, tuple(box)),
    ]
    if stand.kind == "boom":
        back = -stand.counterweight_out_m * unit
        rows += [
            (stand.boom_weight_kg, (*(0.5 * arm), height)),
            (stand.counterweight_kg, (*back, height)),
        ]
    masses, places = parts_of(rows)
    lean = (masses[:, None] * places[:, :2]).sum(axis=0)
    return masses, places, math.atan2(lean[1], lean[0]), math.atan2(unit[1], unit[0])


STANDS = [
    Stand(weight_kg=3.5, leg_radius_m=0.55),
    Stand(weight_kg=3.5, leg_radius_m=0.55, leg_under_load=True),
    Stand(weight_kg=3.5, leg_radius_m=0.5, legs=4, ballast_kg=6.0),
    Stand(weight_kg=3.5, leg_radius_m=0.55, leg_under_load=True, ballast_kg=8.0, ballast_out_m=0.4),
    Stand(weight_kg=3.5, leg_radius_m=0.55, ballast_kg=8.0, ballast_out_m=0.3),
    Stand(preset="boom on a heavy stand"),
    Stand(preset="boom on a heavy stand", counterweight_kg=12.0, leg_under_load=True),
    Stand(preset="boom on a heavy stand", counterweight_kg=15.0, leg_under_load=True, legs=5),
    Stand(  # an arm that comes from the side, so that the load leans beside it
        preset="boom on a heavy stand",
        boom_out_m=0.5,
        counterweight_kg=9.0,
        leg_under_load=True,
        base=Spot(distance_m=1.9, side_deg=75.0),
    ),
]


@pytest.mark.parametrize("stand", STANDS)
def test_stand_of_a_setup_falls_where_its_parts_say(stand):
    setup = studio_with(stand)
    (rig,) = rigs(setup)
    (found,) = stand_balances((rig,))
    masses, places, lean, arm = parts_in_the_world(rig)
    under = arm if stand.kind == "boom" else lean
    turn = under if stand.leg_under_load else lean + math.pi / stand.legs
    if stand.ballast_kg:
        out = stand.ballast_out_m
        height = BAG_HEIGHT_M * (1.0 - out / stand.leg_radius_m)
        bag = (out * math.cos(turn), out * math.sin(turn), height)
        masses, places = np.append(masses, stand.ballast_kg), np.concatenate([places, [bag]])
    corners = feet(stand.leg_radius_m, stand.legs, turn)
    if found.weakest_deg < 0.0:
        assert not stands_tilted(masses, places, corners, angle=0.0, way=0.0)
    else:
        fallen = weakest_tilt(masses, places, corners)
        np.testing.assert_allclose(found.weakest_deg, fallen, rtol=0, atol=0.0005)
        pushes = [
            push_of_fall(masses, places, corners, height=found.push_height_m, edge=edge)
            for edge in range(stand.legs)
        ]
        np.testing.assert_allclose(found.push_n, min(pushes), rtol=1e-9)


@pytest.mark.parametrize("stand", STANDS[:2])
def test_ballast_advised_brings_the_stand_to_the_aim(stand):
    (found,) = stand_balances(rigs(studio_with(stand)))
    assert found.ballast_kg > 0.0
    steadied = stand.model_copy(update={"ballast_kg": found.ballast_kg})
    (after,) = stand_balances(rigs(studio_with(steadied)))
    np.testing.assert_allclose(after.weakest_deg, AIM_DEG, rtol=1e-9)
    assert after.ballast_kg == pytest.approx(0.0, abs=1e-9)


def test_counterweight_advised_puts_the_load_over_the_column():
    stand = Stand(preset="boom on a heavy stand", counterweight_kg=0.0)
    (found,) = stand_balances(rigs(studio_with(stand)))
    assert found.weakest_deg < 0.0
    balanced = stand.model_copy(update={"counterweight_kg": found.counterweight_kg})
    (after,) = stand_balances(rigs(studio_with(balanced)))
    np.testing.assert_allclose(after.weakest_deg, found.balanced_deg, rtol=1e-9)
    np.testing.assert_allclose(after.lean_m, 0.0, rtol=0, atol=1e-3)
