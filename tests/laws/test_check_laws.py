"""Laws that a whole check obeys: symmetry, swinging, scale, reversal, energy, brightness."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.analysis import (
    BowlFace,
    FlatFace,
    build_scene,
    cover_map,
    face_light,
    lattice_for,
    lens_glare,
    verdict_for,
    view_lenses,
)
from tapemark.optics import LensOptics, trace_lens
from tapemark.studio import (
    GLASSES_PRESETS,
    Glasses,
    Panel,
    Place,
    Prescription,
    Screen,
    Window,
    changed,
    with_light,
)

MM = 1e-3
ROUNDING = 1e-9  # shares and stops that must be the same up to rounding
OTHER_SIDE = {
    "right": "left",
    "left": "right",
    "wall camera-left": "wall camera-right",
    "wall camera-right": "wall camera-left",
    "camera-left": "camera-right",
    "camera-right": "camera-left",
}


def setups(studio):
    """Setups that show something, in many different ways."""
    light, worn, setup = studio.light, studio.worn, studio.setup
    two = [
        light("key", (1.1, 1.5, 1.4)),
        light("fill", (-0.6, 1.9, 1.5), modifier="reflected umbrella 110 cm"),
    ]
    return {
        "two lights": setup(two, glasses=worn()),
        "turned, tipped, camera aside": setup(
            [
                light("key", (-1.0, 1.2, 1.4), modifier="octagonal box 110 cm"),
                light("fill", (0.3, 2.2, 1.6), modifier="beauty dish 55 cm"),
            ],
            glasses=worn("thin reading glasses"),
            sitter={"turn_deg": 15.0, "tip_deg": 6.0, "chin_deg": -4.0},
            camera=(0.3, 2.0, 1.3),
        ),
        "uneven lenses, bounce": setup(
            [
                light("key", (1.0, 1.2, 1.4), modifier="shoot-through umbrella 100 cm"),
                light("up", (0.8, 1.8, 1.6), aim="ceiling", modifier="reflector dish 18 cm"),
                light("side", (1.5, 0.5, 1.6), aim="wall camera-left", modifier="bare small flash"),
            ],
            glasses=worn(
                right=Prescription(sphere_d=-3.0, cylinder_d=-1.5, axis_deg=30.0),
                left=Prescription(sphere_d=-1.0),
            ),
        ),
        "window, panel, screen": setup(
            [light("key", (1.3, 1.0, 1.7))],
            glasses=worn("large fashion frame, plano"),
            windows=(
                Window(
                    name="window",
                    wall="camera-right",
                    along_m=1.5,
                    width_m=1.5,
                    height_m=1.4,
                    luminance_cd_m2=8000.0,
                ),
            ),
            panels=(
                Panel(name="panel", width_m=0.6, height_m=1.0, place=studio.place(-0.9, 0.9, 1.1)),
            ),
            screens=(
                Screen(
                    name="laptop",
                    width_m=0.4,
                    height_m=0.3,
                    place=studio.place(0.5, 1.6, 1.0),
                    luminance_cd_m2=20_000.0,
                ),
            ),
        ),
    }


NAMES = (
    "two lights",
    "turned, tipped, camera aside",
    "uneven lenses, bounce",
    "window, panel, screen",
)


@pytest.fixture(scope="module", params=NAMES)
def any_setup(request, studio):
    return setups(studio)[request.param]


def assert_same_lenses(found, expected, *, tolerance=ROUNDING):
    assert found.keys() == expected.keys()
    for side, numbers in expected.items():
        assert found[side].keys() == numbers.keys()
        for what, value in numbers.items():
            np.testing.assert_allclose(
                found[side][what], value, rtol=0, atol=tolerance, err_msg=f"{side} {what}"
            )


# ---------------------------------------------------------------- mirror and swing


def moved(setup, *, place, aim, **changes):
    """A setup with every place and every aim changed."""

    def each(things):
        return tuple(
            changed(thing, {"place": place(thing.place), "aim": aim(thing.aim)}) for thing in things
        )

    return changed(
        setup,
        {
            "camera": changed(setup.camera, {"place": place(setup.camera.place)}),
            "lights": each(setup.lights),
            "panels": each(setup.panels),
            "screens": each(setup.screens),
            **changes,
        },
    )


def mirrored(setup):
    """The setup as seen in a mirror: camera-left and camera-right change places."""

    def place(where):
        return changed(where, {"side_deg": -where.side_deg})

    def card(eye):
        return changed(eye, {"axis_deg": 180.0 - eye.axis_deg})

    sitter, glasses = setup.sitter, setup.sitter.glasses
    pair = {"right": card(glasses.assumed_left), "left": card(glasses.assumed_right)}
    return moved(
        setup,
        place=place,
        aim=lambda aim: place(aim) if isinstance(aim, Place) else OTHER_SIDE.get(aim, aim),
        sitter=changed(
            sitter,
            {
                "turn_deg": -sitter.turn_deg,
                "tip_deg": -sitter.tip_deg,
                "glasses": changed(glasses, pair),
            },
        ),
        windows=tuple(
            changed(window, {"wall": OTHER_SIDE.get(window.wall, window.wall)})
            for window in setup.windows
        ),
    )


def test_mirrored_setup_swaps_right_and_left(studio, any_setup):
    here, there = studio.check(any_setup), studio.check(mirrored(any_setup))
    swapped = {OTHER_SIDE[side]: values for side, values in studio.lens_numbers(here).items()}
    renamed = {  # a bounce is named after its wall
        side: {
            (OTHER_NAMES.get(what[0], what[0]), what[1]) if isinstance(what, tuple) else what: value
            for what, value in values.items()
        }
        for side, values in swapped.items()
    }
    assert_same_lenses(studio.lens_numbers(there), renamed)
    assert there.verdict == here.verdict


OTHER_NAMES = {"side (off the wall camera-left)": "side (off the wall camera-right)"}


def test_mirrored_setup_swaps_catchlights_and_mirrors_their_clock(studio, any_setup):
    def by_eye(report):
        return {(one.side, one.source): one for one in report.catchlights}

    here, there = (by_eye(studio.check(one)) for one in (any_setup, mirrored(any_setup)))
    assert len(here) == len(there) > 0
    for (side, source), one in here.items():
        other = there[OTHER_SIDE[side], OTHER_NAMES.get(source, source)]
        across, up = one.offset_mm
        np.testing.assert_allclose(other.offset_mm, (-across, up), rtol=0, atol=1e-6)
        hours = one.clock + other.clock
        np.testing.assert_allclose(math.sin(hours * math.pi / 6.0), 0.0, atol=1e-6)
        np.testing.assert_allclose(
            (other.width_mm, other.height_mm), (one.width_mm, one.height_mm), rtol=0, atol=1e-6
        )
        assert (other.visible, other.hidden_by) == (one.visible, one.hidden_by)


@pytest.mark.parametrize("name", NAMES[:2])
@pytest.mark.parametrize("turn_deg", [-35.0, 20.0])
def test_turning_the_face_is_swinging_everything_else_the_other_way(studio, name, turn_deg):
    # On the spot: the eyes' midpoint stays. The room's walls do not swing, so nothing here
    # bounces. Tip and chin ride on the turn.
    before = setups(studio)[name]

    def swung(where):
        return changed(where, {"side_deg": where.side_deg - turn_deg})

    swung_setup = moved(
        before, place=swung, aim=lambda aim: swung(aim) if isinstance(aim, Place) else aim
    )
    turned_sitter = changed(before.sitter, {"turn_deg": before.sitter.turn_deg + turn_deg})
    turned, swung_report = (
        studio.check(one) for one in (changed(before, {"sitter": turned_sitter}), swung_setup)
    )
    assert_same_lenses(studio.lens_numbers(turned), studio.lens_numbers(swung_report))
    for one, other in zip(turned.catchlights, swung_report.catchlights, strict=True):
        np.testing.assert_allclose(one.offset_mm, other.offset_mm, rtol=0, atol=1e-6)
        assert (one.source, one.side, one.visible) == (other.source, other.side, other.visible)
    for one, other in zip(turned.sights, swung_report.sights, strict=True):
        np.testing.assert_allclose(one.rim_share, other.rim_share, rtol=0, atol=ROUNDING)
        np.testing.assert_allclose(one.head_share, other.head_share, rtol=0, atol=ROUNDING)
    assert turned.exposure.aperture == pytest.approx(swung_report.exposure.aperture, rel=1e-9)


# ---------------------------------------------------------------- scale


class ScaledHead:
    """A head of another size; its own lengths are constants in code, so it is asked scaled."""

    def __init__(self, head, scale):
        self.head, self.scale = head, scale

    def blocks(self, starts, directions, **how):
        return self.head.blocks(starts / self.scale, directions, **how)

    def depth_along(self, starts, directions, **how):
        return self.scale * self.head.depth_along(starts / self.scale, directions, **how)


def scaled_face(face, scale):
    sizes = {
        FlatFace: ("center", "width_m", "height_m"),
        BowlFace: ("center", "diameter_m", "depth_m"),
    }[type(face)]
    return dataclasses.replace(face, **{name: getattr(face, name) * scale for name in sizes})


def scaled_scene(scene, scale):
    """A scene with all lengths multiplied: room, lights, head, eyes, lenses, rim."""
    lenses, eyes, sitter = scene.lenses, scene.eyes, scene.setup.sitter
    lengths = ("optical_origin", "boxed_origin", "thickness_m", "half_width", "half_height")
    bends = ("front_curvature", "back_curvature_a", "back_curvature_b")
    sizes = (
        "opening_center",
        "iris_center",
        "cornea_center",
        "pupil_diameter_m",
        "iris_diameter_m",
        "cornea_radius_m",
        "opening_width_m",
        "opening_height_m",
    )
    face = changed(sitter.face, {"interpupillary_mm": sitter.face.interpupillary_mm * scale})
    glasses = changed(
        sitter.glasses,
        {
            name: getattr(sitter.glasses, name) * scale
            for name in ("rim_width_mm", "lens_height_mm", "pupil_height_mm", "slipped_mm")
            if getattr(sitter.glasses, name) is not None
        },
    )
    sitter = sitter.model_copy(update={"glasses": glasses, "face": face})
    return dataclasses.replace(
        scene,
        setup=scene.setup.model_copy(update={"sitter": sitter}),
        sitter=sitter,
        camera=scene.camera * scale,
        pose=dataclasses.replace(scene.pose, origin=scene.pose.origin * scale),
        head=ScaledHead(scene.head, scale),
        eyes=dataclasses.replace(eyes, **{name: getattr(eyes, name) * scale for name in sizes}),
        lenses=dataclasses.replace(
            lenses,
            **{name: getattr(lenses, name) * scale for name in lengths},
            **{name: getattr(lenses, name) / scale for name in bends},
        ),
        emitters=tuple(
            dataclasses.replace(one, face=scaled_face(one.face, scale)) for one in scene.emitters
        ),
    )


@pytest.mark.parametrize("scale", [0.8, 1.25])
def test_doll_house_and_giants_house_show_the_same_shares(any_setup, scale):
    # Lengths that are data are scaled. What the code keeps as lengths of its own stays: the
    # clearance and reach with which the head is looked for (asked in the head's own size here),
    # the play around the eye in the lattice's rows, and the size below which a light is looked
    # for between lattice points; so the scale stays near 1.
    scene = build_scene(any_setup)
    both = []
    for one in (scene, scaled_scene(scene, scale)):
        light = face_light(one)
        view = view_lenses(one, one.lenses, columns=60, rows=42)
        both.append((light, lens_glare(view, cover_map(one, view, light=light))))
    (light, lenses), (scaled_light, scaled_lenses) = both
    # The face is metered 5 mm before the corneas whatever the scale: 1 mm in half a metre.
    np.testing.assert_allclose(scaled_light.at_eyes, light.at_eyes, rtol=4e-3)
    for lens, other in zip(lenses, scaled_lenses, strict=True):
        np.testing.assert_allclose(other.veil, lens.veil, rtol=0, atol=0.002)
        np.testing.assert_allclose(other.lens_cover, lens.lens_cover, rtol=0, atol=0.002)


# ---------------------------------------------------------------- reversal


def surfaces_of(stack, number):
    return LensOptics(
        front_curvature=stack.front_curvature[number],
        back_curvature_a=stack.back_curvature_a[number],
        back_curvature_b=stack.back_curvature_b[number],
        back_axis=stack.back_axis[number],
        thickness_m=stack.thickness_m[number],
        index=stack.index[number],
        coating_reflectance=stack.coating_reflectance,
    )


on_lens = st.tuples(st.floats(-0.8, 0.8), st.floats(-0.8, 0.8))


@given(
    preset=st.sampled_from(sorted(GLASSES_PRESETS)),
    at=on_lens,
    x=st.floats(-1.0, 1.0),
    z=st.floats(-0.7, 0.7),
    reach_m=st.floats(0.5, 3.0),
)
@pytest.mark.parametrize("path", ["front", "back"])
def test_light_and_camera_may_change_places(studio, path, preset, at, x, z, reach_m):
    # Camera -> lens -> light, then a camera where the light was: it meets the lens where the
    # first ray left it, and leaves it again through the first camera, carrying the same share.
    scene = build_scene(studio.setup([], glasses=Glasses(preset=preset)))
    stack = scene.lenses
    lens = surfaces_of(stack, 0)
    camera = np.array([x, 2.0, z])
    across = at[0] * stack.half_width * 0.6, at[1] * stack.half_height * 0.6
    squared = across[0] ** 2 + across[1] ** 2
    c = float(stack.front_curvature[0])
    sag = c * squared / (1.0 + math.sqrt(1.0 - c * c * squared))
    point = np.array([across[0], -sag, across[1]])
    there = getattr(trace_lens(camera, point, lens=lens), path)
    lamp = there.origins + reach_m * there.directions
    back = getattr(trace_lens(lamp, there.origins, lens=lens), path)
    np.testing.assert_allclose(back.origins, point, rtol=0, atol=1e-9)
    home = camera - back.origins
    np.testing.assert_allclose(back.directions, home / np.linalg.norm(home), rtol=0, atol=1e-9)
    np.testing.assert_allclose(back.weight, there.weight, rtol=1e-9)


def middle_of_reflection(studio, setup, *, source):
    """Where the front of the right lens shows a source, boxed frame [m]."""
    scene = build_scene(setup)
    view = view_lenses(scene, scene.lenses, columns=120, rows=84)
    cover = cover_map(scene, view, light=face_light(scene))
    share = cover.shares[source][0, 0] * (view.solid_angle[0] > 0) * view.row_height
    return np.array([(share * view.x).sum(), (share * view.z[:, None]).sum()]) / share.sum()


def test_lamp_and_camera_that_change_places_are_mirrored_at_the_same_place(studio):
    one, other = (0.1, 2.0, 1.1), (0.35, 1.8, 0.95)
    glasses = studio.worn("large fashion frame, plano")
    found = []
    for camera, lamp in ((one, other), (other, one)):
        lights = [studio.light("lamp", lamp, modifier="reflector dish 18 cm")]
        setup = studio.setup(lights, glasses=glasses, camera=camera)
        found.append(middle_of_reflection(studio, setup, source="lamp"))
    np.testing.assert_allclose(found[0], found[1], rtol=0, atol=0.25 * MM)  # half a cell


# ---------------------------------------------------------------- energy and brightness


@given(
    preset=st.sampled_from(sorted(GLASSES_PRESETS)),
    coating=st.sampled_from(["none", "anti-reflective"]),
    x=st.floats(-3.0, 3.0),
    y=st.floats(0.05, 3.0),
    z=st.floats(-2.0, 2.0),
)
def test_what_is_mirrored_and_let_through_is_no_more_than_what_came(
    studio, preset, coating, x, y, z
):
    glasses = changed(Glasses(preset=preset), {"coating": coating})
    stack = build_scene(studio.setup([], glasses=glasses)).lenses
    span = np.linspace(-0.9, 0.9, 9)
    px, pz = np.meshgrid(span * stack.half_width * 0.7, span * stack.half_height * 0.7)
    c = float(stack.front_curvature[0])
    squared = px**2 + pz**2
    points = np.stack([px, -c * squared / (1 + np.sqrt(1 - c * c * squared)), pz], axis=-1)
    paths = trace_lens(np.array([x, y, z]), points, lens=surfaces_of(stack, 0))
    facing = (np.array([x, y, z]) - points)[..., 1] > 0.02  # rays that come from in front
    parts = [np.nan_to_num(ray.weight)[facing] for ray in (paths.front, paths.back, paths.through)]
    assert all(np.all(part >= 0.0) for part in parts)
    assert np.all(sum(parts) <= 1.0 + 1e-12)


def test_coating_only_dims(studio):
    lights = [studio.light("key", (0.8, 1.6, 1.25))]
    bare, coated = (
        studio.lens_numbers(
            studio.check(studio.setup(lights, glasses=studio.worn(coating=coating)))
        )
        for coating in ("none", "anti-reflective")
    )
    # Ours: a coating scales the reflectance of the bare surface, 0.0397 for n 1.498, to 0.01. What
    # the back mirrors passes the front twice, which lets more through by as much; 0.01 stops more
    # or less, because it does so at a slant.
    uncoated = ((1.498 - 1.0) / (1.498 + 1.0)) ** 2
    by_stops = math.log2(0.01 / uncoated)
    expected = {"front": by_stops, "back": by_stops + 2.0 * math.log2(0.99 / (1.0 - uncoated))}
    assert {what[1] for what in bare["right"] if isinstance(what, tuple)} == {"front", "back"}
    for side, numbers in bare.items():
        for what, value in numbers.items():
            if not isinstance(what, tuple):
                continue
            cover, veil, stops = value
            coated_cover, coated_veil, coated_stops = coated[side][what]
            assert coated_cover <= cover
            assert coated_veil <= veil
            limit = 1e-9 if what[1] == "front" else 0.01
            np.testing.assert_allclose(
                coated_stops - stops,
                expected[what[1]],
                rtol=0,
                atol=limit,
                err_msg=f"{side} {what}",
            )


@given(stops=st.floats(-5.0, -0.5))
def test_a_single_light_looks_the_same_at_any_power(studio, stops):
    # Skin and reflection rise and fall together; only the exposure changes, by as many stops.
    full = studio.light("key", (1.0, 1.6, 1.35), power_stops=0.0)
    setup = studio.setup([full], glasses=studio.worn())
    dimmed = with_light(setup, changed(full, {"power_stops": stops}))
    bright, dim = studio.check(setup), studio.check(dimmed)
    assert_same_lenses(studio.lens_numbers(dim), studio.lens_numbers(bright))
    apart = 2.0 * math.log2(dim.exposure.aperture / bright.exposure.aperture)
    np.testing.assert_allclose(apart, stops, rtol=0, atol=1e-9)


@pytest.mark.parametrize("stops", [-3.0, -1.0, -0.3])
def test_one_of_two_lights_turned_down_falls_by_so_many_stops_against_the_other(studio, stops):
    setup = setups(studio)["two lights"]
    key = setup.lights[0]
    lower = with_light(setup, changed(key, {"power_stops": key.power_stops + stops}))
    before, after = studio.check(setup), studio.check(lower)
    skin = [math.log2(report.face_light.at_eyes[1]) for report in (before, after)]
    old, new = (studio.lens_numbers(report)["left"] for report in (before, after))
    change = {source: new[source, "back"][2] - old[source, "back"][2] for source in ("key", "fill")}
    np.testing.assert_allclose(change["fill"], skin[0] - skin[1], rtol=0, atol=1e-9)
    np.testing.assert_allclose(change["key"] - change["fill"], stops, rtol=0, atol=1e-9)
    meters = [
        {one.name: one.aperture for one in report.exposure.lights} for report in (before, after)
    ]
    by_meter = {name: 2.0 * math.log2(meters[1][name] / meters[0][name]) for name in meters[0]}
    np.testing.assert_allclose(by_meter["key"], stops, rtol=0, atol=1e-9)
    np.testing.assert_allclose(by_meter["fill"], 0.0, rtol=0, atol=1e-9)


# ---------------------------------------------------------------- what hides, what matters


@given(x=st.floats(-2.5, 2.5), y=st.floats(-3.0, -1.0), z=st.floats(0.5, 2.5))
def test_a_light_that_neither_shows_nor_lights_the_face_changes_nothing(studio, x, y, z):
    setup = setups(studio)["two lights"]
    before = studio.lens_numbers(studio.check(setup))
    behind = studio.light(
        "hair",
        (x, y, z),
        modifier="strip 30x120 cm",
        aim=Place(distance_m=3.9, side_deg=180.0, height_m=1.0),
    )
    after = studio.lens_numbers(studio.check(with_light(setup, behind)))
    assert_same_lenses(after, before)


def flag(studio, kind):
    """Something opaque in front of the key, between it and the sitter, its back to the sitter."""
    where = (0.66, 0.9, 1.32)
    if kind == "black panel":
        return {
            "panels": (
                Panel(
                    name="flag",
                    width_m=1.2,
                    height_m=1.2,
                    place=studio.place(*where),
                    reflectance=0.0,
                ),
            )
        }
    past_the_key = Place(distance_m=4.0, side_deg=36.0, height_m=1.9)
    return {
        "light": studio.light(
            "other", where, modifier="large softbox 90x120 cm", aim=past_the_key, power_stops=-12.0
        )
    }


@pytest.mark.parametrize("kind", ["black panel", "back of another softbox"])
def test_opaque_things_hide_what_is_behind_them(studio, kind):
    key = studio.light("key", (1.1, 1.5, 1.4))
    open_setup = studio.setup([key], glasses=studio.worn())
    stop = flag(studio, kind)
    lights = (key, stop["light"]) if "light" in stop else (key,)
    closed = changed(open_setup, {"lights": lights, "panels": stop.get("panels", ())})
    shown = [
        {
            source
            for lens in studio.check(one).lenses
            for source in (r.source for r in lens.reflections)
        }
        for one in (open_setup, closed)
    ]
    assert shown == [{"key"}, set()]


@given(veil=st.floats(0.0, 1.0), cover=st.floats(0.0, 1.0))
def test_verdict_follows_its_limits(veil, cover):
    expected = "veiled" if veil >= 0.005 else "edge" if cover >= 0.03 else "clear"
    assert verdict_for(veil=veil, lens_cover=cover) == expected


def test_verdict_at_its_limits():
    assert verdict_for(veil=0.005, lens_cover=0.0) == "veiled"
    assert verdict_for(veil=math.nextafter(0.005, 0.0), lens_cover=0.03) == "edge"
    below = (math.nextafter(0.005, 0.0), math.nextafter(0.03, 0.0))
    assert verdict_for(veil=below[0], lens_cover=below[1]) == "clear"


# ---------------------------------------------------------------- finer lattice

LATTICE_COVER = 0.002  # of the lens
LATTICE_VEIL = 0.002  # of the eye opening


@pytest.mark.parametrize("preset", sorted(GLASSES_PRESETS))
def test_finer_lattice_changes_no_share_that_matters(studio, preset):
    lights = [
        studio.light("key", (1.1, 1.5, 1.4)),
        studio.light("fill", (-0.6, 1.9, 1.5), modifier="reflected umbrella 110 cm"),
    ]
    scene = build_scene(studio.setup(lights, glasses=Glasses(preset=preset)))
    light = face_light(scene)
    found = []
    columns, rows = lattice_for(scene.lenses, points=2000)  # as a check takes
    for finer in (1, 4):
        view = view_lenses(scene, scene.lenses, columns=finer * columns, rows=finer * rows)
        found.append(lens_glare(view, cover_map(scene, view, light=light)))
    for coarse, fine in zip(*found, strict=True):
        np.testing.assert_allclose(coarse.lens_cover, fine.lens_cover, rtol=0, atol=LATTICE_COVER)
        np.testing.assert_allclose(coarse.veil, fine.veil, rtol=0, atol=LATTICE_VEIL)


def test_mirror_image_of_the_mirror_image_is_the_setup(studio, any_setup):
    # Keeps the mirror used above honest: whatever it moves, it moves back.
    again = mirrored(mirrored(any_setup))
    for part in ("camera", "lights", "panels", "screens", "windows"):
        assert getattr(again, part) == getattr(any_setup, part), part
    for name in ("turn_deg", "tip_deg", "chin_deg"):
        assert getattr(again.sitter, name) == getattr(any_setup.sitter, name), name
