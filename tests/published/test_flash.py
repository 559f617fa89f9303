"""Guide numbers, modifiers and bounce against what others printed or metered."""

import math

import numpy as np
import pytest

from tapemark.analysis import emitters
from tapemark.analysis.head_output import HIGH_SPEED_SYNC_STOPS
from tapemark.analysis.uncertainty import SPREADS
from tapemark.geometry import dot, normalize
from tapemark.photometry import (
    TYPICAL_EFFICACY_LM_PER_W,
    aperture_from_exposure,
    bounced_exposure,
    dome_share,
    guide_number_at,
    intensity_from_guide_number,
    nominal_aperture,
    stops_between,
)
from tapemark.studio import Camera, Head, Light, Modifier, Place, Room, Setup, Sitter

FOOT = 0.3048
EYES_M = 1.2
FACE = np.array([0.0, 0.0, EYES_M])
STOP = 1.0


def lights_of(modifier, *, distance_m, aim="face", ceiling_m=8.0 * FOOT):
    """What a small flash at eye level before the sitter sends, straight or off the ceiling."""
    lamp = Light(
        name="flash",
        head=Head(kind="flash", guide_number_m=30.0),
        modifier=modifier,
        place=Place(distance_m=distance_m, height_m=EYES_M),
        aim=aim,
    )
    setup = Setup(
        room=Room(width_m=6.0, length_m=8.0, height_m=ceiling_m, behind_sitter_m=3.0),
        sitter=Sitter(eye_height_m=EYES_M),
        camera=Camera(place=Place(distance_m=2.0, height_m=EYES_M), focal_length_mm=85.0),
        lights=(lamp,),
    )
    return emitters(setup)


def straight(modifier, *, distance_m):
    (lamp,) = lights_of(modifier, distance_m=distance_m)
    return lamp.exposure_at(FACE, normal=np.array([0.0, 1.0, 0.0]))


BARE = Modifier(preset="bare small flash")


# SOURCE    [guide-number-iso]
# ASSUMES   the same flash at the same power
# PRINTED   1.414 for each doubling of the ISO speed, 1.122 for each third of a stop
@pytest.mark.parametrize(("to_iso", "factor"), [(200.0, 1.414), (100.0 * 2 ** (1 / 3), 1.122)])
def test_guide_number_grows_with_iso(to_iso, factor):
    grown = guide_number_at(1.0, from_iso=100.0, to_iso=to_iso)
    np.testing.assert_allclose(grown, factor, rtol=0, atol=0.0005)


def test_flash_calibrated_at_ten_feet_has_the_printed_guide_number():
    # SOURCE    [navedtra-14209] p. 139: best frame of a sitter at exactly 10 ft, GN = f x 10
    # ASSUMES   the far field; a guide number in feet, ours in metres
    # PRINTED   f/8 -> 80
    intensity = intensity_from_guide_number(80.0 * FOOT, iso=100.0)
    np.testing.assert_allclose(
        aperture_from_exposure(intensity / (10.0 * FOOT) ** 2, iso=100.0), 8.0, rtol=1e-12
    )


def test_head_with_a_guide_number_gives_its_aperture_in_the_scene():
    # SOURCE    [flash-guide-numbers] GN 32 m at 4 m gives f/8
    # ASSUMES   a flat receptor on the axis, the flash's own reflector; GN 30 here, so f/7.5
    # PRINTED   GN = f-number x distance
    aperture = aperture_from_exposure(straight(BARE, distance_m=4.0), iso=100.0)
    np.testing.assert_allclose(aperture * 4.0, 30.0, rtol=1e-3)  # 0.003 stop: a face, not a point


def test_bounce_rule_of_the_navy_problem():
    # SOURCE    [navedtra-14209] self-test 4-68 with [ceiling-bounce-rule]; its key was not seen
    # ASSUMES   open two stops for a ceiling; the answer is worked out, not printed
    # PRINTED   GN 220, way 14 ft
    direct = 220.0 / 14.0
    np.testing.assert_allclose(direct, 15.7, rtol=0, atol=0.05)
    assert nominal_aperture(direct * 2.0 ** (-2.0 / 2.0)) == 8.0


# SOURCE    [ceiling-bounce-rule] guide number over the way by the ceiling, then about two stops
# ASSUMES   a ceiling of 8 ft, white (0.8), flash and sitter's eyes equally high and 6 ft apart;
#           the dome that a portraitist holds; "about" is half a stop, our ceiling and beam another
# PRINTED   2 stops
def test_bounce_in_the_scene_follows_the_practitioners_rule():
    distance_m, ceiling_m = 6.0 * FOOT, 8.0 * FOOT
    way_m = 2.0 * math.hypot(distance_m / 2.0, ceiling_m - EYES_M)
    by_rule = intensity_from_guide_number(30.0, iso=100.0) / way_m**2 / 2.0**2
    off = stops_between(bounced_to_dome(distance_m, ceiling_m), reference=by_rule)
    np.testing.assert_allclose(off, 0.0, rtol=0, atol=1.0 * STOP)


# SOURCE    [ceiling-bounce-metered]
# ASSUMES   as above
# PRINTED   -2 stops against direct flash, to whole stops; ours is -2.6
def test_bounce_in_the_scene_loses_what_was_metered():
    distance_m, ceiling_m = 6.0 * FOOT, 8.0 * FOOT
    direct = straight(BARE, distance_m=distance_m)
    loss = stops_between(bounced_to_dome(distance_m, ceiling_m), reference=direct)
    np.testing.assert_allclose(loss, -2.0, rtol=0, atol=1.0 * STOP)


def bounced_to_dome(distance_m, ceiling_m):
    _lamp, ceiling = lights_of(BARE, distance_m=distance_m, aim="ceiling", ceiling_m=ceiling_m)
    towards = normalize(ceiling.shining_middle() - FACE)
    turned = dome_share(dot(towards, np.array([0.0, 1.0, 0.0])))
    return ceiling.exposure_at(FACE, normal=towards) * turned


# SOURCE    [small-flash-losses] against the bare flash at zoom 24 mm, 6 ft
# ASSUMES   zoom 24 mm is a beam of 70 degrees; his rounding is half a stop, and the share that
#           our modifiers pass is an assumption of half a stop more
# PRINTED   modifier, stops. His f-numbers imply 3.6 for the softbox, which ours (2.2) is not near:
#           a small flash fills a box badly, and ours is that of a studio head
LOSSES = [
    ({"kind": "reflected umbrella", "diameter_m": 43 / 12 * FOOT}, -2.0),
    ({"kind": "shoot-through umbrella", "diameter_m": 43 / 12 * FOOT}, -2.0),
    ({"kind": "softbox", "width_m": 28 / 12 * FOOT, "height_m": 28 / 12 * FOOT}, -3.0),
]


@pytest.mark.parametrize(("modifier", "printed"), LOSSES)
def test_modifiers_lose_about_what_an_amateur_metered(modifier, printed):
    distance_m = 6.0 * FOOT
    bare = straight(BARE, distance_m=distance_m)
    loss = stops_between(straight(Modifier(**modifier), distance_m=distance_m), reference=bare)
    np.testing.assert_allclose(loss, printed, rtol=0, atol=1.0 * STOP)


def test_spread_of_an_estimate_is_the_range_of_efficacies_met():
    # SOURCE    [flash-efficacy]
    # ASSUMES   40 lm/W where nothing is stated
    # PRINTED   15 to 50 lm s per W s
    low, high = stops_between(np.array([15.0, 50.0]), reference=TYPICAL_EFFICACY_LM_PER_W)
    spread = SPREADS["efficacy assumed"]
    np.testing.assert_allclose([spread.low_stops, spread.high_stops], [low, high], atol=0.05)


def test_high_speed_sync_halves_the_guide_number_and_more():
    # SOURCE    [high-speed-sync]
    # ASSUMES   just beyond the sync limit
    # PRINTED   guide number less than half, about -2.3 stops
    assert guide_number_at(1.0, from_iso=1, to_iso=1, power_stops=-HIGH_SPEED_SYNC_STOPS) < 0.5
    assert HIGH_SPEED_SYNC_STOPS == 2.3


def test_small_lit_spot_follows_the_view_factor():
    # SOURCE    [view-factor] dF = cos cos/(pi S^2) dA
    # ASSUMES   a spot of 1 lm s, all sent back, seen square on from 1 m
    # PRINTED   the formula
    np.testing.assert_allclose(
        bounced_exposure(1.0, reflectance=1.0, distance_m=1.0), 1.0 / math.pi, rtol=1e-14
    )
