"""The mannequin is where anatomy says, closed where it must be, and the same for the same name."""

import time
from dataclasses import replace

import numpy as np
import pytest

from tapemark.anatomy import (
    body_of,
    body_pose,
    eyes,
    head_pose,
    head_surface,
    lens_stack,
    opening_outline,
)
from tapemark.geometry import to_local
from tapemark.optics import spherical_normal, toric_normal
from tapemark.rendering.mannequin.clothes import NECK_MIDDLE_MM, sleeve_lines
from tapemark.rendering.mannequin.face import FaceShape
from tapemark.rendering.mannequin.figure import mannequin
from tapemark.rendering.mannequin.hair import cover_of
from tapemark.rendering.mannequin.hair_locks import locks
from tapemark.rendering.mannequin.hair_styles import STYLES
from tapemark.rendering.mannequin.looks import HAIR_STYLES, look_of, skin_color
from tapemark.studio import Appearance, FaceMeasures, Glasses, Prescription, Sitter
from tapemark.studio.glasses_facts import OUTLINE_SHAPES

MM = 1e-3
PREVIEW = 0.7
CAMERA = np.array([0.0, 1.6, 1.25])
ASTIGMATIC = Glasses(
    lens_width_mm=50,
    lens_height_mm=38,
    bridge_mm=19,
    right=Prescription(sphere_d=-4.0, cylinder_d=-2.0, axis_deg=25),
    left=Prescription(sphere_d=2.5, cylinder_d=-1.0, axis_deg=120),
    face_form_deg=6.0,
)


def built(sitter, *, fineness=PREVIEW, looks_at=None, **choices):
    pose = head_pose(sitter)
    lenses = None
    if sitter.glasses is not None:
        lenses = lens_stack(sitter.glasses, sitter=sitter, pose=pose)
    return mannequin(
        sitter,
        pose=pose,
        eyes=eyes(sitter, pose=pose, looks_at=looks_at),
        lenses=lenses,
        fineness=fineness,
        **choices,
    )


def directed_edges(part):
    """Directed edges between places, where corners meet; faces without area are left out."""
    _, place = np.unique(np.round(part.vertices / 1e-8), axis=0, return_inverse=True)
    faces = place.reshape(-1)[part.faces]
    after = np.roll(faces, -1, axis=1)
    faces, after = (one[(faces != after).all(axis=1)] for one in (faces, after))
    return np.stack([faces.ravel(), after.ravel()], axis=-1)


def volume(part):
    corners = part.vertices[part.faces] - part.vertices.mean(axis=0)
    return np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])).sum() / 6


@pytest.fixture(scope="module")
def wearer():
    sitter = Sitter(name="Ines", glasses=ASTIGMATIC, turn_deg=25, chin_deg=5, tip_deg=-4)
    return sitter, built(sitter, looks_at=CAMERA)


# ---------------------------------------------------------------- meshes


CLOSED = ["eyeball", "lens", "rim", "temple"]


@pytest.mark.parametrize("kind", CLOSED)
@pytest.mark.parametrize("side", ["right", "left"])
def test_solids_are_closed_and_turned_outwards(wearer, side, kind):
    part = wearer[1].part(f"{side} {kind}")
    there = directed_edges(part)
    keys = there[:, 0].astype(np.int64) * (there.max() + 1) + there[:, 1]
    back = there[:, 1].astype(np.int64) * (there.max() + 1) + there[:, 0]
    assert len(np.unique(keys)) == len(keys), "an edge is used twice the same way round"
    np.testing.assert_array_equal(np.sort(keys), np.sort(back))
    assert volume(part) > 0.0


def test_every_normal_is_a_unit_and_on_the_side_of_the_faces(wearer):
    for part in wearer[1].parts:
        np.testing.assert_allclose(
            np.linalg.norm(part.normals, axis=1), 1.0, rtol=0, atol=1e-9, err_msg=part.name
        )
        corners = part.vertices[part.faces]
        flat = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        agree = (flat * part.normals[part.faces].mean(axis=1)).sum(axis=1)
        weight = np.linalg.norm(flat, axis=1)
        assert weight[agree < 0].sum() < 0.01 * weight.sum(), part.name


def test_every_number_is_finite_and_every_reflectance_between_nothing_and_all(wearer):
    for part in wearer[1].parts:
        assert np.isfinite(part.vertices).all(), part.name
        assert part.faces.min() >= 0, part.name
        assert part.faces.max() < len(part.vertices), part.name
        if part.colors is not None:
            assert part.colors.shape == part.vertices.shape, part.name
            assert part.colors.min() >= 0.0, part.name
            assert part.colors.max() <= 1.0, part.name


def test_outward_parts_face_away_from_the_head(wearer):
    # An open skin has no volume of its own; its normals must lead away from the head's middle.
    sitter, shown = wearer
    pose = head_pose(sitter)
    skin = shown.part("skin")
    own = to_local(skin.vertices, origin=pose.origin, axes=pose.axes)
    forehead = (own[:, 2] > 0.02) & (own[:, 2] < 0.09)
    middle = pose.origin + pose.axes @ np.array([0.0, -0.08, 0.04])
    away = ((skin.vertices - middle) * skin.normals).sum(axis=1)
    assert (away[forehead] > 0).all()


# ---------------------------------------------------------------- agreement with anatomy


FACES = [
    FaceMeasures(),
    FaceMeasures(
        head_breadth_mm=160, bizygomatic_mm=148, face_height_mm=128, nose_protrusion_mm=25
    ),
    FaceMeasures(interpupillary_mm=56, head_length_mm=180, face_height_mm=104, bizygomatic_mm=126),
]
MARKS = ["sellion", "nose_tip", "subnasale", "glabella", "chin", "right_cheek", "left_cheek"]


@pytest.mark.parametrize(
    ("face", "age"),
    list(zip(FACES, (38, 85, 8), strict=True)),
    ids=["average", "large, old", "small"],
)
def test_landmarks_of_the_head_lie_on_the_skin(face, age):
    sitter = Sitter(name="Marks", face=face, age_years=age)
    pose = head_pose(sitter)
    shown = built(sitter, fineness=1.0)
    skin = to_local(shown.part("skin").vertices, origin=pose.origin, axes=pose.axes)
    marks = head_surface(face).landmarks()
    for name in (*MARKS, "forehead"):
        mark = np.array(getattr(marks, name))
        near = np.hypot(skin[:, 0] - mark[0], skin[:, 2] - mark[2]) < 4.0 * MM
        near &= skin[:, 1] > -60.0 * MM
        offset = skin[near] - mark
        across = np.stack([np.ones(near.sum()), offset[:, 0], offset[:, 2]], axis=-1)
        squares = np.stack([offset[:, 0] ** 2, offset[:, 2] ** 2, offset[:, 0] * offset[:, 2]], -1)
        fit = np.linalg.lstsq(np.hstack([across, squares]), offset[:, 1], rcond=None)[0]
        assert abs(fit[0]) < 0.5 * MM, f"{name} lies {fit[0] / MM:.2f} mm off"


def test_lid_edges_lie_on_the_opening_of_the_eyes():
    sitter = Sitter(name="Lids")
    pose = head_pose(sitter)
    both = eyes(sitter, pose=pose, looks_at=None)
    skin = built(sitter, fineness=1.0).part("skin")
    own = to_local(skin.vertices, origin=pose.origin, axes=pose.axes)
    for outward in (1.0, -1.0):
        outline = opening_outline(eyes=both, outward=outward, count=24)
        places = outline + np.array([outward * sitter.face.interpupillary_mm / 2 * MM, 0.0])
        front = own[own[:, 1] > -0.02]
        nearest = np.hypot(*(front[:, None, [0, 2]] - places).transpose(2, 0, 1)).min(axis=0)
        assert nearest.max() < 0.5 * MM


def test_corneas_and_irises_are_those_of_anatomy(wearer):
    sitter, shown = wearer
    both = eyes(sitter, pose=head_pose(sitter), looks_at=CAMERA)
    for index, side in enumerate(("right", "left")):
        cap = shown.part(f"{side} cornea")
        out = cap.vertices - both.cornea_center[index]
        np.testing.assert_allclose(
            np.linalg.norm(out, axis=1), both.cornea_radius_m, rtol=0, atol=1e-9
        )
        np.testing.assert_allclose(cap.normals, out / both.cornea_radius_m, rtol=0, atol=1e-9)
        ring = shown.part(f"{side} iris").vertices
        depth = (ring - both.iris_center[index]) @ both.gaze[index]
        np.testing.assert_allclose(depth, 0.0, rtol=0, atol=1e-9)
        away = np.linalg.norm(ring - both.iris_center[index], axis=1)
        np.testing.assert_allclose(2 * away.min(), both.pupil_diameter_m, rtol=1e-6)
        np.testing.assert_allclose(2 * away.max(), both.iris_diameter_m, rtol=0.01)


def test_lens_corners_lie_on_the_traced_surfaces_with_their_normals(wearer):
    sitter, shown = wearer
    lens = lens_stack(sitter.glasses, sitter=sitter, pose=head_pose(sitter))
    for index, side in enumerate(("right", "left")):
        part = shown.part(f"{side} lens")
        first, last = part.sections["front"]
        used = np.unique(part.faces[first:last])
        axes = lens.boxed_axes[index]
        own = to_local(part.vertices[used], origin=lens.boxed_origin[index], axes=axes)
        curvature = lens.front_curvature[index]
        radial = curvature * (own**2).sum(axis=1) + 2.0 * own[:, 1]
        np.testing.assert_allclose(radial / 2.0, 0.0, rtol=0, atol=1e-6)
        normal = spherical_normal(own, curvature=curvature) @ axes.T
        np.testing.assert_allclose(part.normals[used], normal, rtol=0, atol=1e-9)

        first, last = part.sections["back"]
        used = np.unique(part.faces[first:last])
        axes = lens.optical_axes[index]
        own = to_local(part.vertices[used], origin=lens.optical_origin[index], axes=axes)
        a, b = lens.back_curvature_a[index], lens.back_curvature_b[index]
        cosine, sine = np.cos(lens.back_axis[index]), np.sin(lens.back_axis[index])
        u, v = own[:, 0] * cosine + own[:, 2] * sine, own[:, 2] * cosine - own[:, 0] * sine
        s = -lens.thickness_m[index] - own[:, 1]
        s_v = b * v * v / (1.0 + np.sqrt(1.0 - (b * v) ** 2))
        off = (2.0 * (s - s_v) - a * (s * s - s_v * s_v + u * u)) / 2.0
        np.testing.assert_allclose(off, 0.0, rtol=0, atol=1e-6)
        shape = {
            "curvature_a": a,
            "curvature_b": b,
            "axis_angle": lens.back_axis[index],
            "vertex_y": -lens.thickness_m[index],
        }
        normal = -toric_normal(own, **shape) @ axes.T
        np.testing.assert_allclose(part.normals[used], normal, rtol=0, atol=1e-9)


def test_facets_of_a_lens_miss_the_surface_by_less_than_a_hundredth_of_a_millimetre(wearer):
    sitter, shown = wearer
    lens = lens_stack(sitter.glasses, sitter=sitter, pose=head_pose(sitter))
    part = shown.part("right lens")
    first, last = part.sections["front"]
    corners = part.vertices[part.faces[first:last]]
    own = to_local(corners.mean(axis=1), origin=lens.boxed_origin[0], axes=lens.boxed_axes[0])
    curvature = lens.front_curvature[0]
    off = (curvature * (own**2).sum(axis=1) + 2.0 * own[:, 1]) / 2.0
    assert np.abs(off).max() < 0.01 * MM
    mean = part.normals[part.faces[first:last]].mean(axis=1)
    mean /= np.linalg.norm(mean, axis=1, keepdims=True)
    true = spherical_normal(own, curvature=curvature)
    true /= np.linalg.norm(true, axis=1, keepdims=True)
    turned = np.linalg.norm(mean - true @ lens.boxed_axes[0].T, axis=1)
    assert np.degrees(turned.max()) < 0.01


def test_glasses_do_not_run_through_the_face(wearer):
    sitter, shown = wearer
    lens = lens_stack(sitter.glasses, sitter=sitter, pose=head_pose(sitter))
    skin = shown.part("skin").vertices
    for index in (0, 1):
        own = to_local(skin, origin=lens.boxed_origin[index], axes=lens.boxed_axes[index])
        flat = np.abs(own[:, [0, 2]]) / (0.85 * lens.half_width, 0.85 * lens.half_height)
        behind = (flat < 1.0).all(axis=1) & (own[:, 1] > -0.05)
        front = -0.5 * lens.front_curvature[index] * (own[:, 0] ** 2 + own[:, 2] ** 2)
        assert (own[behind, 1] < front[behind]).all()


# ---------------------------------------------------------------- clothes, hair and ages

CHILD = FaceMeasures(
    interpupillary_mm=54,
    head_breadth_mm=142,
    head_length_mm=180,
    face_height_mm=96,
    nose_protrusion_mm=13,
    bizygomatic_mm=118,
)
PEOPLE = {
    "adult": Sitter(name="Grown", age_years=35),
    "child": Sitter(name="Small", age_years=7, body_height_m=1.24, face=CHILD),
    "tall, turned": Sitter(name="Tall", age_years=70, body_height_m=1.95, turn_deg=40),
}


def in_body(sitter, part):
    frame = body_pose(head_pose(sitter))
    return to_local(part.vertices, origin=frame.origin, axes=frame.axes) / MM


def around_neck(places):
    """Distance from the middle of the neck, angle from the front [deg], height."""
    away = places - (0.0, NECK_MIDDLE_MM, 0.0)
    return (
        np.hypot(away[:, 0], away[:, 1]),
        np.degrees(np.arctan2(away[:, 0], away[:, 1])),
        away[:, 2],
    )


@pytest.mark.parametrize("who", PEOPLE)
@pytest.mark.parametrize("with_collar", [False, True])
def test_no_skin_comes_through_the_jumper(who, with_collar):
    sitter = PEOPLE[who].model_copy(update={"look": Appearance(collar=with_collar)})
    shown = built(sitter, fineness=1.0)
    skin, jumper = (in_body(sitter, shown.part(name)) for name in ("skin", "jumper"))
    out, angle, up = around_neck(jumper)
    neckline = np.array([up[np.abs(angle - turn) < 6.0].max() for turn in range(-174, 180, 12)])
    reach, turned, height = around_neck(skin)
    top = np.interp(turned, np.arange(-174, 180, 12), neckline)
    checked = 0
    for place in np.flatnonzero((height < top - 14.0) & (height > top - 60.0))[::7]:
        near = (np.abs(angle - turned[place]) < 5.0) & (np.abs(up - height[place]) < 6.0)
        if near.any():
            checked += 1
            assert out[near].max() > reach[place], (
                f"at {turned[place]:.0f} deg, {height[place]:.0f}"
            )
    assert checked > 20


@pytest.mark.parametrize("who", PEOPLE)
def test_a_shirt_collar_closes_round_the_neck(who):
    sitter = PEOPLE[who].model_copy(update={"look": Appearance(collar=True)})
    shown = built(sitter, fineness=1.0)
    out, angle, up = around_neck(in_body(sitter, shown.part("collar")))
    reach, turned, height = around_neck(in_body(sitter, shown.part("skin")))
    fold = np.array([up[np.abs(angle - turn) < 4.0].max() for turn in range(-180, 181, 8)])
    assert np.abs(np.diff(fold)).max() < 6.0  # no gap, and no step
    for turn, high in zip(range(-180, 181, 16), fold[::2], strict=False):
        if abs(turn) > 176:
            continue  # where angles begin again
        stand = (np.abs(angle - turn) < 5.0) & (np.abs(up - high) < 10.0)
        neck = (np.abs(turned - turn) < 8.0) & (np.abs(height - high) < 12.0)
        assert -2.0 < out[stand].min() - reach[neck].max() < 24.0, f"at {turn} deg"


@pytest.mark.parametrize("who", PEOPLE)
def test_sleeves_come_out_of_the_shoulders(who):
    # The ends of the sleeves' tubes lie within the chest, not beside or before it.
    sitter = PEOPLE[who]
    body, frame = body_of(sitter, pose=head_pose(sitter)), body_pose(head_pose(sitter))
    jumper = in_body(sitter, built(sitter, fineness=1.0).part("jumper"))
    for points, radii in sleeve_lines(body, frame):
        start, radius = to_local(points[0], origin=frame.origin, axes=frame.axes) / MM, radii[0]
        near = (np.abs(jumper[:, 0] - start[0]) < 12.0) & (np.abs(jumper[:, 2] - start[2]) < 60.0)
        depth = jumper[near, 1]
        assert depth.min() < start[1] - 0.8 * radius / MM
        assert depth.max() > start[1] + 0.8 * radius / MM
        assert jumper[near, 2].max() > start[2] + 0.5 * radius / MM


@pytest.mark.parametrize("hair", [one for one in HAIR_STYLES if one != "bald"])
def test_no_hair_hangs_before_the_eyes(hair):
    sitter = Sitter(name="Fringe", look=Appearance(hair=hair))
    pose = head_pose(sitter)
    places = built(sitter, fineness=1.0).part("hair").vertices
    own = to_local(places, origin=pose.origin, axes=pose.axes) / MM
    before = (own[:, 1] > -20.0) & (np.abs(own[:, 0]) < 50.0) & (np.abs(own[:, 2]) < 20.0)
    assert not before.any()


@pytest.mark.parametrize("hair", ["short", "swept", "bob", "long", "bun"])
def test_locks_lie_on_the_hair(hair):
    head = head_surface(FaceMeasures())
    look = look_of(Sitter(name="Locks", look=Appearance(hair=hair)))
    mass = cover_of(head, look=look, fineness=1.0)
    chance = np.random.default_rng(3)
    lying = locks(mass, STYLES[hair], color=np.ones(3) * 0.5, chance=chance, count=200)
    on, normal = mass.nearest(lying.vertices)
    over = ((lying.vertices - on) * normal).sum(axis=1)
    thickest = 1.25 * 0.34 * 1.3 * STYLES[hair].wide_mm + 2.2  # and its loose tip
    assert np.quantile(over, 0.99) < thickest
    assert np.quantile(over, 0.01) > -thickest


def face_relief(age, name="Folds"):
    sitter = Sitter(name=name, age_years=age)
    pose = head_pose(sitter)
    both = eyes(sitter, pose=pose, looks_at=None)
    shape = FaceShape(head=head_surface(sitter.face), eyes=both, age_years=age)
    x, z = np.meshgrid(np.linspace(14.0, 45.0, 60), np.linspace(-80.0, -42.0, 60))
    return shape.depth(x, z)


def test_folds_deepen_with_the_years_and_children_have_none():
    bent = (np.abs(np.diff(face_relief(age), n=2, axis=1)) for age in (8, 25, 50, 80))
    rough = [np.quantile(one, 0.99) for one in bent]
    assert rough[0] < 1.05 * rough[1]
    assert rough[1] < rough[2] < rough[3]


def test_a_childs_skull_is_large_over_a_small_face():
    heights = {}
    for name, face in (("child", CHILD), ("adult", FaceMeasures())):
        sitter = Sitter(name="Bald", face=face, look=Appearance(hair="bald"))
        pose = head_pose(sitter)
        skin = built(sitter, fineness=0.6).part("skin").vertices
        own = to_local(skin, origin=pose.origin, axes=pose.axes) / MM
        heights[name] = own[:, 2].max() / face.face_height_mm
    assert heights["child"] > 1.1 * heights["adult"]
    np.testing.assert_allclose(heights["adult"], 115.0 / 118.0, atol=0.5 / 118.0)


@pytest.mark.parametrize("turn", [0.0, 45.0])
def test_temples_run_from_the_rim_to_the_ear(turn):
    sitter = Sitter(
        name="Temples", glasses=ASTIGMATIC, turn_deg=turn, look=Appearance(hair="short")
    )
    shown = built(sitter, fineness=1.0)
    for side in ("right", "left"):
        temple = shown.part(f"{side} temple").vertices
        for other in ("rim", "ear"):
            there = shown.part(f"{side} {other}").vertices
            gap = np.sqrt(((temple[::5, None] - there[None, ::3]) ** 2).sum(axis=-1)).min()
            assert gap < 4.0 * MM, f"{side} temple and {other} are {gap / MM:.1f} mm apart"


# ---------------------------------------------------------------- sameness and variety


def test_face_is_even_on_both_sides():
    sitter = Sitter(name="Even")
    skin = built(sitter).part("skin").vertices - head_pose(sitter).origin
    mirrored = skin * [-1.0, 1.0, 1.0]
    order, other = (np.lexsort(np.round(one / 1e-6).T) for one in (skin, mirrored))
    np.testing.assert_allclose(skin[order], mirrored[other], rtol=0, atol=2e-6)


def test_same_name_looks_the_same_and_another_name_does_not():
    first, again = (built(Sitter(name="Marek")) for _ in range(2))
    for one, two in zip(first.parts, again.parts, strict=True):
        assert one.name == two.name
        np.testing.assert_array_equal(one.vertices, two.vertices)
    looks = {look_of(Sitter(name=name)).hair for name in "ABCDEFGHIJKLMNOP"}
    assert len(looks) > 3


def test_what_is_stated_of_a_look_is_kept_and_the_rest_stays():
    plain = look_of(Sitter(name="Vera"))
    stated = Appearance(hair="curly", clothes="white", frame_color="gold", collar=not plain.collar)
    changed = look_of(Sitter(name="Vera", look=stated))
    assert changed.hair == "curly"
    assert changed.metal_frame
    assert changed.collar != plain.collar
    assert min(changed.cloth_color) > 0.6
    for name in ("hair_color", "eye_color", "skin_color", "seed"):
        assert getattr(changed, name) == getattr(plain, name)


@pytest.mark.parametrize("rim", ["full", "half", "none"])
@pytest.mark.parametrize("outline", OUTLINE_SHAPES)
def test_every_outline_and_rim_can_be_built(outline, rim):
    glasses = Glasses(
        lens_width_mm=51, lens_height_mm=37, bridge_mm=18, outline=outline, rim=rim, rim_width_mm=3
    )
    sitter = Sitter(name="Frames", glasses=glasses)
    shown = built(sitter, fineness=0.35)
    names = {part.name for part in shown.parts}
    assert ("right rim" in names) == (rim != "none")
    assert ("left thread" in names) == (rim == "half")
    for part in shown.parts:
        assert np.isfinite(part.vertices).all(), part.name
    assert volume(shown.part("left lens")) > 0.0


@pytest.mark.parametrize("hair", HAIR_STYLES)
def test_every_hair_style_can_be_built(hair):
    sitter = Sitter(name="Hair")
    shown = built(sitter, fineness=0.35, look=replace(look_of(sitter), hair=hair))
    found = [part for part in shown.parts if part.name == "hair"]
    assert len(found) == (hair != "bald")
    for part in found:
        assert np.isfinite(part.vertices).all()
        assert part.vertices[:, 2].max() > head_pose(sitter).origin[2] + 0.11


@pytest.mark.parametrize("reflectance", [0.06, 0.133, 0.223, 0.36, 0.44, 0.6])
def test_skin_gives_back_the_share_it_is_told(reflectance):
    red, green, blue = skin_color(reflectance)
    luminance = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    np.testing.assert_allclose(luminance, reflectance, rtol=1e-6)
    assert red > green > blue


def test_face_as_a_whole_keeps_the_reflectance_of_the_sitter():
    sitter = Sitter(name="Tone", skin_reflectance=0.3)
    pose = head_pose(sitter)
    skin = built(sitter).part("skin")
    own = to_local(skin.vertices, origin=pose.origin, axes=pose.axes)
    face = (own[:, 1] > -0.03) & (own[:, 2] < 0.06) & (own[:, 2] > -0.1)
    mean = (skin.colors[face] @ [0.2126, 0.7152, 0.0722]).mean()
    np.testing.assert_allclose(np.log2(mean / 0.3), 0.0, rtol=0, atol=0.25)
    cheeks = face & (np.hypot(np.abs(own[:, 0]) - 0.036, own[:, 2] + 0.036) < 0.01)
    cheek = (skin.colors[cheeks] @ [0.2126, 0.7152, 0.0722]).mean()
    np.testing.assert_allclose(np.log2(cheek / 0.3), 0.0, rtol=0, atol=0.1)


def test_preview_is_built_in_less_than_a_second():
    sitter = Sitter(name="Quick", glasses=ASTIGMATIC)
    built(sitter)
    start = time.process_time()
    built(sitter)
    assert time.process_time() - start < 1.0
