"""Laws of the light between backdrop and camera: near light is steep, far light is flat."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.analysis import build_scene, build_scenes, exposure, face_light, falloff
from tapemark.studio import Backdrop, Companion, Modifier, Panel, Room

HALL = Room(width_m=20.0, length_m=30.0, height_m=6.0, behind_sitter_m=10.0)
#: So small that it is a point at a metre and more: the inverse square holds to a hundredth.
POINT = Modifier(kind="softbox", width_m=0.05, height_m=0.05, efficiency=0.5)


def along(setup, **more):
    """Scene and falloff of a setup."""
    scene = build_scene(setup)
    return scene, falloff(scene, **more)


def at(found, ahead_m):
    """What all lights give together at a place [lx·s]."""
    return float(np.interp(ahead_m, found.places_m, found.together.exposures_lx_s))


def on_axis(studio, distance_m, *, camera_m=2.0, **more):
    """A small light over the camera's line, at the height of the eyes."""
    return studio.setup(
        [studio.light("key", (0.0, distance_m, studio.eyes_m), modifier=POINT)],
        room=HALL,
        camera=(0.0, camera_m, studio.eyes_m),
        **more,
    )


@given(distance_m=st.floats(2.5, 9.0), ahead_m=st.floats(-2.0, 1.0))
def test_a_small_light_in_line_falls_by_the_inverse_square(studio, distance_m, ahead_m):
    _, found = along(on_axis(studio, distance_m))
    way_m = distance_m - found.start[1]
    expected = (way_m / (way_m - ahead_m)) ** 2
    assert at(found, ahead_m) / at(found, 0.0) == pytest.approx(expected, rel=0.01)


@given(distance_m=st.floats(2.5, 9.0), stops=st.sampled_from([0, 1]))
def test_room_to_lean_is_what_the_inverse_square_allows(studio, distance_m, stops):
    _, found = along(on_axis(studio, distance_m))
    depth = found.depths[stops]
    way_m = distance_m - found.start[1]
    grow = 2.0 ** (depth.stops / 2.0)
    assert depth.back_m == pytest.approx(way_m * (grow - 1.0), rel=0.02)
    assert depth.forward_m == pytest.approx(way_m * (1.0 - 1.0 / grow), rel=0.02)


@given(near_m=st.floats(2.2, 4.0), times=st.floats(1.3, 2.5))
def test_a_nearer_light_leaves_less_room_to_lean(studio, near_m, times):
    _, near = along(on_axis(studio, near_m))
    _, far = along(on_axis(studio, near_m * times))
    for one, other in zip(near.depths, far.depths, strict=True):
        assert one.back_m < other.back_m


def test_light_from_far_away_is_flat(studio):
    _, found = along(on_axis(studio, 18.0))
    change = np.log2(at(found, -0.3) / at(found, 0.3))
    assert abs(change) < 0.1
    assert found.depths[0].forward_m is None  # the camera comes first
    assert found.depths[0].back_m > 2.0


@given(
    x_m=st.floats(-1.5, 1.5),
    y_m=st.floats(0.6, 2.5),
    height_m=st.floats(1.2, 2.3),
    fill_x_m=st.floats(-1.5, 1.5),
)
def test_room_to_lean_lies_on_the_curve(studio, x_m, y_m, height_m, fill_x_m):
    lights = [
        studio.light("key", (x_m, y_m, height_m)),
        studio.light("fill", (fill_x_m, 2.4, 1.8), power_stops=-3.0),
    ]
    _, found = along(studio.setup(lights))
    third, half = found.depths
    for depth in (third, half):
        for way, sign in ((depth.back_m, -1.0), (depth.forward_m, 1.0)):
            if way is None:
                continue
            off = math.log2(at(found, sign * way) / at(found, 0.0))
            assert abs(off) == pytest.approx(depth.stops, abs=0.01)
            inside = [at(found, sign * way * share) for share in (0.25, 0.5, 0.75)]
            assert max(abs(np.log2(np.array(inside) / at(found, 0.0)))) < depth.stops
    for narrow, wide in ((third.back_m, half.back_m), (third.forward_m, half.forward_m)):
        assert wide is None or narrow < wide


@given(x_m=st.floats(0.3, 1.5), y_m=st.floats(1.0, 2.5), turn_deg=st.floats(-30.0, 30.0))
def test_at_the_face_it_reads_what_the_exposure_reads(studio, x_m, y_m, turn_deg):
    setup = studio.setup(
        [studio.light("key", (x_m, y_m, 1.7)), studio.light("fill", (-0.6, 2.4, 1.8))],
        sitter={"turn_deg": turn_deg},
    )
    scene, found = along(setup)
    reading = exposure(scene, light=face_light(scene))
    lights = {one.name: one for one in found.lights}
    zero = found.places_m.index(0.0)
    for one in reading.lights:
        if one.name in lights and one.aperture is not None and one.aperture > 1.0:
            metered = lights[one.name].apertures[zero]
            # The face's own shade is left out, and may only take light away.
            assert metered >= one.aperture - 1e-9
    front = abs(math.degrees(math.atan2(x_m, y_m)) - turn_deg) < 70.0
    if front and abs(turn_deg) < 20.0:
        assert found.aperture == pytest.approx(reading.aperture, rel=0.002)


def test_a_panel_in_the_way_counts_here_too(studio):
    def setup(panels):
        return studio.setup([studio.light("key", (0.3, 1.6, 1.5))], panels=panels)

    flag = Panel(
        name="flag",
        width_m=0.2,
        height_m=0.9,
        reflectance=0.0,
        place=studio.place(0.15, 0.8, 1.35),
        aim="face",
    )
    scene, found = along(setup((flag,)))
    _, free = along(setup(()))
    assert found.aperture < 0.8 * free.aperture
    assert found.aperture == pytest.approx(
        exposure(scene, light=face_light(scene)).aperture, rel=0.002
    )
    past_it = 1.1
    assert at(found, past_it) == pytest.approx(at(free, past_it), rel=1e-9)


def test_mirrored_setups_read_the_same(studio):
    lights = [(0.9, 1.3, 1.8), (-0.5, 2.2, 1.6)]
    setups = [
        studio.setup([studio.light(f"{k}", (s * x, y, z)) for k, (x, y, z) in enumerate(lights)])
        for s in (1.0, -1.0)
    ]
    one, other = (along(setup)[1].together.exposures_lx_s for setup in setups)
    np.testing.assert_allclose(one, other, rtol=1e-9)


def test_the_line_runs_from_the_backdrop_to_the_camera(studio):
    backdrop = Backdrop(distance_m=1.5, width_m=3.0, height_m=2.5)
    _, found = along(on_axis(studio, 3.0, backdrop=backdrop))
    assert found.places_m[0] == pytest.approx(-1.5 - found.start[1], abs=0.011)
    assert found.places_m[-1] == pytest.approx(2.0 - found.start[1] - 0.15, abs=1e-9)
    assert found.marks[0].name == "backdrop"
    assert [one.name for one in found.marks[1:]] == ["ears", "nose tip"]
    assert found.marks[1].ahead_m < 0.0 < found.marks[2].ahead_m


def test_a_companion_is_read_where_they_are(studio):
    behind = Companion(name="Tom", eye_height_m=1.2, across_m=0.0, back_m=0.8)
    setup = on_axis(studio, 3.0, companions=(behind,))
    scenes = build_scenes(setup)
    found = falloff(scenes[0], others=scenes[1:])
    (tom,) = [one for one in found.marks if one.name == "Tom"]
    assert tom.ahead_m == pytest.approx(-0.8, abs=1e-9)
    assert tom.exposure_lx_s == pytest.approx(at(found, -0.8), rel=1e-3)
    assert tom.stops == pytest.approx(math.log2(at(found, -0.8) / at(found, 0.0)), abs=0.01)


def test_in_the_dark_there_is_nothing_to_lean_for(studio):
    _, found = along(studio.setup([studio.light("key", (0.5, 1.5, 1.6), on=False)]))
    assert found.aperture is None
    assert found.depths == ()
    assert found.lights == ()
    assert all(one.stops is None for one in found.marks)
