"""Each lens sits where the optician's numbers put it, and bends light as the card says.

Head frame: origin midway between the corneas, x to the sitter's right, y out of the face, z up.
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.anatomy import HeadPose, LensGuess, edge_outline, eyes, lens_stack
from tapemark.optics import LensOptics, trace_lens
from tapemark.studio import GLASSES_PRESETS, FaceMeasures, Glasses, Prescription, Sitter, changed

MM = 1e-3
SIDES = {"right": 0, "left": 1}
HEAD = HeadPose(origin=np.zeros(3), axes=np.eye(3))  # so that the world is the head frame
MIRROR = np.diag([-1.0, 1.0, 1.0])
POWER_TOLERANCE_D = 1e-5  # rays 0.001 mm off the axis leave 1e-7 D
NEAR_AXIS_M = 1e-6
AS_STATED = (LensGuess(),)

measures = st.fixed_dictionaries(
    {
        "lens_width_mm": st.floats(42.0, 62.0),
        "lens_height_mm": st.floats(24.0, 52.0),
        "bridge_mm": st.floats(14.0, 24.0),
        "pantoscopic_tilt_deg": st.floats(-5.0, 20.0),
        "face_form_deg": st.floats(0.0, 20.0),
        "vertex_distance_mm": st.floats(8.0, 18.0),
        "slipped_mm": st.floats(0.0, 10.0),
    }
)
interpupillary = st.floats(54.0, 74.0)
cards = st.builds(
    Prescription,
    sphere_d=st.floats(-8.0, 5.0),
    cylinder_d=st.floats(-3.0, 3.0),
    axis_deg=st.floats(0.0, 180.0),
)


def sitter_with(glasses, *, interpupillary_mm=63.0):
    face = FaceMeasures(interpupillary_mm=interpupillary_mm)
    return Sitter(eye_height_m=1.2, gaze="ahead", face=face, glasses=glasses)


def built(glasses, *, interpupillary_mm=63.0, guesses=AS_STATED):
    sitter = sitter_with(glasses, interpupillary_mm=interpupillary_mm)
    return lens_stack(glasses, sitter=sitter, pose=HEAD, guesses=guesses)


def plain(**changes):
    """Glasses that hang upright and square before the face unless told otherwise."""
    values = {
        "lens_width_mm": 52.0,
        "lens_height_mm": 36.0,
        "bridge_mm": 18.0,
        "pantoscopic_tilt_deg": 0.0,
        "face_form_deg": 0.0,
        **changes,
    }
    return Glasses(**values)


def surfaces_of(stack, number):
    """The surfaces of one lens of a stack."""
    return LensOptics(
        front_curvature=stack.front_curvature[number],
        back_curvature_a=stack.back_curvature_a[number],
        back_curvature_b=stack.back_curvature_b[number],
        back_axis=stack.back_axis[number],
        thickness_m=stack.thickness_m[number],
        index=stack.index[number],
        coating_reflectance=None,
    )


def back_vertex_power_d(stack, number, *, along):
    """Trace light along the axis through a built lens, just off it; return power and skew.

    Power: 1 over the distance behind the back vertex at which the ray comes back to the axis.
    Skew: deviation square to the displacement, over the deviation along it.
    """
    across = np.array([along[0], 0.0, along[1]])
    point = NEAR_AXIS_M * across
    point[1] = -stack.front_curvature[number] * NEAR_AXIS_M**2 / 2
    far = point + np.array([0.0, 10.0, 0.0])
    ray = trace_lens(far, point, lens=surfaces_of(stack, number)).through
    height, rate = ray.origins @ across, ray.directions @ across / -ray.directions[1]
    square = np.array([-along[1], 0.0, along[0]])
    return -rate / height, ray.directions @ square / height


# ---------------------------------------------------------------- power and axis


@given(right=cards, left=cards)
def test_built_lens_has_the_power_of_the_card_in_both_meridians(right, left):
    # The card counts an axis as one who faces the wearer sees it: from the right hand of the
    # one who looks (the wearer's left, -x), anticlockwise, so 90 is upright and 45 rises
    # towards the wearer's left. Along the axis the sphere works alone.
    stack = built(plain(right=right, left=left))
    for number, card in enumerate((right, left)):
        axis = math.radians(card.axis_deg)
        along_axis = (-math.cos(axis), math.sin(axis))
        square_to_it = (math.sin(axis), math.cos(axis))
        for direction, power in (
            (along_axis, card.sphere_d),
            (square_to_it, card.sphere_d + card.cylinder_d),
        ):
            found, skew = back_vertex_power_d(stack, number, along=direction)
            np.testing.assert_allclose(found, power, rtol=0, atol=POWER_TOLERANCE_D)
            np.testing.assert_allclose(skew, 0.0, rtol=0, atol=POWER_TOLERANCE_D)


@pytest.mark.parametrize("preset", GLASSES_PRESETS)
def test_every_preset_is_built_with_its_own_power(preset):
    glasses = Glasses(preset=preset)
    stack = built(glasses)
    for number, card in enumerate((glasses.assumed_right, glasses.assumed_left)):
        axis = math.radians(card.axis_deg)
        found, _ = back_vertex_power_d(stack, number, along=(-math.cos(axis), math.sin(axis)))
        np.testing.assert_allclose(found, card.sphere_d, rtol=0, atol=POWER_TOLERANCE_D)


def test_cylinder_at_axis_45_turns_light_aside_to_the_side_the_card_says():
    # -2.00 axis 45: all the power lies square to the axis, along the wearer's upper right.
    # Light that meets the lens above its centre is then spread up and to the wearer's right.
    card = Prescription(sphere_d=0.0, cylinder_d=-2.0, axis_deg=45.0)
    stack = built(plain(right=card, left=card))
    power_d, skew_d = back_vertex_power_d(stack, 0, along=(0.0, 1.0))
    np.testing.assert_allclose(power_d, -1.0, rtol=0, atol=POWER_TOLERANCE_D)
    np.testing.assert_allclose(skew_d, -1.0, rtol=0, atol=POWER_TOLERANCE_D)  # -1 D towards -x


def test_plus_and_minus_cylinder_forms_make_one_lens():
    minus = Prescription(sphere_d=-1.0, cylinder_d=-1.5, axis_deg=20.0)
    plus = Prescription(sphere_d=-2.5, cylinder_d=1.5, axis_deg=110.0)
    stack = built(plain(right=minus, left=plus))
    for angle in np.linspace(0.0, np.pi, 7):
        along = (math.cos(angle), math.sin(angle))
        right, left = (back_vertex_power_d(stack, number, along=along) for number in (0, 1))
        np.testing.assert_allclose(right, left, rtol=0, atol=POWER_TOLERANCE_D)


# ---------------------------------------------------------------- optical centre and depth


@given(sizes=measures, interpupillary_mm=interpupillary)
def test_optical_centre_is_before_the_pupil_half_a_mm_lower_for_each_degree(
    sizes, interpupillary_mm
):
    # In the plane of the frame: where the optician marks it on the lens.
    glasses = Glasses(**sizes)
    stack = built(glasses, interpupillary_mm=interpupillary_mm)
    offset = stack.optical_origin - stack.boxed_origin
    marked = np.einsum("ni,nij->nj", offset, stack.boxed_axes)
    across = (interpupillary_mm - glasses.lens_width_mm - glasses.bridge_mm) / 2 * MM
    above_bottom = glasses.lens_height_mm / 2 * MM + marked[:, 2]
    lowered = 0.5 * MM * glasses.pantoscopic_tilt_deg
    np.testing.assert_allclose(marked[:, 0], [across, -across], rtol=0, atol=1e-12)
    np.testing.assert_allclose(
        above_bottom, glasses.assumed_pupil_height_mm * MM - lowered, rtol=0, atol=1e-12
    )


@given(
    width_mm=st.floats(42.0, 62.0),
    height_mm=st.floats(24.0, 52.0),
    interpupillary_mm=interpupillary,
)
def test_upright_lens_has_its_optical_centre_straight_before_the_pupil(
    width_mm, height_mm, interpupillary_mm
):
    glasses = plain(lens_width_mm=width_mm, lens_height_mm=height_mm)
    stack = built(glasses, interpupillary_mm=interpupillary_mm)
    half = interpupillary_mm / 2 * MM
    np.testing.assert_allclose(stack.optical_origin[:, 0], [half, -half], rtol=0, atol=1e-12)
    np.testing.assert_allclose(stack.optical_origin[:, 2], 0.0, rtol=0, atol=1e-12)


@given(sizes=measures, interpupillary_mm=interpupillary, right=cards, left=cards)
def test_both_lenses_sit_in_one_frame(sizes, interpupillary_mm, right, left):
    stack = built(Glasses(**sizes, right=right, left=left), interpupillary_mm=interpupillary_mm)
    np.testing.assert_allclose(
        stack.boxed_origin[0, 1:], stack.boxed_origin[1, 1:], rtol=0, atol=1e-12
    )


@given(sizes=measures, interpupillary_mm=interpupillary, right=cards)
def test_cornea_is_the_vertex_distance_behind_the_lens(sizes, interpupillary_mm, right):
    # Straight out from the cornea, by as much as the glasses have not slipped down and forward,
    # lies the back surface: 2 y + c (x^2 + y^2 + z^2) = 0 from its vertex for a sphere; for a
    # torus the two meridians' circles, one turned about the axis of the other.
    left = changed(right, {"axis_deg": 180.0 - right.axis_deg})  # the mirror image
    glasses = Glasses(**sizes, right=right, left=left)
    stack = built(glasses, interpupillary_mm=interpupillary_mm)
    sitter = sitter_with(glasses, interpupillary_mm=interpupillary_mm)
    both = eyes(sitter, pose=HEAD, looks_at=None)
    corneal_vertex = both.cornea_center + both.cornea_radius_m * both.gaze
    slip = glasses.slipped_mm * MM
    forward = glasses.vertex_distance_mm * MM + slip / 2
    back = corneal_vertex + np.array([0.0, forward, -slip])
    for number in (0, 1):
        x, y, z = (back[number] - stack.optical_origin[number]) @ stack.optical_axes[number]
        depth = -(y + stack.thickness_m[number])
        angle = stack.back_axis[number]
        along = x * math.cos(angle) + z * math.sin(angle)
        square = z * math.cos(angle) - x * math.sin(angle)
        c_a, c_b = stack.back_curvature_a[number], stack.back_curvature_b[number]
        circle = c_b * square**2 / (1.0 + math.sqrt(1.0 - (c_b * square) ** 2))
        on_torus = 2.0 * (depth - circle) - c_a * (depth**2 - circle**2 + along**2)
        np.testing.assert_allclose(on_torus, 0.0, rtol=0, atol=1e-12)


# ---------------------------------------------------------------- box, tilt, wrap


@given(sizes=measures)
def test_boxes_stand_apart_and_high_as_their_sizes_say(sizes):
    glasses = Glasses(**sizes)
    stack = built(glasses)
    apart = (glasses.lens_width_mm + glasses.bridge_mm) / 2 * MM
    up = glasses.lens_height_mm / 2 - glasses.assumed_pupil_height_mm - glasses.slipped_mm
    np.testing.assert_allclose(stack.boxed_origin[:, 0], [apart, -apart], rtol=0, atol=1e-12)
    np.testing.assert_allclose(stack.boxed_origin[:, 2], up * MM, rtol=0, atol=1e-12)


@pytest.mark.parametrize("preset", GLASSES_PRESETS)
@pytest.mark.parametrize("side", SIDES)
def test_edge_of_the_lens_fills_its_box(preset, side):
    glasses, number = Glasses(preset=preset), SIDES[side]
    stack = built(glasses)
    edge = edge_outline(stack, index=number, count=720) - stack.boxed_origin[number]
    flat = edge @ stack.boxed_axes[number]
    span = np.ptp(flat, axis=0)
    np.testing.assert_allclose(span[0], glasses.lens_width_mm * MM, rtol=0, atol=0.01 * MM)
    np.testing.assert_allclose(span[2], glasses.lens_height_mm * MM, rtol=0, atol=0.01 * MM)


@given(sizes=measures)
def test_tilt_turns_the_front_downwards_and_wrap_turns_it_outwards(sizes):
    glasses = Glasses(**sizes)
    stack = built(glasses)
    tilt = math.radians(glasses.pantoscopic_tilt_deg)
    wrap = math.radians(glasses.face_form_deg)
    down = -math.sin(tilt)
    out = math.sin(wrap) * math.cos(tilt)
    for number, outward in enumerate((1.0, -1.0)):
        normal = stack.boxed_axes[number][:, 1]
        np.testing.assert_allclose(normal[2], down, rtol=0, atol=1e-12)
        np.testing.assert_allclose(normal[0], outward * out, rtol=0, atol=1e-12)
        assert normal[1] > 0.0


def test_tilted_lens_has_its_lower_rim_nearer_to_the_cheek():
    stack = built(plain(pantoscopic_tilt_deg=10.0))
    for number in (0, 1):
        edge = edge_outline(stack, index=number)
        top, bottom = edge[np.argmax(edge[:, 2])], edge[np.argmin(edge[:, 2])]
        expected = 36.0 * MM * math.sin(math.radians(10.0))
        np.testing.assert_allclose(top[1] - bottom[1], expected, rtol=0, atol=0.5 * MM)


def test_wrapped_lens_has_its_outer_rim_swept_back():
    stack = built(plain(face_form_deg=10.0))
    for number, outward in enumerate((1.0, -1.0)):
        edge = edge_outline(stack, index=number)
        outer = edge[np.argmax(outward * edge[:, 0])]
        inner = edge[np.argmin(outward * edge[:, 0])]
        expected = 52.0 * MM * math.sin(math.radians(10.0))
        np.testing.assert_allclose(inner[1] - outer[1], expected, rtol=0, atol=0.5 * MM)


@given(sizes=measures, card=cards)
def test_lens_pair_is_its_own_mirror_image(sizes, card):
    across = Prescription(
        sphere_d=card.sphere_d, cylinder_d=card.cylinder_d, axis_deg=180.0 - card.axis_deg
    )
    stack = built(Glasses(**sizes, right=card, left=across))
    for kind in ("optical", "boxed"):
        origin = getattr(stack, f"{kind}_origin")
        axes = getattr(stack, f"{kind}_axes")
        np.testing.assert_allclose(origin[1], MIRROR @ origin[0], rtol=0, atol=1e-12)
        np.testing.assert_allclose(axes[1], MIRROR @ axes[0] @ MIRROR, rtol=0, atol=1e-12)
    for name in ("front_curvature", "back_curvature_a", "back_curvature_b", "thickness_m"):
        values = getattr(stack, name)
        np.testing.assert_allclose(values[1], values[0], rtol=1e-12, err_msg=name)


@given(sizes=measures)
def test_lenses_move_with_the_head(sizes):
    glasses = Glasses(**sizes)
    turned = HeadPose(
        origin=np.array([0.3, -0.2, 1.1]),
        axes=np.array([[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]]),
    )
    at_home = built(glasses)
    moved = lens_stack(glasses, sitter=sitter_with(glasses), pose=turned)
    np.testing.assert_allclose(
        moved.optical_origin,
        at_home.optical_origin @ turned.axes.T + turned.origin,
        rtol=0,
        atol=1e-12,
    )
    np.testing.assert_allclose(
        moved.boxed_axes, turned.axes @ at_home.boxed_axes, rtol=0, atol=1e-12
    )


# ---------------------------------------------------------------- what is guessed


def test_guesses_change_only_what_they_name():
    glasses = plain(right=Prescription(sphere_d=-2.0), pantoscopic_tilt_deg=8.0)
    stack = built(
        glasses,
        guesses=(
            LensGuess(),
            LensGuess(base_curve_shift_d=1.0),
            LensGuess(pantoscopic_tilt_deg=15.0),
            LensGuess(face_form_deg=10.0),
        ),
    )
    steeper = (stack.front_curvature[2] - stack.front_curvature[0]) * 0.530
    np.testing.assert_allclose(steeper, 1.0 * MM * 1000, rtol=1e-12)  # 530/R(mm): 1 D label
    np.testing.assert_allclose(stack.front_curvature[4:], stack.front_curvature[0], rtol=1e-12)
    normal = stack.boxed_axes[::2, :, 1]
    np.testing.assert_allclose(normal[1], normal[0], rtol=0, atol=1e-12)
    np.testing.assert_allclose(normal[2][2], -math.sin(math.radians(15.0)), rtol=0, atol=1e-12)
    np.testing.assert_allclose(
        math.atan2(normal[3][0], normal[3][1]), math.radians(10.0), rtol=0, atol=1e-12
    )
    for number in range(8):  # whatever is guessed, the card is still met
        found, _ = back_vertex_power_d(stack, number, along=(1.0, 0.0))
        np.testing.assert_allclose(found, -2.0, rtol=0, atol=POWER_TOLERANCE_D)


def test_stated_base_curve_is_built_and_an_unknown_one_follows_the_prescription():
    stated = built(plain(base_curve_d=6.0, right=Prescription(sphere_d=-4.0)))
    np.testing.assert_allclose(1.0 / stated.front_curvature, 0.530 / 6.0, rtol=1e-12)
    flat, round_ = (
        built(plain(right=Prescription(sphere_d=sphere_d))).front_curvature[0]
        for sphere_d in (-6.0, 4.0)
    )
    assert 0.0 < flat < round_
