"""What every portrait photographer knows about modelling: the model must know it too.

All of it is common practice, no published source. Seated sitter, eyes 1.20 m up, face and camera
straight on unless said; one key at 1.5 m aimed at the face, angles from the nose.
"""

import math

import numpy as np
import pytest

from tapemark.analysis import build_scene, face_light, modelling, modelling_findings
from tapemark.studio import (
    Camera,
    Glasses,
    Head,
    Light,
    Modifier,
    Panel,
    Place,
    Room,
    Setup,
    Sitter,
)

EYES_M = 1.2
SOFTBOX = Modifier(preset="medium softbox 60x90 cm")
DISH = Modifier(preset="reflector dish 18 cm")


def at(across_deg, up_deg, distance_m=1.5):
    up = math.radians(up_deg)
    return Place(
        distance_m=distance_m * math.cos(up),
        side_deg=across_deg,
        height_m=EYES_M + distance_m * math.sin(up),
    )


def lamp(name, place, modifier=SOFTBOX, power=-2.0):
    head = Head(preset="400 Ws studio head")
    return Light(
        name=name, head=head, modifier=modifier, place=place, aim="face", power_stops=power
    )


def scene_of(*lights, panels=(), **sitter):
    return build_scene(
        Setup(
            room=Room(width_m=8.0, length_m=9.0, height_m=4.0, behind_sitter_m=4.0),
            sitter=Sitter(eye_height_m=EYES_M, **sitter),
            camera=Camera(place=Place(distance_m=2.0, height_m=EYES_M), focal_length_mm=85.0),
            lights=lights,
            panels=panels,
        )
    )


def modelled(*lights, **more):
    scene = scene_of(*lights, **more)
    return modelling(scene, light=face_light(scene))


def findings(*lights, **more):
    scene = scene_of(*lights, **more)
    found = modelling_findings(scene, modelling(scene, light=face_light(scene)))
    return {one.code: one for one in found}


@pytest.mark.parametrize("modifier", [SOFTBOX, DISH])
def test_light_high_overhead_leaves_dark_sockets(modifier):
    # Common practice, no published source: "raccoon eyes".
    found = findings(lamp("key", at(0.0, 70.0), modifier))
    assert "eyes-shaded" in found
    assert "lower key" in found["eyes-shaded"].what_to_do.lower()
    assert "eyes-shaded" not in findings(lamp("key", at(0.0, 35.0), modifier))


def test_panel_from_below_opens_the_sockets():
    # Common practice, no published source.
    key = lamp("key", at(0.0, 52.0), SOFTBOX)
    board = Panel(
        name="board", place=at(0.0, -35.0, 0.7), width_m=1.0, height_m=0.7, reflectance=0.9
    )
    alone, with_board = modelled(key), modelled(key, panels=(board,))
    for eye, opened in zip(alone.eyes, with_board.eyes, strict=True):
        assert opened.head_share < eye.head_share
    assert (alone.pattern, with_board.pattern) == ("butterfly", "clamshell")
    assert with_board.ratio.fill == "board"


def test_swinging_the_key_round_goes_through_the_patterns():
    # Common practice, no published source: in front butterfly, then loop, Rembrandt, split.
    names = [modelled(lamp("key", at(across, 35.0))).pattern for across in (0, 25, 47)]
    assert [*names, modelled(lamp("key", at(88.0, 5.0))).pattern] == [
        *("butterfly", "loop", "Rembrandt", "split")
    ]


def test_split_light_leaves_half_the_face_dark():
    # Common practice, no published source.
    found = modelled(lamp("key", at(90.0, 5.0), DISH))
    assert found.left_cheek.exposure_lx_s < 0.02 * found.right_cheek.exposure_lx_s
    assert found.eyes[1].key_head_share > 0.9  # nose and brow shade the far eye


def test_broad_light_is_flatter_to_the_camera_than_short():
    # Common practice, no published source: the cheek turned to the camera is lit or dark.
    broad = modelled(lamp("key", at(-10.0, 30.0)), turn_deg=35.0)
    short = modelled(lamp("key", at(80.0, 30.0)), turn_deg=35.0)
    assert (broad.face_side, short.face_side) == ("broad", "short")
    assert broad.left_cheek.exposure_lx_s > broad.right_cheek.exposure_lx_s  # left to the camera
    assert short.left_cheek.exposure_lx_s < short.right_cheek.exposure_lx_s


def test_flash_on_the_camera_is_flat():
    # Common practice, no published source.
    found = findings(lamp("flash", Place(distance_m=2.0, height_m=EYES_M + 0.15), DISH))
    assert "light-flat" in found
    assert found["light-flat"].severity == "note"


def test_torch_from_below_is_told():
    # Common practice, no published source: "monster light".
    found = findings(lamp("key", at(0.0, -35.0), DISH))
    assert "lit-from-below" in found


def test_fill_closes_the_contrast():
    # Common practice, no published source: without fill a Rembrandt's shadow side goes dark.
    key = lamp("key", at(57.0, 32.0), DISH)
    fill = lamp("fill", at(-12.0, 5.0), SOFTBOX, power=-2.0)
    alone, both = modelled(key), modelled(key, fill)
    assert alone.highlight_to_shadow is None or alone.highlight_to_shadow > 8.0
    assert both.highlight_to_shadow < 5.0
    assert "shadow-deep" in findings(key)
    assert "shadow-deep" not in findings(key, fill)


def test_larger_light_softens_the_noses_shadow():
    # Common practice, no published source.
    hard, soft = (modelled(lamp("key", at(15.0, 45.0), one)).nose for one in (DISH, SOFTBOX))
    assert soft.edge_mm > 2.0 * hard.edge_mm


def test_small_light_shines_on_skin_more_than_a_large_near_one():
    # Common practice, no published source. A large softbox close by against a bare dish.
    large = Modifier(kind="softbox", width_m=1.2, height_m=1.2)
    small, soft = (
        modelled(lamp("key", at(0.0, 10.0, 1.0), one), skin_reflectance=0.2)
        for one in (DISH, large)
    )
    for hard, spread in zip(small.sheen[:1], soft.sheen[:1], strict=True):
        assert hard.region == "forehead"
        assert hard.stops_over_skin > spread.stops_over_skin + 0.1


def test_light_from_behind_shines_on_the_nose():
    # Common practice, no published source: a hard rim light catches the tip of the nose.
    key = lamp("key", at(25.0, 30.0))
    kicker = lamp("kicker", at(-125.0, 20.0), DISH, power=0.0)
    plain, kicked = modelled(key), modelled(key, kicker)
    assert kicked.pattern == "loop"  # the kicker is not the key
    assert kicked.key == "key"
    assert kicked.sheen[1].stops_over_skin > plain.sheen[1].stops_over_skin
    assert kicked.sheen[1].source == "kicker"


def test_steeper_key_pushes_the_rims_shadow_over_the_eye():
    # Common practice, no published source: thick frames and a high hard light.
    glasses = Glasses(
        preset="heavy acetate rectangular", pantoscopic_tilt_deg=8.0, face_form_deg=5.0
    )
    shares = [
        max(
            eye.key_rim_share
            for eye in modelled(lamp("key", at(0.0, up), DISH), glasses=glasses).eyes
        )
        for up in (0.0, 20.0, 35.0)
    ]
    assert shares[0] < 0.02
    assert max(shares[1:]) > 0.2
    np.testing.assert_allclose(
        [eye.key_rim_share for eye in modelled(lamp("key", at(0.0, 35.0), DISH)).eyes], 0.0
    )


@pytest.mark.parametrize("across_deg", [-38.0, 38.0])
def test_sound_setup_says_nothing(across_deg):
    # Common practice, no published source: a softbox as loop key with fill beside the camera.
    key = lamp("key", at(across_deg, 32.0))
    fill = lamp("fill", at(-across_deg / 3, 8.0, 1.8), power=-4.0)
    assert findings(key, fill) == {}
