"""What every portrait photographer knows about glasses: the model must know it too.

All seven facts are common practice, no published source. Each names the geometry it is taken
in, for the trade says "about" and leaves out what it takes for granted. Common to all:

- seated sitter, eyes 1.20 m up, face to the camera, chin level, looking into the lens;
- camera straight on, 2.0 m away, at eye level; room 6 x 8 m under a white ceiling at 2.75 m;
- every glasses preset, properly seated, with the tilt (8 degrees; sport wrap 10) and face form
  (5 degrees; sport wrap 18) of a good fit stated; base curve as predicted;
- heights are those of the middle of the lit face; a light is aimed at the face.

"Bad" is a verdict other than clear; "gone" is a clear verdict: less than 0.5 % of the eye and
less than 3 % of the lens covered. The facts were written down in this geometry before the
model was asked. Where it does not follow, the test says which lenses, why, and what is true of
them. The reason is mostly the same: the back surface of a minus lens is a strongly curved
mirror (radius 70 to 80 mm against 100 mm and more in front). It shows more of the room, smaller,
and keeps a high light in the upper outer corner of the lens, away from the eye, when the front
has long lost it.
"""

import functools
import math

import numpy as np
import pytest

from tapemark.analysis import build_scene, cover_map, face_light, lens_glare, view_lenses
from tapemark.services.check import check_setup
from tapemark.studio import (
    GLASSES_PRESETS,
    Camera,
    Glasses,
    Head,
    Light,
    Modifier,
    Place,
    Room,
    Setup,
    Sitter,
    changed,
)

EYES_M = 1.2
CAMERA_M = 2.0
ROOM = Room(width_m=6.0, length_m=8.0, height_m=2.75, behind_sitter_m=2.5)
CAMERA = Camera(place=Place(distance_m=CAMERA_M, height_m=EYES_M), focal_length_mm=85.0)
STUDIO_HEAD = Head(preset="400 Ws studio head")
SMALL_FLASH = Head(preset="small camera flash 60 Ws")

PRESETS = sorted(GLASSES_PRESETS)
UMBRELLA = "reflected umbrella 110 cm"
SHOOT_THROUGH = "shoot-through umbrella 100 cm"
DISH = "beauty dish 55 cm"
SOFTBOX = "medium softbox 60x90 cm"  # set upright
MODIFIERS = (UMBRELLA, SHOOT_THROUGH, DISH, SOFTBOX)

CLEAR_VEIL, CLEAR_COVER = 0.005, 0.03

THIN = "thin reading glasses"
STRONG_MINUS = "strong short-sighted, small frame"
MILD_MINUS = "mild short-sighted, medium frame"
PROGRESSIVE = "everyday progressive"
PLANO = "large fashion frame, plano"
STRONG_PLUS = "strong long-sighted"
WRAP = "sport wrap"
RIMLESS = "rimless, light prescription"
ROUND_WIRE = "round wire frame, short-sighted"
ACETATE = "heavy acetate rectangular"
HALF_RIM = "half-rim office frame"
CAT_EYE = "cat-eye, mild short-sighted"


def well_fitted(preset, **stated):
    own = {"pantoscopic_tilt_deg": 8.0, "face_form_deg": 5.0}
    if preset == WRAP:
        own = {"pantoscopic_tilt_deg": 10.0, "face_form_deg": 18.0}
    return Glasses(preset=preset, **{**own, **stated})


def at(x_m, y_m, height_m):
    """The place x to camera-left and y in front of the sitter."""
    side_deg = math.degrees(math.atan2(x_m, y_m))
    return Place(distance_m=math.hypot(x_m, y_m), side_deg=side_deg, height_m=height_m)


def light(name, place, modifier, *, head=STUDIO_HEAD, aim="face", power_stops=-2.0):
    return Light(
        name=name,
        head=head,
        modifier=Modifier(preset=modifier),
        place=place,
        aim=aim,
        power_stops=power_stops,
    )


def portrait(glasses, lights, *, turn_deg=0.0, room=ROOM):
    sitter = Sitter(eye_height_m=EYES_M, turn_deg=turn_deg, glasses=glasses)
    return Setup(room=room, sitter=sitter, camera=CAMERA, lights=tuple(lights))


def worst_cover(report):
    return max(lens.lens_cover for lens in report.lenses)


def worst_veil(report):
    return max(lens.veil for lens in report.lenses)


def lenses_for_places(glasses, places, modifier, *, turn_deg=0.0):
    """What both lenses show for one light at each of many places (light by light)."""
    scene = build_scene(portrait(glasses, [], turn_deg=turn_deg))
    view = view_lenses(scene, scene.lenses, columns=60, rows=42)
    found = []
    for place in places:
        lit = build_scene(portrait(glasses, [light("key", place, modifier)], turn_deg=turn_deg))
        found.append(lens_glare(view, cover_map(lit, view, light=face_light(lit))))
    return found


# ---------------------------------------------------------------- 1
# Common practice, no published source: a light about 1.1 m beside the camera axis and just
# above head height (1.4 m) is badly reflected; the same light at 1.9 m is gone.
#
# GEOMETRY  1.1 m to camera-left, 1.5 m in front of the sitter (1.86 m away, 36 degrees aside)

LOW_M, HIGH_M = 1.4, 1.9


def beside(height_m):
    return at(1.1, 1.5, height_m)


@functools.cache
def check_key(preset, modifier, height_m):
    return check_setup(portrait(well_fitted(preset), [light("key", beside(height_m), modifier)]))


# The smallest of the four in the smallest lens: 2.9 % of it, just under the 3 % of a verdict.
BARELY = {(STRONG_MINUS, DISH)}


@pytest.mark.parametrize("modifier", MODIFIERS)
@pytest.mark.parametrize("preset", PRESETS)
def test_fact_1_light_just_above_head_height_is_badly_reflected(preset, modifier):
    report = check_key(preset, modifier, LOW_M)
    if (preset, modifier) in BARELY:
        assert 0.025 < worst_cover(report) < 0.035
    else:
        assert report.verdict != "clear"
    assert report.lenses[0].lens_cover == worst_cover(report)  # the lens on the light's side


@pytest.mark.parametrize("modifier", MODIFIERS)
@pytest.mark.parametrize("preset", PRESETS)
def test_fact_1_raised_light_has_left_the_eyes_and_shrunk(preset, modifier):
    low, high = (check_key(preset, modifier, height_m) for height_m in (LOW_M, HIGH_M))
    assert worst_veil(high) < CLEAR_VEIL
    assert worst_cover(high) < 0.85 * worst_cover(low)


# Gone altogether: the beauty dish from all lenses, every modifier from these.
GONE_AT_1_9_M = [
    *((preset, DISH) for preset in PRESETS),
    *(
        (preset, modifier)
        for preset in (THIN, PROGRESSIVE, WRAP, RIMLESS, HALF_RIM)
        for modifier in (UMBRELLA, SHOOT_THROUGH, SOFTBOX)
    ),
    (STRONG_PLUS, SOFTBOX),
]
# Not gone, 3 to 8 % of the lens: (surface that shows it, height from which it is gone).
LATER = {
    (STRONG_MINUS, UMBRELLA): ("back", 2.4),
    (STRONG_MINUS, SHOOT_THROUGH): ("back", 2.3),
    (STRONG_MINUS, SOFTBOX): ("back", 2.2),
    (ROUND_WIRE, UMBRELLA): ("back", 2.5),
    (ROUND_WIRE, SHOOT_THROUGH): ("back", 2.4),
    (ROUND_WIRE, SOFTBOX): ("back", 2.3),
    (MILD_MINUS, UMBRELLA): ("back", 2.2),
    (MILD_MINUS, SHOOT_THROUGH): ("back", 2.1),
    (CAT_EYE, UMBRELLA): ("back", 2.2),
    (CAT_EYE, SHOOT_THROUGH): ("back", 2.1),
    (ACETATE, UMBRELLA): ("back", 2.1),
    (PLANO, UMBRELLA): ("front", 2.1),  # both surfaces alike; the tall lens reaches higher
    (PLANO, SHOOT_THROUGH): ("front", 2.1),
    (STRONG_PLUS, UMBRELLA): ("front", 2.1),  # front radius 54 mm
}
# On either side of the 3 % limit at 1.9 m, and gone a hand higher.
AT_THE_LIMIT = [
    *((preset, SOFTBOX) for preset in (PLANO, ACETATE, MILD_MINUS, CAT_EYE)),
    (STRONG_PLUS, SHOOT_THROUGH),
    (ACETATE, SHOOT_THROUGH),
]


def test_fact_1_every_lens_and_modifier_is_spoken_for():
    said = [*GONE_AT_1_9_M, *LATER, *AT_THE_LIMIT]
    assert sorted(said) == sorted((preset, one) for preset in PRESETS for one in MODIFIERS)


@pytest.mark.parametrize(("preset", "modifier"), GONE_AT_1_9_M)
def test_fact_1_raised_light_is_gone(preset, modifier):
    assert check_key(preset, modifier, HIGH_M).verdict == "clear"


@pytest.mark.parametrize(("preset", "modifier"), LATER)
def test_fact_1_what_stays_is_a_corner_of_the_more_curved_surface(preset, modifier):
    surface, gone_m = LATER[preset, modifier]
    report = check_key(preset, modifier, HIGH_M)
    assert worst_cover(report) > 0.025
    strongest = max(report.lenses[0].reflections, key=lambda one: one.lens_cover)
    assert strongest.surface == surface
    assert strongest.lens_cover < 0.09
    assert check_key(preset, modifier, gone_m).verdict == "clear"


@pytest.mark.parametrize(("preset", "modifier"), AT_THE_LIMIT)
def test_fact_1_what_is_at_the_limit_is_gone_a_hand_higher(preset, modifier):
    assert 0.02 < worst_cover(check_key(preset, modifier, HIGH_M)) < 0.04
    assert check_key(preset, modifier, HIGH_M + 0.1).verdict == "clear"


# ---------------------------------------------------------------- 2
# Common practice, no published source: two lights next to the camera make two reflections in
# each lens; both high, or both wide, make none.
#
# GEOMETRY  both 2.0 m away, one on each side: next to the camera 15 degrees aside, 1.4 m high;
#           high 15 degrees aside, 2.1 m high; wide 60 degrees aside, 1.4 m high

NEXT, HIGH, WIDE = (15.0, 1.4), (15.0, 2.1), (60.0, 1.4)


@functools.cache
def check_pair(preset, modifier, where):
    side_deg, height_m = where
    lights = [
        light(name, Place(distance_m=2.0, side_deg=side, height_m=height_m), modifier)
        for name, side in (("left light", side_deg), ("right light", -side_deg))
    ]
    return check_setup(portrait(well_fitted(preset), lights))


@pytest.mark.parametrize("modifier", MODIFIERS)
@pytest.mark.parametrize("preset", PRESETS)
def test_fact_2_two_lights_next_to_the_camera_show_twice_in_each_lens(preset, modifier):
    report = check_pair(preset, modifier, NEXT)
    assert report.verdict != "clear"
    for lens in report.lenses:
        shown = {one.source for one in lens.reflections if one.lens_cover > 0.005}
        assert shown == {"left light", "right light"}


@pytest.mark.parametrize("where", [HIGH, WIDE], ids=["high", "wide"])
@pytest.mark.parametrize("modifier", MODIFIERS)
@pytest.mark.parametrize("preset", PRESETS)
def test_fact_2_both_high_or_both_wide_never_touch_the_eyes(preset, modifier, where):
    report, close = (check_pair(preset, modifier, one) for one in (where, NEXT))
    assert worst_veil(report) < CLEAR_VEIL
    assert worst_cover(report) < worst_cover(close)


@pytest.mark.parametrize("modifier", MODIFIERS)
@pytest.mark.parametrize("preset", [THIN, PROGRESSIVE, WRAP, RIMLESS, HALF_RIM])
def test_fact_2_both_high_show_nothing(preset, modifier):
    assert check_pair(preset, modifier, HIGH).verdict == "clear"


@pytest.mark.parametrize("modifier", MODIFIERS)
@pytest.mark.parametrize("preset", [PROGRESSIVE, PLANO, RIMLESS, HALF_RIM])
def test_fact_2_both_wide_show_nothing(preset, modifier):
    assert check_pair(preset, modifier, WIDE).verdict == "clear"


@pytest.mark.parametrize("preset", [p for p in PRESETS if p not in (STRONG_MINUS, WRAP)])
def test_fact_2_both_wide_show_nothing_of_the_softbox_and_the_dish(preset):
    # The umbrellas keep 3 to 5 % in the outer corner of the minus lenses, thin +2.00 and +4.00.
    assert check_pair(preset, SOFTBOX, WIDE).verdict == "clear"
    assert check_pair(preset, DISH, WIDE).verdict == "clear"


def test_fact_2_wrapped_lenses_look_to_the_side_and_show_wide_lights():
    # Their faces point 18 degrees outwards, so that what the camera sees in their middle is 36
    # degrees aside, and in their outer half 60 degrees.
    assert check_pair(WRAP, UMBRELLA, WIDE).verdict == "edge"
    assert worst_cover(check_pair(WRAP, UMBRELLA, WIDE)) > 0.06


@pytest.mark.parametrize("modifier", MODIFIERS)
@pytest.mark.parametrize("preset", PRESETS)
def test_fact_2_going_up_always_helps(preset, modifier):
    covers = [
        worst_cover(check_pair(preset, modifier, (15.0, height_m))) for height_m in (1.4, 2.1, 2.5)
    ]
    assert covers[0] > covers[1] >= covers[2]
    assert covers[2] < 0.08


# ---------------------------------------------------------------- 3
# Common practice, no published source: right beside or just above the camera lens is the worst
# place for a light.
#
# GEOMETRY  at the camera's distance, the edge of the lit face 5 cm from the lens axis, beside it
#           at lens height or above it; against places farther to the side and farther up.
# The trade speaks of places at lens height and above. Below the lens it is worse still, for a
# worn lens faces 8 degrees down: what the camera sees in its middle lies 16 degrees down.

HALF_SIZE_M = {SOFTBOX: (0.3, 0.45), DISH: (0.275, 0.275), UMBRELLA: (0.55, 0.55)}


def shown_by_both(lenses):
    """Cover and veil, both lenses together."""
    return np.array([sum(lens.lens_cover for lens in lenses), sum(lens.veil for lens in lenses)])


@pytest.mark.parametrize("modifier", HALF_SIZE_M)
@pytest.mark.parametrize("preset", PRESETS)
def test_fact_3_right_beside_the_lens_is_the_worst_place(preset, modifier):
    half_width_m, half_height_m = HALF_SIZE_M[modifier]
    beside_deg = math.degrees(math.asin((half_width_m + 0.05) / CAMERA_M))
    above_m = EYES_M + half_height_m + 0.05
    worst = (beside_deg, EYES_M)
    above = [(0.0, above_m), (0.0, above_m + 0.25), (0.0, above_m + 0.5)]
    others = [
        (side_deg, height_m)
        for side_deg in (beside_deg, beside_deg + 15.0, beside_deg + 30.0)
        for height_m in (EYES_M, 1.6, 2.0)
    ][1:]
    places = [
        Place(distance_m=CAMERA_M, side_deg=side_deg, height_m=height_m)
        for side_deg, height_m in (worst, *above, *others)
    ]
    shown = [shown_by_both(one) for one in lenses_for_places(well_fitted(preset), places, modifier)]
    covers, veils = np.array(shown).T
    assert covers[0] > 0.05
    assert covers[0] == covers.max()
    if preset != WRAP:  # its eyes are looked for 36 degrees aside: veiled most from 20 to 25
        assert veils[0] == veils.max()
    # Just above the lens is the worst of the places above.
    assert covers[1] >= covers[2] >= covers[3]
    assert veils[1] >= veils[2] >= veils[3]


@pytest.mark.parametrize("preset", PRESETS)
def test_fact_3_below_the_lens_is_worse_still(preset):
    low, level = (
        Place(distance_m=CAMERA_M, side_deg=10.0, height_m=height_m) for height_m in (0.8, EYES_M)
    )
    shown = lenses_for_places(well_fitted(preset), [low, level], SOFTBOX)
    assert shown_by_both(shown[0])[1] > shown_by_both(shown[1])[1]


# ---------------------------------------------------------------- 4
# Common practice, no published source: with the face turned, broad lighting clears far more
# easily than short lighting.
#
# GEOMETRY  face turned 30 (and 20) degrees to camera-right, which shows the camera the sitter's
#           right side; one light 1.6 m away, 15 to 60 degrees to camera-left (broad: it lights
#           the side towards the camera) or to camera-right (short), from 1.2 to 2.0 m high

SIDES_DEG = (15.0, 30.0, 45.0, 60.0)
HEIGHTS_M = (1.2, 1.6, 2.0)


def closed_places(preset, modifier, *, turn_deg, sign):
    """How many of the places the lenses close to the light, and in how many it veils an eye."""
    places = [
        Place(distance_m=1.6, side_deg=sign * side_deg, height_m=height_m)
        for side_deg in SIDES_DEG
        for height_m in HEIGHTS_M
    ]
    shown = lenses_for_places(well_fitted(preset), places, modifier, turn_deg=turn_deg)
    verdicts = [{lens.verdict for lens in lenses} for lenses in shown]
    closed = sum(verdict != {"clear"} for verdict in verdicts)
    return closed, sum("veiled" in verdict for verdict in verdicts)


@pytest.mark.parametrize("modifier", [SOFTBOX, UMBRELLA])
@pytest.mark.parametrize("preset", PRESETS)
def test_fact_4_broad_clears_far_more_easily_than_short(preset, modifier):
    broad, broad_veiled = closed_places(preset, modifier, turn_deg=-30.0, sign=1.0)
    short, short_veiled = closed_places(preset, modifier, turn_deg=-30.0, sign=-1.0)
    assert short >= 7  # of 12
    assert short_veiled >= 3
    assert broad_veiled == 0
    assert broad <= (short / 2 if preset == WRAP else 0)


@pytest.mark.parametrize("preset", PRESETS)
def test_fact_4_holds_for_a_smaller_turn(preset):
    broad, _ = closed_places(preset, SOFTBOX, turn_deg=-20.0, sign=1.0)
    short, _ = closed_places(preset, SOFTBOX, turn_deg=-20.0, sign=-1.0)
    assert short >= 7
    # A wrapped lens on the side of the camera still looks past it to the broad side.
    assert broad <= (short - 2 if preset == WRAP else short / 2)


# ---------------------------------------------------------------- 5
# Common practice, no published source: a small flash about 2.4 m in front of the sitter, aimed
# at a white ceiling midway between, is clear.
#
# GEOMETRY  bare small flash at full power, 2.4 m from the sitter, 10 degrees aside of the
#           camera, 1.5 m high; ceiling 2.75 m, reflectance 0.8

CEILING_FLASH = light(
    "flash",
    Place(distance_m=2.4, side_deg=10.0, height_m=1.5),
    "bare small flash",
    head=SMALL_FLASH,
    aim="ceiling",
    power_stops=0.0,
)


@pytest.mark.parametrize("preset", PRESETS)
def test_fact_5_small_flash_off_a_white_ceiling_is_clear(preset):
    report = check_setup(portrait(well_fitted(preset), [CEILING_FLASH]))
    assert report.verdict == "clear"
    assert worst_veil(report) == 0.0
    # What shows is the spill of the flash itself, a point, or the far end of the ceiling.
    assert worst_cover(report) < 0.01


def test_fact_5_the_same_flash_aimed_at_the_face_shows():
    flash = changed(CEILING_FLASH, {"aim": "face", "place": at(0.3, 2.4, 1.1)})
    report = check_setup(portrait(well_fitted(PLANO), [flash]))
    assert any(lens.reflections for lens in report.lenses)


# ---------------------------------------------------------------- 6
# Common practice, no published source: two upright medium softboxes in front at about 1.9 m with
# two flashes behind the sitter on a white wall are clear.
#
# GEOMETRY  softboxes 1.1 m to either side and 1.5 m in front, 1.9 m high; bare small flashes
#           0.8 m to either side and 1.0 m behind the sitter, 1.2 m high, aimed at the wall
#           behind, 2.5 m from the sitter, reflectance 0.8

WHITE_ROOM = changed(ROOM, {"wall_reflectance": 0.8})


@functools.cache
def check_wall_and_softboxes(preset):
    front = [
        light(name, at(x_m, 1.5, 1.9), SOFTBOX) for name, x_m in (("left", 1.1), ("right", -1.1))
    ]
    behind = [
        light(
            name,
            at(x_m, -1.0, 1.2),
            "bare small flash",
            head=SMALL_FLASH,
            aim="wall behind",
            power_stops=0.0,
        )
        for name, x_m in (("back left", 0.8), ("back right", -0.8))
    ]
    return check_setup(portrait(well_fitted(preset), front + behind, room=WHITE_ROOM))


@pytest.mark.parametrize("preset", PRESETS)
def test_fact_6_lit_wall_behind_never_shows_and_the_eyes_are_free(preset):
    report = check_wall_and_softboxes(preset)
    shown = {one.source for lens in report.lenses for one in lens.reflections}
    assert shown <= {"left", "right"}
    assert worst_veil(report) < CLEAR_VEIL


@pytest.mark.parametrize("preset", [THIN, PROGRESSIVE, STRONG_PLUS, WRAP, RIMLESS, HALF_RIM])
def test_fact_6_two_high_softboxes_and_a_lit_wall_are_clear(preset):
    assert check_wall_and_softboxes(preset).verdict == "clear"


@pytest.mark.parametrize("preset", [PLANO, ACETATE, MILD_MINUS, CAT_EYE])
def test_fact_6_is_at_the_limit_where_fact_1_is(preset):
    assert 0.02 < worst_cover(check_wall_and_softboxes(preset)) < 0.04


@pytest.mark.parametrize("preset", [STRONG_MINUS, ROUND_WIRE])
def test_fact_6_strong_minus_lenses_keep_a_corner_in_the_back_surface(preset):
    report = check_wall_and_softboxes(preset)
    assert 0.025 < worst_cover(report) < 0.06
    assert worst_veil(report) < CLEAR_VEIL
    assert {one.surface for lens in report.lenses for one in lens.reflections} == {"back"}


# ---------------------------------------------------------------- 7
# Common practice, no published source: tilting the glasses down brings the upper rim over the
# eye. A cost, and not a cure to be offered.
#
# GEOMETRY  the softbox of fact 1 at 1.4 m; the glasses let down the nose by so many mm, or
#           tilted about the middle of the lens, seen from eye level

SLIPPED_MM = (0.0, 4.0, 8.0, 12.0, 16.0, 20.0)


@functools.cache
def check_slipped(preset, slipped_mm, more_tilt_deg=0.0):
    worn = well_fitted(preset, slipped_mm=slipped_mm)
    tilt_deg = worn.pantoscopic_tilt_deg + more_tilt_deg
    glasses = changed(worn, {"pantoscopic_tilt_deg": tilt_deg})
    return check_setup(portrait(glasses, [light("key", beside(LOW_M), SOFTBOX)]))


def behind_rim(report):
    return max(sight.rim_share for sight in report.sights)


@pytest.mark.parametrize("preset", PRESETS)
def test_fact_7_letting_the_glasses_down_brings_the_upper_rim_over_the_eye(preset):
    reports = [check_slipped(preset, slipped_mm) for slipped_mm in SLIPPED_MM]
    shares = [behind_rim(report) for report in reports]
    assert shares[0] == 0.0
    covered = int(np.argmax(np.array(shares) > 0.02))
    assert covered > 0
    # From above the lens the rim comes down: the upper edge of the lens is so far above the
    # pupil, the upper lid 3.9 mm; the rim reaches 1/4 of its width inside the edge.
    glasses = well_fitted(preset)
    over_pupil_mm = glasses.lens_height_mm - glasses.assumed_pupil_height_mm
    gap_mm = over_pupil_mm - glasses.rim_width_mm / 4 - 3.9
    assert SLIPPED_MM[covered - 1] < gap_mm + 2.0
    assert SLIPPED_MM[covered] > gap_mm - 2.0


@pytest.mark.parametrize("preset", PRESETS)
def test_fact_7_the_cost_is_shown_and_the_cure_is_not_offered(preset):
    seated = check_slipped(preset, 0.0)
    slipped = max((check_slipped(preset, one) for one in SLIPPED_MM), key=behind_rim)
    found = [finding for finding in slipped.findings if finding.code == "rim-over-eye"]
    assert found
    assert all("Seat the glasses" in finding.what_to_do for finding in found)
    for finding in (*seated.findings, *slipped.findings):
        advice = finding.what_to_do.lower()
        assert not any(
            word in advice for word in ("tilt the glasses", "down the nose", "chin down")
        )
        assert "take" not in advice or "glasses off" not in advice


@pytest.mark.parametrize("preset", PRESETS)
def test_fact_7_it_is_tempting_because_it_works(preset):
    # A lens tilted 10 degrees more looks 20 degrees lower: the light leaves by the top.
    seated, tilted = (check_slipped(preset, 0.0, more_tilt_deg=more) for more in (0.0, 10.0))
    assert worst_cover(tilted) < 0.9 * worst_cover(seated)


@pytest.mark.parametrize("preset", PRESETS)
def test_fact_7_tilt_alone_hardly_lowers_the_rim(preset):
    # Turned about its middle by 10 degrees, half a lens comes down by 1 - cos, under 1 mm: what
    # brings the rim over the eye is the way down the nose that comes with it.
    assert behind_rim(check_slipped(preset, 0.0, more_tilt_deg=10.0)) == 0.0
