"""Shadows and light on the backdrop: closed forms and brute force against the maps."""

import math

import numpy as np
import pytest

from tapemark.analysis import build_scene
from tapemark.analysis.backdrop_light import backdrop_light, emitting_samples
from tapemark.analysis.background import background
from tapemark.analysis.exposure import exposure
from tapemark.analysis.face_light import face_light
from tapemark.analysis.spill import glows
from tapemark.anatomy import Body, bodies_of
from tapemark.drawing.bust import bust
from tapemark.studio import (
    Backdrop,
    Camera,
    Gel,
    Head,
    Light,
    Modifier,
    Place,
    Room,
    Setup,
    Sitter,
)

HEAD = Head(preset="400 Ws studio head")
ROOM = Room(width_m=8.0, length_m=12.0, height_m=3.0, behind_sitter_m=5.0)
SMALL = Modifier(kind="bare", diameter_m=0.02, beam_deg=170.0)
MM = 1e-3


def at(x_m, y_m, height_m):
    side_deg = math.degrees(math.atan2(x_m, y_m))
    return Place(distance_m=math.hypot(x_m, y_m), side_deg=side_deg, height_m=height_m)


def light(name, where, modifier, **more):
    return Light(name=name, head=HEAD, modifier=modifier, place=at(*where), **more)


def portrait(lights, *, gap_m=1.5, sitter=None, camera=(0.0, 2.5, 1.2), **more):
    return build_scene(
        Setup(
            room=ROOM,
            sitter=sitter or Sitter(eye_height_m=1.2),
            camera=Camera(place=at(*camera), focal_length_mm=50.0),
            backdrop=Backdrop(distance_m=gap_m, width_m=6.0, height_m=3.0),
            lights=tuple(lights),
            **more,
        )
    )


def ball(center, radius):
    return Body(
        names=("head",),
        centers=np.array([center]),
        axes=np.eye(3)[None],
        radii=np.full((1, 3), radius),
    )


def plane_grid(half_m, count, *, y):
    steps = (np.arange(count) + 0.5) / count * 2 * half_m - half_m
    x, z = np.meshgrid(steps, steps)
    return np.stack([x.ravel(), np.full(x.size, y), z.ravel()], axis=-1), (steps[1] - steps[0]) ** 2


def inside(body, points):
    """Whether points lie in any ellipsoid, by the plain definition."""
    found = np.zeros(points.shape[:-1], dtype=bool)
    for center, axes, radii in zip(body.centers, body.axes, body.radii, strict=True):
        found |= ((((points - center) @ axes) / radii) ** 2).sum(axis=-1) < 1.0
    return found


def test_shadow_of_a_ball_has_the_closed_form_radius():
    # A point light at distance d from a ball of radius r on the axis: the shadow on a plane at
    # distance D is a disc of radius D tan(asin(r/d)).
    source, distance, plane = np.array([0.0, 2.0, 0.0]), 2.0, 3.5
    places, cell = plane_grid(0.6, 241, y=-1.5)
    shaded = ball((0.0, 0.0, 0.0), 0.2).hides(places, source[None])[:, 0]
    radius = plane * math.tan(math.asin(0.2 / distance))
    np.testing.assert_allclose(shaded.sum() * cell, math.pi * radius**2, rtol=5e-3)
    farthest = np.hypot(places[shaded, 0], places[shaded, 2]).max()
    np.testing.assert_allclose(farthest, radius, atol=cell**0.5)


def test_shadow_of_an_ellipsoid_is_the_conic_of_its_tangent_cone():
    # From S, with A the matrix of the ellipsoid and u = S - centre, the tangent cone is
    # (v.A.u)^2 = (v.A.v)(u.A.u - 1); a place is in shadow where v lies inside it.
    axes = np.linalg.qr(np.random.default_rng(3).normal(size=(3, 3)))[0]
    radii, center = np.array([0.12, 0.3, 0.2]), np.array([0.1, -0.05, 0.2])
    body = Body(names=("head",), centers=center[None], axes=axes[None], radii=radii[None])
    source = np.array([0.8, 1.7, 0.9])
    places, _ = plane_grid(1.6, 181, y=-1.2)
    matrix = axes @ np.diag(radii**-2.0) @ axes.T
    u, v = source - center, places - source
    conic = (v @ matrix @ u) ** 2 - ((v @ matrix) * v).sum(axis=1) * (u @ matrix @ u - 1.0)
    shaded = body.hides(places, source[None])[:, 0]
    np.testing.assert_array_equal(shaded, conic > 0.0)
    assert 0.005 < shaded.mean() < 0.5


@pytest.mark.parametrize("posture", ["seated", "standing"])
@pytest.mark.parametrize("where", [(1.2, 1.0, 1.9), (-0.4, 2.2, 1.5)])
def test_shadow_map_of_a_small_light_is_found_by_marching_along_rays(posture, where):
    person = Sitter(posture=posture, eye_height_m=1.2 if posture == "seated" else 1.55)
    height = person.eye_height_m
    source = np.array([where[0], where[1], where[2] + height - 1.2])
    scene = portrait(
        [light("key", tuple(source), SMALL)],
        sitter=person,
        camera=(0.0, 2.5, height),
        gap_m=0.8,
    )
    seen = backdrop_light(scene)
    steps = np.linspace(0.1, 0.9, 501)[:, None, None]
    marched = inside(seen.bodies[0], seen.places + steps * (source - seen.places)).any(axis=0)
    mapped = seen.behind_people[0]
    certain = (mapped == 0.0) | (mapped == 1.0)
    assert certain.mean() > 0.9
    # Rays that graze a limb between two steps are the only ones that may differ.
    assert np.mean(marched[certain] != (mapped[certain] == 1.0)) < 0.005
    assert 0.01 < marched.mean() < 0.6


def test_pairs_and_single_paths_agree():
    scene = portrait([light("key", (1.2, 1.0, 1.9), Modifier(preset="medium softbox 60x90 cm"))])
    body, places = bodies_of(scene.setup)[0], backdrop_light(scene).places
    targets, _ = emitting_samples(scene.emitters[0])
    span = targets[None] - places[:, None]
    reach = np.linalg.norm(span, axis=-1)
    single = body.blocks(places[:, None], span / reach[..., None], reach_m=reach)
    np.testing.assert_array_equal(body.hides(places, targets), single)
    assert 0.0 < single.mean() < 1.0


def test_shadow_lies_where_the_head_is_projected():
    source = np.array([1.3, 1.1, 1.35])
    scene = portrait([light("key", tuple(source), SMALL)], gap_m=0.6)
    seen = backdrop_light(scene)
    head = bodies_of(scene.setup)[0].only("head")
    middle = head.centers.mean(axis=0)
    run = (-0.6 - source[1]) / (middle[1] - source[1])
    expected = source + run * (middle - source)
    shaded = head.hides(seen.places, source[None])[:, 0]
    found = seen.places[shaded].mean(axis=0)
    assert shaded.sum() > 5
    np.testing.assert_allclose(found, expected, atol=0.06)  # half a cell of the frame's grid


def test_edge_is_as_wide_as_the_light_times_gap_over_reach():
    # A disc light straight in front of a straight edge: the shadow fades from none to whole over
    # (diameter) x (gap)/(reach). A thin sheet stands for the edge.
    disc = Modifier(kind="beauty dish", diameter_m=0.5)
    scene = portrait([light("key", (0.0, 2.0, 1.2), disc)], gap_m=1.0)
    angle = np.arange(400) * np.pi * (3.0 - np.sqrt(5.0))
    reach = 0.25 * np.sqrt((np.arange(400) + 0.5) / 400)
    source = np.stack([reach * np.cos(angle), np.full(400, 2.0), reach * np.sin(angle)], axis=-1)
    line = np.zeros((801, 3))
    line[:, 0], line[:, 1] = np.linspace(-0.4, 0.4, 801), -1.0
    sheet = Body(
        names=("trunk",),
        centers=np.array([[20.0, 0.0, 0.0]]),
        axes=np.eye(3)[None],
        radii=np.array([[20.0, 0.001, 20.0]]),
    )
    hidden = sheet.hides(line, source).mean(axis=1)
    fading = (hidden > 0.0) & (hidden < 1.0)
    measured = np.ptp(line[fading, 0])
    shadow_edge = 0.5 * 1.0 / 2.0
    np.testing.assert_allclose(measured, shadow_edge, rtol=0.03)

    from tapemark.analysis.background import _edge_m

    np.testing.assert_allclose(_edge_m(scene, scene.emitters[0]), shadow_edge, rtol=0.01)


@pytest.mark.parametrize(
    ("where", "preset"),
    [
        ((1.1, 1.2, 1.9), "medium softbox 60x90 cm"),
        ((-0.8, 1.9, 1.5), "large softbox 90x120 cm"),
        ((1.6, -0.6, 1.4), "strip 30x120 cm"),
    ],
)
def test_light_on_the_backdrop_is_the_sum_over_patches_of_the_box(where, preset):
    more = {"aim": "backdrop"} if where[1] < 0 else {}
    scene = portrait([light("key", where, Modifier(preset=preset), **more)])
    seen, emitter = backdrop_light(scene), scene.emitters[0]
    face, count = emitter.face, 40
    steps = (np.arange(count) + 0.5) / count - 0.5
    u, v = (one.ravel() for one in np.meshgrid(steps * face.width_m, steps * face.height_m))
    patches = face.center + u[:, None] * face.axes[:, 0] + v[:, None] * face.axes[:, 2]
    span = patches - seen.places[:, None]
    squared = (span**2).sum(axis=-1)
    leaving = np.maximum(-span @ face.axes[:, 1], 0.0)
    arriving = np.maximum(span[..., 1], 0.0)
    area = face.width_m * face.height_m / count**2
    direct = emitter.brightness * area * (leaving * arriving / squared**2).sum(axis=1)
    np.testing.assert_allclose(seen.free[0], direct, rtol=0.01)
    spread = np.log2(direct.max() / direct.min())
    assert spread > 0.2  # an even map would prove little
    np.testing.assert_allclose(
        np.log2(np.ptp(seen.free[0]) + seen.free[0].min()), np.log2(direct.max()), atol=0.01
    )


def test_evenness_is_that_of_shadowed_points_worked_out_one_by_one():
    scene = portrait([light("key", (1.2, 1.0, 1.9), SMALL)], gap_m=0.8)
    seen = backdrop_light(scene)
    reading = exposure(scene, light=face_light(scene))
    result = background(scene, light=seen, reading=reading)
    source = scene.emitters[0]
    amounts = []
    for place, own in zip(seen.places, seen.behind_people[0], strict=True):
        span = source.face.center - place
        reach = np.linalg.norm(span)
        square = source.exposure_at(place, normal=span / reach)
        amounts.append(square * span[1] / reach * (1.0 - own))
    lit = [amount for amount in amounts if amount > 0.0]
    np.testing.assert_allclose(
        result.brightest.level / result.mean.level, max(amounts) / np.mean(amounts), rtol=0.005
    )
    assert len(lit) < len(amounts)
    assert result.evenness_stops > 10.0


def test_glow_of_a_small_beam_has_the_closed_form_width():
    # Straight on from distance d with intensity as cos^n, a flat surface gets cos^(n+3)/d^2: half
    # of it at tan(theta) = sqrt(4^(1/(n+3)) - 1), which is level with the surface.
    aim = at(0.5, -1.5, 1.4)
    lamp = Modifier(kind="reflector dish", diameter_m=0.03, beam_deg=60.0)
    gel = Gel(name="red", red=0.8, green=0.05, blue=0.05)
    scene = portrait([light("glow", (0.5, -0.7, 1.4), lamp, aim=aim, gel=gel)])
    (glow,) = glows(scene, light=backdrop_light(scene))
    n = math.log(0.5) / math.log(math.cos(math.radians(30.0)))
    width = 2 * 0.8 * math.sqrt(4.0 ** (1.0 / (n + 3.0)) - 1.0)
    np.testing.assert_allclose([glow.across_m, glow.up_m], [0.5, 1.4], atol=0.03)
    np.testing.assert_allclose([glow.width_m, glow.height_m], [width, width], rtol=0.03)


@pytest.mark.parametrize("posture", ["seated", "standing"])
def test_body_fills_the_drawn_head_and_shoulders(posture):
    # The silhouette from the front against that of the drawn bust. Tolerance 25 mm: what the
    # body's own description promises for the sides.
    scene = portrait([], sitter=Sitter(posture=posture))
    body, eyes = bodies_of(scene.setup)[0], scene.sitter.eye_height_m
    drawn = np.concatenate([grid.reshape(-1, 3) for grid in bust(scene).grids().values()])
    across = np.linspace(0.0, 0.4, 401)
    compared = 0
    for height in eyes + MM * np.array([90, 60, 20, -20, -60, -150, -180, -210, -250, -360, -480]):
        row = np.abs(drawn[:, 2] - height) < 0.008
        if not row.any():
            continue
        starts = np.stack([across, np.full(401, 3.0), np.full(401, height)], axis=-1)
        half = across[body.blocks(starts, np.array([0.0, -1.0, 0.0]))].max()
        np.testing.assert_allclose(half, np.nanmax(drawn[row, 0]), atol=0.025)
        compared += 1
    assert compared >= 9
