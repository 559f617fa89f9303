"""Light on twenty places of a face: ours against a path tracer.

The tracer (see light_tracer) gets the head and trunk as meshes and everything else as the plain
numbers of a case: joules and shares of light, sizes, places. What it reads at a place is then a
second opinion on energy, geometry and shadows alike. Compared are the lights themselves with
nothing in the way, what a ceiling and a panel send on, everything with the shadows of head, trunk
and flag, and the light that the whole room keeps throwing about.

A closed form or a sum that is neither ours nor the tracer's stands beside what the comparison
rests on: the tracer's own reading, its beam, and the bulge of an umbrella.
"""

import dataclasses
import functools
import math

import numpy as np
import pytest
from tests.cross.light_cases import CASES, EYES_M, PLACES, Case, Lamp
from tests.cross.light_tracer import (
    ALL_BOUNCES,
    DIRECT,
    ONE_BOUNCE,
    Ellipsoids,
    Receivers,
    beam_exponent,
    build_light_scene,
    face_places,
    load_tracer,
    position_m,
    read_exposures,
    turned,
)

from tapemark.analysis import build_scene, exposure, face_light, light_at_places
from tapemark.analysis.backdrop_light import SAMPLES as BACKDROP_SAMPLES
from tapemark.analysis.backdrop_light import backdrop_light
from tapemark.analysis.light_faces import BowlFace
from tapemark.analysis.source_patches import COARSE_PAIRS, FINE_PAIRS
from tapemark.geometry import normalize
from tapemark.photometry import polygon_illuminance, rectangle_parallel_factor
from tapemark.studio import (
    Backdrop,
    Camera,
    Head,
    Light,
    Modifier,
    Panel,
    Place,
    Room,
    Setup,
    Sitter,
)

STOP_TOLERANCE = 0.1  # of all the light on a place, shadows included
FREE_STOP_TOLERANCE = 0.02  # without shadows; the tracer's noise is below 0.01
BOUNCE_STOP_TOLERANCE = 0.05  # cells of a lit surface
LIT = 0.03  # of the brightest place: darker ones are compared in absolute terms
SHADOW_TOLERANCE = 0.005  # of the brightest place
#: Half the factor of two that the estimate names. Measured: up to 0.4 stop too little.
ROOM_STOP_TOLERANCE = 0.5
DOME_NORMALS = 24
SAMPLES, BOUNCE_SAMPLES, ROOM_SAMPLES = 64**2, 91**2, 23**2
MODIFIERS = {
    "box": "softbox",
    "hollow umbrella": "reflected umbrella",
    "bulging umbrella": "shoot-through umbrella",
    "beam": "bare",
}
SMALL_FLASH = {"width_m": 0.07, "height_m": 0.045}
every_case = pytest.mark.parametrize("case", CASES)


def place_of(thing):
    return Place(distance_m=thing.distance_m, side_deg=thing.side_deg, height_m=thing.height_m)


def light_of(lamp, name):
    sizes = {
        "box": {"width_m": lamp.width_m, "height_m": lamp.face_height_m},
        "beam": {**SMALL_FLASH, "beam_deg": lamp.beam_deg},
    }
    size = sizes.get(lamp.kind, {"diameter_m": lamp.width_m})
    return Light(
        name=name,
        head=Head(energy_j=lamp.joules),
        modifier=Modifier(kind=MODIFIERS[lamp.kind], efficiency=lamp.share, **size),
        place=place_of(lamp),
        aim=lamp.aim,
    )


def panel_of(board, name):
    return Panel(
        name=name,
        width_m=board.width_m,
        height_m=board.board_height_m,
        place=place_of(board),
        reflectance=board.reflectance,
    )


@functools.cache
def scene_of(case):
    """Return our scene of a case of the tracer's."""
    width, length, height, behind = case.room_m
    ceiling, wall, floor = case.room_reflectances
    return build_scene(
        Setup(
            room=Room(
                width_m=width,
                length_m=length,
                height_m=height,
                behind_sitter_m=behind,
                ceiling_reflectance=ceiling,
                wall_reflectance=wall,
                floor_reflectance=floor,
            ),
            sitter=Sitter(eye_height_m=EYES_M, turn_deg=case.turn_deg),
            camera=Camera(place=Place(distance_m=2.0, height_m=EYES_M), focal_length_mm=85.0),
            lights=tuple(light_of(one, f"light {n}") for n, one in enumerate(case.lamps)),
            panels=tuple(panel_of(one, f"panel {n}") for n, one in enumerate(case.boards)),
        )
    )


@functools.cache
def tracer():
    return load_tracer()


def places_of(case):
    return turned(face_places(), turn_deg=case.turn_deg)


@functools.cache
def traced(name, *, head):
    """Return the tracer's light on the places: the lamps', and what a bounce adds. [lx s]"""
    case, places = CASES[name], places_of(CASES[name])
    if not head and case.bounce == "nothing":
        case = dataclasses.replace(case, boards=())
    solids = None
    if head:
        trunk = scene_of(case).body.only("trunk")
        solids = Ellipsoids(centers=trunk.centers, axes=trunk.axes, radii=trunk.radii)
    shapes = {"places": places, "bounce": case.bounce, "head": head, "solids": solids}
    scene = build_light_scene(tracer(), case, **shapes)
    rays = {"segments": DIRECT, "samples": SAMPLES, "rounds": 1}
    direct = read_exposures(tracer(), scene, places, **rays).exposure
    if case.bounce == "nothing":
        return direct, np.zeros_like(direct)
    rays = {"segments": ONE_BOUNCE, "samples": BOUNCE_SAMPLES, "rounds": 1}
    return direct, read_exposures(tracer(), scene, places, **rays).exposure - direct


def free_light(name, *, bounced):
    """Return our light on the places with nothing in the way: the lamps', or what surfaces add."""
    places = places_of(CASES[name])
    return sum(
        one.exposure_at(places.points, normal=places.normals)
        for one in scene_of(CASES[name]).emitters
        if (one.lit_map is not None) == bounced
    )


def our_light(name, *, pairs):
    places = places_of(CASES[name])
    given = {"normals": places.normals, "pairs": pairs}
    return light_at_places(scene_of(CASES[name]), places.points, **given).sum(axis=0)


def gap_stops(ours, theirs):
    return np.log2(np.maximum(ours, 1e-9) / np.maximum(theirs, 1e-9))


def test_tracer_reads_the_closed_form_of_a_box():
    """Opposite the middle of a box: four corner rectangles, Q s/(pi A) bright."""
    lamp = Lamp(
        kind="box",
        distance_m=1.2,
        side_deg=0.0,
        height_m=EYES_M,
        joules=100.0,
        share=0.45,
        width_m=0.6,
        face_height_m=0.9,
    )
    at = Receivers(points=np.array([[0.0, 0.0, EYES_M]]), normals=np.array([[0.0, 1.0, 0.0]]))
    case = Case(lamps=(lamp,))
    scene = build_light_scene(tracer(), case, places=at, bounce="nothing", head=False)
    read = read_exposures(tracer(), scene, at, segments=DIRECT, samples=SAMPLES, rounds=1)
    factor = 4.0 * rectangle_parallel_factor(0.3, height_m=0.45, distance_m=1.2)
    expected = 100.0 * 40.0 * 0.45 / (0.6 * 0.9) * factor
    np.testing.assert_allclose(read.exposure, expected, rtol=0.003)


@pytest.mark.parametrize("beam_deg", [60.0, 70.0, 100.0])
def test_tracer_has_the_beam_we_describe(beam_deg):
    """On receivers around the axis: Q s (m + 1)/(2 pi) cos^m over the squared distance."""
    lamp = Lamp(
        kind="beam",
        distance_m=2.0,
        side_deg=0.0,
        height_m=EYES_M,
        joules=60.0,
        share=0.9,
        beam_deg=beam_deg,
    )
    points = np.array([[0.0, 0.0, EYES_M], [0.5, 0.1, EYES_M + 0.3], [-1.2, 0.2, EYES_M - 0.4]])
    at = Receivers(points=points, normals=np.tile([0.0, 1.0, 0.0], (3, 1)))
    case = Case(lamps=(lamp,))
    scene = build_light_scene(tracer(), case, places=at, bounce="nothing", head=False)
    read = read_exposures(tracer(), scene, at, segments=DIRECT, samples=64, rounds=1)
    way = points - position_m(2.0, 0.0, EYES_M)
    distance = np.linalg.norm(way, axis=-1)
    cosine, m = -way[:, 1] / distance, beam_exponent(beam_deg)
    expected = 60.0 * 40.0 * 0.9 * (m + 1.0) / (2.0 * math.pi) * cosine ** (m + 1) / distance**2
    np.testing.assert_allclose(read.exposure, expected, rtol=0.003)


@every_case
def test_places_are_enough_to_compare(case):
    direct, bounced = traced(case, head=True)
    total = direct + bounced
    assert np.count_nonzero(total > LIT * total.max()) >= 11
    assert len(PLACES) == 20


@every_case
def test_lights_with_nothing_in_the_way(case):
    theirs, _ = traced(case, head=False)
    ours = free_light(case, bounced=False)
    lit = theirs > LIT * theirs.max()
    np.testing.assert_allclose(
        gap_stops(ours[lit], theirs[lit]), 0, rtol=0, atol=FREE_STOP_TOLERANCE
    )


@pytest.mark.parametrize("case", ["flash at the ceiling", "softbox and white panel"])
def test_bounce_with_nothing_in_the_way(case):
    _, theirs = traced(case, head=False)
    ours = free_light(case, bounced=True)
    lit = theirs > 0.1 * theirs.max()
    assert np.count_nonzero(lit) >= 10
    np.testing.assert_allclose(
        gap_stops(ours[lit], theirs[lit]), 0, rtol=0, atol=BOUNCE_STOP_TOLERANCE
    )


@every_case
def test_light_on_the_face(case):
    direct, bounced = traced(case, head=True)
    ours, theirs = our_light(case, pairs=FINE_PAIRS), direct + bounced
    lit = theirs > LIT * theirs.max()
    np.testing.assert_allclose(gap_stops(ours[lit], theirs[lit]), 0, rtol=0, atol=STOP_TOLERANCE)
    np.testing.assert_allclose(
        ours[~lit], theirs[~lit], rtol=0, atol=SHADOW_TOLERANCE * theirs.max()
    )


@every_case
def test_few_patches_err_by_no_more_than_half_of_one(case):
    """As a map of the face is made: 26 patches a light, and an edge that runs through one."""
    direct, bounced = traced(case, head=True)
    ours, theirs = our_light(case, pairs=COARSE_PAIRS), direct + bounced
    free = free_light(case, bounced=False) + free_light(case, bounced=True)
    close = np.abs(gap_stops(ours, theirs)) <= STOP_TOLERANCE
    half_a_patch = free.max() / (2 * COARSE_PAIRS) / 2  # where the light is strongest
    assert np.all(close | (np.abs(ours - theirs) <= half_a_patch))
    assert np.count_nonzero(close) >= 12


@pytest.mark.parametrize("off_axis_deg", [0.0, 15.0, 30.0])
@pytest.mark.parametrize("distance_m", [0.6, 1.0, 1.5])
def test_bulging_umbrella_is_its_opening_near_its_axis(distance_m, off_axis_deg):
    ours, summed = umbrella_at(distance_m, off_axis_deg)
    np.testing.assert_allclose(gap_stops(ours, summed), 0, rtol=0, atol=0.05)


def umbrella_at(distance_m, off_axis_deg, *, diameter_m=1.0, depth_m=0.22):
    """Return E/L of a cap's opening, and the sum over small pieces of its bulge."""
    bowl = BowlFace(
        center=np.zeros(3),
        axes=np.eye(3),
        diameter_m=diameter_m,
        depth_m=depth_m,
        hollow_front=False,
    )
    off = math.radians(off_axis_deg)
    point = distance_m * np.array([math.sin(off), math.cos(off), 0.0])
    opening = polygon_illuminance(bowl.sending_outline(), point=point, normal=-normalize(point))
    radius = (diameter_m**2 / 4.0 + depth_m**2) / (2.0 * depth_m)
    rings, spokes = 200, 360
    height = radius - depth_m * (np.arange(rings) + 0.5) / rings  # equal steps, equal areas
    around = (np.arange(spokes) + 0.5) * 2.0 * math.pi / spokes
    out = np.sqrt(radius**2 - height**2)
    pieces = np.stack(
        np.broadcast_arrays(
            out[:, None] * np.cos(around), height[:, None], out[:, None] * np.sin(around)
        ),
        axis=-1,
    ).reshape(-1, 3)
    span = point - (pieces + np.array([0.0, depth_m - radius, 0.0]))
    distance = np.linalg.norm(span, axis=-1)
    leaving = np.maximum(np.sum(span * pieces, axis=-1) / radius / distance, 0.0)
    received = np.maximum(span @ normalize(point) / distance, 0.0)
    area = 2.0 * math.pi * radius * depth_m / (rings * spokes)
    return float(opening), float(np.sum(leaving * received / distance**2) * area)


def dome_places():
    """Return receivers all over a dome 2 cm before the eyes that points at the camera."""
    number = np.arange(DOME_NORMALS)
    forward, around = (number + 0.5) / DOME_NORMALS, number * math.pi * (3.0 - math.sqrt(5.0))
    aside = np.sqrt(1.0 - forward**2)
    normals = np.stack([aside * np.cos(around), forward, aside * np.sin(around)], axis=-1)
    return Receivers(points=np.array([0.0, 0.02, EYES_M]) + 0.003 * normals, normals=normals)


@functools.cache
def dome_readings(name, wall_reflectance):
    """Return what a dome reads before a head: of the lights, of one bounce, of all that follow.

    Light that arrives at an angle puts (1 + cos)/2 of what it gives square on into a dome:
    twice the mean over its surface.
    """
    case, places = room_case(name, wall_reflectance), dome_places()

    def read(scene, segments):
        rays = {"segments": segments, "samples": ROOM_SAMPLES, "rounds": 1}
        return 2.0 * read_exposures(tracer(), scene, places, **rays).exposure.mean()

    room = build_light_scene(tracer(), case, places=places, bounce="room")
    direct, everything = read(room, DIRECT), read(room, ALL_BOUNCES)
    bounced = 0.0
    if case.bounce != "nothing":
        followed = build_light_scene(tracer(), case, places=places, bounce=case.bounce)
        bounced = read(followed, ONE_BOUNCE) - direct
    return direct, bounced, everything - direct - bounced


def room_case(name, wall_reflectance):
    return dataclasses.replace(
        CASES[name], turn_deg=0.0, room_reflectances=(0.8, wall_reflectance, 0.2)
    )


IN_A_ROOM = ["softbox", "reflected umbrella", "shoot-through umbrella", "flash at the ceiling"]


@pytest.mark.parametrize("case", IN_A_ROOM)
def test_dome_reads_what_the_tracer_reads(case):
    scene = scene_of(room_case(case, 0.5))
    ours = sum(one.exposure_lx_s for one in exposure(scene, light=face_light(scene)).lights)
    direct, bounced, _ = dome_readings(case, 0.5)
    np.testing.assert_allclose(gap_stops(ours, direct + bounced), 0, rtol=0, atol=STOP_TOLERANCE)


@pytest.mark.parametrize("wall_reflectance", [0.25, 0.5])
@pytest.mark.parametrize("case", IN_A_ROOM)
def test_room_estimate_is_within_the_factor_it_names(case, wall_reflectance):
    scene = scene_of(room_case(case, wall_reflectance))
    estimate = exposure(scene, light=face_light(scene)).room.exposure_lx_s
    _, _, thrown_about = dome_readings(case, wall_reflectance)
    assert thrown_about > 0
    np.testing.assert_allclose(
        gap_stops(estimate, thrown_about), 0, rtol=0, atol=ROOM_STOP_TOLERANCE
    )


def backdrop_scene():
    """Return a scene with a box and an umbrella, a sitter and a backdrop close behind."""
    lamps = CASES["softbox"].lamps + CASES["reflected umbrella"].lamps
    case = Case(lamps=lamps)
    setup = scene_of(case).setup
    near = Backdrop(distance_m=0.9, width_m=2.7, height_m=2.4, reflectance=0.5)
    return case, build_scene(setup.model_copy(update={"backdrop": near}))


def test_backdrop_behind_a_sitter_is_lit_as_the_tracer_says():
    """Six places spread over what the frame shows, six in the sitter's shadows."""
    case, scene = backdrop_scene()
    found = backdrop_light(scene)
    lights = [found.names.index(f"light {n}") for n in range(len(case.lamps))]
    free, ours = found.free[lights].sum(axis=0), found.received[lights].sum(axis=0)
    shaded = np.argsort(ours / free)
    spread = np.linspace(0, len(free) - 1, 6).astype(int)
    kept = np.concatenate([shaded[:: max(len(shaded) // 60, 1)][:6], spread])
    at = Receivers(points=found.places[kept], normals=np.tile([0.0, 1.0, 0.0], (len(kept), 1)))
    body = Ellipsoids(centers=scene.body.centers, axes=scene.body.axes, radii=scene.body.radii)
    shapes = {"places": at, "bounce": "nothing", "head": False, "solids": body}
    traced_scene = build_light_scene(tracer(), case, **shapes)
    rays = {"segments": DIRECT, "samples": SAMPLES, "rounds": 1}
    theirs = read_exposures(tracer(), traced_scene, at, **rays).exposure
    assert (theirs / free[kept]).min() < 0.9  # some of it is in shadow
    close = np.abs(gap_stops(ours[kept], theirs)) <= STOP_TOLERANCE
    half_a_sample = free[kept] / BACKDROP_SAMPLES / 2.0
    assert np.all(close | (np.abs(ours[kept] - theirs) <= half_a_sample))
    assert np.count_nonzero(close) >= 10
