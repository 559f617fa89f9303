"""Shadows by patches of the real light against closed forms and against other ways to look.

Closed forms: how much of a small far rectangle or disc an edge leaves, how much of a disc a
ball covers, and how much of a light a wedge of skin leaves. Other ways: light drawn at random on
the source with a finer search of the head, and rays of a path tracer against the head as a mesh
of triangles.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from tapemark.analysis import build_scene, face_light, modelling
from tapemark.analysis.emitter import Emitter
from tapemark.analysis.face_points import named_places, skin_at
from tapemark.analysis.key_light import direction_to
from tapemark.analysis.light_at_places import seen_share
from tapemark.analysis.light_faces import BowlFace, FlatFace
from tapemark.analysis.source_patches import FINE_PAIRS, patch_light, source_patches
from tapemark.anatomy import Body, HeadSurface
from tapemark.anatomy.head_shape import STATIONS
from tapemark.geometry import axes_facing, normalize
from tapemark.studio import Camera, Head, Light, Modifier, Place, Room, Setup, Sitter

EYES_M = 1.2
EDGE = 0.03  # share of a light: straight edges are told to a patch of 68
BALL = 0.045
#: The 14 places at which a path is tested lie up to 7 mm apart: of a knife-sharp ridge that loses
#: up to 4 mm, on the mean over a light 2.5 mm. Of a round nose (8 mm) it is 0.3 mm.
RIDGE_LOST_MM = 2.5
EDGE_MM = 0.8  # two steps of the dense search
FINE, COARSE = 0.05, 0.12  # share: 68 or 26 patches, lattice of 1 mm, 14 places a path
CHANCE = 0.05  # share: two standard deviations of 400 draws
FOREHEAD = np.array([[0.0, 0.05, EYES_M + 0.05]])  # a place clear of the head itself
TOWARDS = np.array([[0.0, 1.0, 0.0]])


def setup(*lights):
    return Setup(
        room=Room(width_m=8.0, length_m=9.0, height_m=4.0, behind_sitter_m=4.0),
        sitter=Sitter(eye_height_m=EYES_M),
        camera=Camera(place=Place(distance_m=2.0, height_m=EYES_M), focal_length_mm=85.0),
        lights=lights,
    )


def lamp(x_m, y_m, height_m, modifier):
    place = Place(
        distance_m=math.hypot(x_m, y_m),
        side_deg=math.degrees(math.atan2(x_m, y_m)),
        height_m=height_m,
    )
    head = Head(preset="400 Ws studio head")
    return Light(name="key", head=head, modifier=modifier, place=place, aim="face")


def facing_sitter(shape, *, at, width_m, height_m):
    """A face of a light or a flag in front of the sitter."""
    center = np.array(at)
    face = FlatFace(
        center=center,
        axes=axes_facing(np.array([0.0, -1.0, 0.0])),
        shape=shape,
        width_m=width_m,
        height_m=height_m,
    )
    return Emitter(name=f"{shape} {at}", kind="light", face=face, brightness=1.0)


def scene_with(*emitters, neighbours=()):
    return replace(build_scene(setup()), emitters=emitters, neighbours=neighbours)


# ------------------------------------------------------------ an edge before a light
# GEOMETRY  a light 0.3 m wide, 3 m away; a flag half-way whose edge is swept across it. From
#           the place the light is small: every patch of it gives alike, to 1 %.


@pytest.mark.parametrize("covered", [-0.1, 0.1, 0.3, 0.5, 0.65, 0.9, 1.1])
@pytest.mark.parametrize("shape", ["rectangle", "disc"])
@pytest.mark.parametrize("upright", [True, False])
def test_edge_leaves_the_part_of_the_light_beyond_it(shape, covered, upright):
    away, size, height = 3.0, 0.3, FOREHEAD[0, 2]
    light = facing_sitter(shape, at=(0.0, 0.05 + away, height), width_m=size, height_m=size)
    edge = (covered - 0.5) * size / 2.0  # half-way there the light looks half as large
    middle = edge - 0.5
    at = (middle, 0.05 + away / 2, height) if upright else (0.0, 0.05 + away / 2, height + middle)
    flag = facing_sitter("rectangle", at=at, width_m=1.0, height_m=1.0)
    found = seen_share(
        scene_with(light, flag), light, places=FOREHEAD, normals=TOWARDS, pairs=FINE_PAIRS
    )
    share = min(max(covered, 0.0), 1.0)
    if shape == "disc":
        share = disc_segment(share)
    np.testing.assert_allclose(found, 1.0 - share, atol=EDGE)


def disc_segment(share):
    """Share of a disc that lies within a share of its diameter from one side."""
    offset = 1.0 - 2.0 * share
    return (math.acos(offset) - offset * math.sqrt(1.0 - offset**2)) / math.pi


# ------------------------------------------------------------ a ball before a disc


@pytest.mark.parametrize("apart", [0.0, 0.4, 0.8, 1.2, 1.6, 2.1])
@pytest.mark.parametrize("ball_share", [0.6, 1.0, 1.5])
def test_ball_covers_the_part_of_a_disc_that_two_circles_share(apart, ball_share):
    # Small angles: the ball is seen as a circle `ball_share` the size of the disc's, with its
    # middle `apart` radii of the disc to a side.
    away, radius, near = 4.0, 0.12, 2.0
    height = FOREHEAD[0, 2]
    light = facing_sitter(
        "disc", at=(0.0, 0.05 + away, height), width_m=2 * radius, height_m=2 * radius
    )
    seen = radius / away
    across = apart * seen * near
    ball = Body(
        names=("head",),
        centers=np.array([[across, 0.05 + near, height]]),
        axes=np.eye(3)[None],
        radii=np.full((1, 3), ball_share * seen * near),
    )
    found = seen_share(
        scene_with(light, neighbours=(ball,)),
        light,
        places=FOREHEAD,
        normals=TOWARDS,
        pairs=FINE_PAIRS,
    )
    np.testing.assert_allclose(found, 1.0 - shared(ball_share, apart) / math.pi, atol=BALL)


def shared(radius, apart):
    """Area that a circle of radius 1 shares with one of another radius."""
    if apart <= abs(1.0 - radius):
        return math.pi * min(1.0, radius) ** 2
    if apart >= 1.0 + radius:
        return 0.0
    here = (apart**2 + 1.0 - radius**2) / (2.0 * apart)
    there = apart - here
    return (
        math.acos(here)
        - here * math.sqrt(1.0 - here**2)
        + radius**2 * math.acos(there / radius)
        - there * math.sqrt(radius**2 - there**2)
    )


# ------------------------------------------------------------ a wedge before a light
# GEOMETRY  skin that is flat but for a ridge along x, 25 mm high over flanks of 15 mm, like the
#           bridge of a nose laid on its side; lights 1.5 m away. Of a light a place beside it
#           sees the part above the plane through the place and the ridge line (the ridge is long:
#           its ends are out of the way).


RIDGE_UP_MM, FLANK_MM, RIDGE_Z_MM = 25.0, 15.0, -10.0


def ridge_depth_mm(up_mm):
    """Depth of the wedge at heights [mm]."""
    return np.maximum(RIDGE_UP_MM * (1.0 - np.abs(up_mm - RIDGE_Z_MM) / FLANK_MM), 0.0)


class Wedge(HeadSurface):
    """Skin in the shape of a wedge on a plane, in place of a face; paths followed closely."""

    def hides(self, starts, directions, *, clearance_m=0.002, steps=60):
        return super().hides(starts, directions, clearance_m=clearance_m, steps=steps)

    def _surface_lattice(self):
        lattice = super()._surface_lattice()
        up = (STATIONS[0, 0] + np.arange(lattice.shape[1])) * self._tall
        lattice[0] = ridge_depth_mm(up)[:, None]
        return lattice


def wedge_light(shape, elevation_deg):
    """A light over a wedge: (n, 3) dense places on it, and the emitter."""
    pose = build_scene(setup()).pose
    up = math.radians(elevation_deg)
    towards = np.array([0.0, math.cos(up), math.sin(up)])
    face = FlatFace(
        center=pose.origin + pose.axes @ (1.5 * towards),
        axes=axes_facing(-(pose.axes @ towards)),
        shape=shape,
        width_m=0.4,
        height_m=0.4 if shape == "disc" else 0.6,
    )
    across, upwards = np.meshgrid(*[(np.arange(150) + 0.5) / 150 - 0.5] * 2)
    local = np.stack([across * face.width_m, 0.0 * across, upwards * face.height_m], axis=-1)
    if shape == "disc":
        local = local[np.hypot(across, upwards) < 0.5]
    local = local.reshape(-1, 3)
    light = Emitter(name="key", kind="light", face=face, brightness=1.0)
    return face.center + local @ face.axes.T, light


def wedge_places(*below_mm):
    """Places on the plane under the ridge, and 0.3 mm over it, head frame [m]."""
    up = RIDGE_Z_MM - np.array(below_mm)
    return np.stack([np.zeros(len(up)), np.full(len(up), 0.3), up], axis=-1) * 1e-3


BELOW_MM = (16.0, 20.0, 24.0, 28.0, 32.0, 36.0, 40.0, 45.0)


class QuickWedge(Wedge):
    """The same with paths followed as the check does."""

    def hides(self, starts, directions, *, clearance_m=0.002):
        return super().hides(starts, directions, clearance_m=clearance_m, steps=14)


def share_beside_wedge(shape, elevation_deg, places, *, wedge=Wedge):
    scene = build_scene(setup())
    scene = replace(scene, head=wedge(scene.setup.sitter.face))
    points, light = wedge_light(shape, elevation_deg)
    world = scene.pose.origin + places @ scene.pose.axes.T
    facing = np.broadcast_to(scene.pose.axes[:, 1], world.shape)
    found = seen_share(
        replace(scene, emitters=(light,)), light, places=world, normals=facing, pairs=FINE_PAIRS
    )
    return found, (points - scene.pose.origin) @ scene.pose.axes, light, scene


@pytest.mark.parametrize("elevation_deg", [35.0, 45.0, 55.0])
@pytest.mark.parametrize("shape", ["rectangle", "disc"])
def test_wedge_leaves_the_part_of_the_light_above_its_ridge(shape, elevation_deg):
    places = wedge_places(*BELOW_MM)
    found, points, light, scene = share_beside_wedge(shape, elevation_deg, places)
    normal = scene.pose.axes.T @ light.face.axes[:, 1]
    expected = np.array([part_above_ridge(points, place, normal=normal) for place in places])
    assert ((expected > 0.1) & (expected < 0.9)).sum() >= 2
    np.testing.assert_allclose(found, expected, atol=FINE)


@pytest.mark.parametrize("elevation_deg", [35.0, 45.0, 55.0])
@pytest.mark.parametrize("shape", ["rectangle", "disc"])
def test_quick_paths_lose_little_of_a_sharp_ridge(shape, elevation_deg):
    places = wedge_places(*BELOW_MM)
    found, points, light, scene = share_beside_wedge(shape, elevation_deg, places, wedge=QuickWedge)
    normal = scene.pose.axes.T @ light.face.axes[:, 1]
    whole, lower = (
        np.array([part_above_ridge(points, one, normal=normal, lost_mm=lost) for one in places])
        for lost in (0.0, RIDGE_LOST_MM)
    )
    assert (found >= whole - FINE).all()
    assert (found <= lower + FINE).all()


def part_above_ridge(points, place, *, normal, lost_mm=0.0):
    """Share of the light of a face (n, 3) above the plane through a place and the ridge line."""
    span = points - place
    square = (span**2).sum(axis=-1)
    weight = np.maximum(span[:, 1], 0.0) * np.maximum(-span @ normal, 0.0) / square**2
    over_y = (RIDGE_UP_MM - lost_mm) * 1e-3 - place[1]
    over_z = RIDGE_Z_MM * 1e-3 - place[2]
    above = span[:, 1] * over_z > span[:, 2] * over_y
    return weight[above].sum() / weight.sum()


@pytest.mark.parametrize("shape", ["rectangle", "disc"])
def test_wedge_agrees_with_a_path_tracers_rays(shape):
    places = wedge_places(*BELOW_MM)
    found, points, light, scene = share_beside_wedge(shape, 45.0, places)
    tracer = loaded_tracer()
    up, across = np.array([-90.0, -25.0, -10.0, 5.0, 90.0]), np.array([-70.0, 0.0, 70.0])
    grid_x, grid_z = np.meshgrid(across, up)
    mesh = triangles(tracer, np.stack([grid_x, ridge_depth_mm(grid_z), grid_z], axis=-1) * 1e-3)
    ends = points[np.random.default_rng(5).choice(len(points), 1200, replace=False)]
    chance = 2.0 * 0.5 / math.sqrt(len(ends))  # two standard deviations
    normal = scene.pose.axes.T @ light.face.axes[:, 1]
    for place, share in zip(places, found, strict=True):
        span = ends - place
        weight = np.maximum(span[:, 1], 0.0) * np.maximum(-span @ normal, 0.0)
        weight /= (span**2).sum(axis=-1) ** 2
        seen = np.array([not meets(tracer, mesh, place, end) for end in ends])
        expected = (weight * seen).sum() / weight.sum()
        np.testing.assert_allclose(share, expected, atol=FINE + chance)


# ------------------------------------------------------------ patches against exact light


SHAPES = {
    "rectangle": FlatFace(
        center=np.array([0.6, 1.3, 1.8]),
        axes=axes_facing(np.array([-0.5, -1.0, -0.4])),
        shape="rectangle",
        width_m=0.6,
        height_m=0.9,
    ),
    "disc": FlatFace(
        center=np.array([0.6, 1.3, 1.8]),
        axes=axes_facing(np.array([-0.5, -1.0, -0.4])),
        shape="disc",
        width_m=0.7,
        height_m=0.7,
    ),
    "octagon": FlatFace(
        center=np.array([0.6, 1.3, 1.8]),
        axes=axes_facing(np.array([-0.5, -1.0, -0.4])),
        shape="octagon",
        width_m=0.9,
        height_m=0.9,
    ),
    "hollow bowl": BowlFace(
        center=np.array([0.6, 1.3, 1.8]),
        axes=axes_facing(np.array([-0.5, -1.0, -0.4])),
        diameter_m=1.0,
        depth_m=0.22,
        hollow_front=True,
    ),
}


@pytest.mark.parametrize("shape", sorted(SHAPES))
@pytest.mark.parametrize("exponent", [1.0, 2.5])
def test_patches_together_give_the_exact_light_of_a_face(shape, exponent):
    light = Emitter(
        name="key", kind="light", face=SHAPES[shape], brightness=700.0, beam_exponent=exponent
    )
    patches = source_patches(light, pairs=FINE_PAIRS)
    normal = normalize(np.array([[0.3, 1.0, 0.2]]))
    found = patch_light(light, patches, places=FOREHEAD, normals=normal).sum()
    exact = light.exposure_at(FOREHEAD, normal=normal)[0]
    np.testing.assert_allclose(found, exact, rtol=0.01)
    # Of equal area: the middle of all of them is the middle of the face, to 1 % of its size.
    size = 2.0 * SHAPES[shape].reach_m
    np.testing.assert_allclose(
        patches.points.mean(axis=0), SHAPES[shape].center, rtol=0, atol=0.01 * size
    )


def test_patches_of_a_bulging_bowl_lie_on_the_bowl():
    bowl = replace(SHAPES["hollow bowl"], hollow_front=False)
    light = Emitter(name="key", kind="light", face=bowl, brightness=1.0, back_brightness=0.5)
    patches = source_patches(light, pairs=FINE_PAIRS)
    towards = patches.points - 3.0 * patches.normals
    hits = bowl.hits(towards + 6.0 * patches.normals, -patches.normals)
    np.testing.assert_allclose(hits.distance, 3.0, atol=1e-9)
    area = math.pi * (0.5**2 + 0.22**2)
    np.testing.assert_allclose(patches.intensities.sum(), area, rtol=1e-9)


# ------------------------------------------------------------ the head against other ways


CHEEKS = tuple((side * x, z) for side in (-1, 1) for x in (18.0, 32.0) for z in (-30.0, -50.0))
FACE = (*CHEEKS, (0.0, -53.0), (0.0, -60.0), (-12.0, -55.0), (-24.0, -42.0), (20.0, 45.0))
LIGHTS = {
    "softbox": lamp(0.95, 1.0, 1.9, Modifier(preset="medium softbox 60x90 cm")),
    "dish": lamp(0.9, 0.8, 1.7, Modifier(preset="reflector dish 18 cm")),
}


@pytest.mark.parametrize("name", sorted(LIGHTS))
def test_shares_agree_with_light_drawn_at_random(name):
    scene = build_scene(setup(LIGHTS[name]))
    (key,) = scene.emitters
    local = named_places(scene.head, FACE)
    places = local.in_world(scene.pose)
    where = {"places": places.points, "normals": places.normals}
    fine = seen_share(scene, key, pairs=FINE_PAIRS, **where)
    coarse = seen_share(scene, key, **where)
    points = drawn(key.face, 400)
    span = points - places.points[:, None]
    square = (span**2).sum(axis=-1)
    weight = np.maximum((span * places.normals[:, None]).sum(axis=-1), 0.0)
    weight *= np.maximum(-(span @ key.face.axes[:, 1]), 0.0) ** key.beam_exponent
    weight /= square**2
    towards = span / np.sqrt(square)[..., None] @ scene.pose.axes
    hidden = scene.head.blocks(
        local.points[:, None], towards, clearance_m=0.002, reach_m=0.16, steps=70
    )
    total = weight.sum(axis=1)
    lit = total > 0
    expected = np.where(lit, (weight * ~hidden).sum(axis=1) / np.where(lit, total, 1.0), 0.0)
    assert ((expected > 0.05) & (expected < 0.95)).any() or name == "dish"
    assert expected.min() < 0.1
    assert expected.max() > 0.9
    np.testing.assert_allclose(fine, expected, atol=FINE + CHANCE)
    np.testing.assert_allclose(coarse, fine, atol=COARSE)


def drawn(face, count):
    """Places drawn at random on a rectangle or disc, (count, 3) [m]."""
    rng = np.random.default_rng(11)
    flat = rng.uniform(-0.5, 0.5, (count, 2)) * (face.width_m, face.height_m)
    if face.shape == "disc":
        radius = face.width_m / 2 * np.sqrt(rng.uniform(size=count))
        angle = rng.uniform(0.0, 2 * np.pi, count)
        flat = np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=-1)
    local = np.stack([flat[:, 0], np.zeros(count), flat[:, 1]], axis=-1)
    return face.center + local @ face.axes.T


def test_shares_agree_with_a_path_tracers_rays():
    scene = build_scene(setup(LIGHTS["softbox"]))
    (key,) = scene.emitters
    local = named_places(scene.head, FACE)
    places = local.in_world(scene.pose)
    tracer = loaded_tracer()
    mesh = head_mesh(tracer, scene.head)
    patches = source_patches(key)
    weight = patch_light(key, patches, places=places.points, normals=places.normals)
    starts = local.points + 0.3e-3 * local.normals
    ends = (patches.points - scene.pose.origin) @ scene.pose.axes
    seen = np.array([[not meets(tracer, mesh, a, b) for b in ends] for a in starts])
    total = weight.sum(axis=1)
    lit = total > 0
    expected = np.where(lit, (weight * seen).sum(axis=1) / np.where(lit, total, 1.0), 0.0)
    found = seen_share(scene, key, places=places.points, normals=places.normals)
    assert expected.min() < 0.1
    assert expected.max() > 0.9
    np.testing.assert_allclose(found, expected, atol=1.5 / 26)  # a patch more or less


def loaded_tracer():
    import drjit
    import mitsuba

    mitsuba.set_variant("scalar_rgb")
    drjit.set_thread_count(1)
    return mitsuba


def head_mesh(tracer, head):
    """The face side of the head as triangles, in metres."""
    return triangles(tracer, head.mesh(rows=240, columns=201))


def triangles(tracer, points):
    """A grid of points (rows, columns, 3) as triangles."""
    rows, columns = points.shape[:2]
    at = np.arange(rows * columns).reshape(rows, columns)
    a, b, c, d = (x.ravel() for x in (at[:-1, :-1], at[:-1, 1:], at[1:, 1:], at[1:, :-1]))
    faces = np.concatenate([np.stack([a, b, c], axis=-1), np.stack([a, c, d], axis=-1)])
    flat = points.reshape(-1, 3)
    assert np.isfinite(flat).all()
    mesh = tracer.Mesh("head", vertex_count=len(flat), face_count=len(faces))
    fields = tracer.traverse(mesh)
    fields["vertex_positions"] = flat.ravel()
    fields["faces"] = faces.ravel()
    fields.update()
    return tracer.load_dict({"type": "scene", "head": mesh})


def meets(tracer, mesh, start, end):
    span = end - start
    size = float(np.linalg.norm(span))
    first = start + 2e-3 * span / size
    ray = tracer.Ray3f(first.tolist(), (span / size).tolist())
    return mesh.ray_test(ray)


# ------------------------------------------------------------ the nose's shadow


NOSE_LIGHTS = {
    "softbox": Modifier(preset="medium softbox 60x90 cm"),
    "dish": Modifier(preset="reflector dish 18 cm"),
}


@pytest.mark.parametrize(("width_m", "height_m"), [(0.6, 0.9), (0.3, 0.3)])
def test_soft_edge_is_about_what_the_size_of_the_source_says(width_m, height_m):
    # w = D s/d from full shadow to full light, square to the light; from a tenth to nine tenths
    # of a rectangle it is 0.8 of that, more where the skin lies aslant and where the tip of the
    # nose is round (assumption: 0.5 to 1.6 together).
    box = Modifier(kind="softbox", width_m=width_m, height_m=height_m)
    scene = build_scene(setup(lamp(0.45, 1.2, 2.25, box)))
    nose = modelling(scene, light=face_light(scene)).nose
    assert 0.5 < nose.edge_mm / (0.8 * nose.edge_formula_mm) < 1.6


@pytest.mark.parametrize(("side_deg", "up_deg"), [(0.0, 45.0), (20.0, 40.0), (35.0, 40.0)])
@pytest.mark.parametrize("name", sorted(NOSE_LIGHTS))
def test_soft_edge_agrees_with_a_dense_search(name, side_deg, up_deg):
    # The skin in steps of 0.4 mm and 150 places drawn on the light, looked for in the surface
    # itself every 0.6 mm. A dish has an edge of some 2 mm, where the skin slants of 6 mm.
    level = 1.6 * math.cos(math.radians(up_deg))
    x_m, y_m = (level * f(math.radians(side_deg)) for f in (math.sin, math.cos))
    height_m = EYES_M + 1.6 * math.sin(math.radians(up_deg))
    scene = build_scene(setup(lamp(x_m, y_m, height_m, NOSE_LIGHTS[name])))
    nose = modelling(scene, light=face_light(scene)).nose
    steps, way, share = dense_walk(scene, around_mm=nose.length_mm)
    middle = int(np.argmax((share >= 0.5) & (np.abs(steps - nose.length_mm) < 2.0)))
    dark = share[: middle + 1].min()
    share = (share - dark) / (1.0 - dark)
    low = middle - int(np.argmax(share[middle::-1] <= 0.1))
    high = middle + int(np.argmax(share[middle:] >= 0.9))
    assert low < middle <= high
    edges = [
        np.interp(level, share[at - 1 : at + 1], way[at - 1 : at + 1])
        for level, at in ((0.1, low + 1), (0.9, high))
    ]
    np.testing.assert_allclose(nose.edge_mm, edges[1] - edges[0], atol=EDGE_MM)


def dense_walk(scene, *, around_mm):
    """Steps from the tip of the nose [mm], way along the skin [mm], share of the light seen."""
    (key,) = scene.emitters
    towards = direction_to(scene, key)
    away = -towards[[0, 2]] / np.hypot(towards[0], towards[2])
    tip = np.array(scene.head.landmarks().nose_tip)
    steps = np.arange(max(around_mm - 12.0, 8.0), around_mm + 14.0, 0.4)
    skin = skin_at(scene.head, *(tip[[0, 2]][:, None] + steps * 1e-3 * away[:, None]))
    way = np.cumsum(np.sqrt((np.diff(skin.points, axis=0) ** 2).sum(axis=-1))) * 1e3
    ends = (drawn(key.face, 150) - scene.pose.origin) @ scene.pose.axes
    span = ends - skin.points[:, None]
    size = np.sqrt((span**2).sum(axis=-1))
    along = span / size[..., None]
    leaving = -along @ (scene.pose.axes.T @ key.face.axes[:, 1])
    weight = np.maximum((along * skin.normals[:, None]).sum(axis=-1), 0.0)
    weight *= np.maximum(leaving, 0.0) ** key.beam_exponent / size**2
    lengths = np.arange(1.0, 70.0, 0.6)[:, None] * 1e-3
    seen = np.ones(size.shape, dtype=bool)
    for row in range(len(steps)):
        path = skin.points[row] + lengths[..., None] * along[row]
        depth = scene.head.front_depth(path[..., 0], path[..., 2])
        seen[row] = ~(path[..., 1] < depth).any(axis=0)
    total = weight.sum(axis=1)
    share = (weight * seen).sum(axis=1) / np.where(total > 0, total, 1.0)
    return steps, np.concatenate([[0.0], way]), share
