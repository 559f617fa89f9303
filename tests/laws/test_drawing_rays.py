"""The rays of the elevation obey the mirror law and end where they say."""

import numpy as np
import pytest

from tapemark.analysis import build_scene, cover_map, face_light, lens_glare, view_lenses
from tapemark.drawing import glare_rays
from tapemark.drawing.glare_rays import ray_words
from tapemark.units import MM


@pytest.fixture
def rays_of(studio):
    def found(*lights, **more):
        scene = build_scene(studio.setup(lights, glasses=studio.worn(coating="none"), **more))
        view = view_lenses(scene, scene.lenses, columns=61, rows=45)
        lenses = lens_glare(view, cover_map(scene, view, light=face_light(scene)))
        return scene, {ray.source: ray for ray in glare_rays(scene, lenses=lenses)}

    return found


def normal_at(scene, ray):
    """Outward normal of the lens front at a ray's mirror point."""
    index = ("right", "left").index(ray.side)
    lenses = scene.lenses
    local = (np.array(ray.lens) - lenses.boxed_origin[index]) @ lenses.boxed_axes[index]
    normal = lenses.front_curvature[index] * local + np.array([0.0, 1.0, 0.0])
    return normal @ lenses.boxed_axes[index].T


def directions(ray):
    start, lens, end = (np.array(point) for point in (ray.start, ray.lens, ray.end))
    arriving, leaving = lens - start, end - lens
    return arriving / np.linalg.norm(arriving), leaving / np.linalg.norm(leaving)


@pytest.mark.parametrize("height_m", [1.9, 2.2, 2.5])
def test_a_passing_ray_leaves_as_steeply_as_it_arrives(rays_of, studio, height_m):
    scene, rays = rays_of(studio.light("key", (0.9, 1.2, height_m)))
    ray = rays["key"]
    assert ray.goes == "past"
    normal = normal_at(scene, ray)
    arriving, leaving = directions(ray)
    assert -arriving @ normal == pytest.approx(leaving @ normal, abs=1e-9)
    np.testing.assert_allclose(np.cross(leaving - arriving, normal), 0.0, atol=1e-9)


def test_a_passing_ray_starts_in_the_middle_of_the_light(rays_of, studio):
    _scene, rays = rays_of(studio.light("key", (0.9, 1.2, 1.9)))
    np.testing.assert_allclose(rays["key"].start, (0.9, 1.2, 1.9), atol=1e-12)


def test_a_light_beside_the_camera_sends_a_ray_over_the_eye(rays_of, studio):
    scene, rays = rays_of(studio.light("key", (0.35, 1.9, 1.35)))
    ray = rays["key"]
    assert ray.goes == "over the eye"
    np.testing.assert_allclose(ray.end, scene.camera)
    face = next(one for one in scene.emitters if one.name == "key").face
    local = (np.array(ray.start) - face.center) @ face.axes
    assert abs(local[0]) <= face.width_m / 2 + MM
    assert abs(local[2]) <= face.height_m / 2 + MM
    assert local[1] == pytest.approx(0.0, abs=1e-9)


def test_a_front_reflection_obeys_the_mirror_law_too(rays_of, studio):
    scene, rays = rays_of(studio.light("key", (0.35, 1.7, 0.9)), camera=(0.0, 2.0, 1.4))
    (ray,) = rays.values()
    assert (ray.goes, ray.surface) == ("over the eye", "front")
    arriving, leaving = directions(ray)
    np.testing.assert_allclose(
        np.cross(leaving - arriving, normal_at(scene, ray)), 0.0, rtol=0, atol=1e-9
    )


def test_the_miss_is_measured_at_the_camera(rays_of, studio):
    scene, rays = rays_of(studio.light("key", (0.9, 1.2, 1.9)))
    ray = rays["key"]
    miss = np.array(ray.end) - scene.camera
    towards = scene.camera - np.array(ray.lens)
    assert ray.over_m == pytest.approx(miss[2])
    assert miss @ towards == pytest.approx(0.0, abs=1e-9)
    assert ray.over_m < 0
    assert ray_words(ray, system="metric") == f"passes {-ray.over_m:.2f} m under the camera"


def test_a_wider_light_passes_to_the_other_side(rays_of, studio):
    _scene, rays = rays_of(
        studio.light("left", (2.2, 0.6, 1.2)), studio.light("right", (-2.2, 0.6, 1.2))
    )
    assert rays["left"].aside_m < 0 < rays["right"].aside_m
    assert ray_words(rays["left"], system="us").endswith("to camera-right")


def test_a_light_behind_the_lenses_has_no_ray(rays_of, studio):
    _scene, rays = rays_of(studio.light("hair", (0.4, -1.5, 1.9)))
    assert rays == {}


def test_a_bounced_flash_sends_its_ray_from_the_ceiling(rays_of, studio):
    bounced = studio.light("flash", (1.8, 2.0, 1.5), modifier="bare small flash", aim="ceiling")
    scene, rays = rays_of(bounced)
    (name,) = rays
    assert name != "flash"
    assert rays[name].start[2] == pytest.approx(scene.setup.room.height_m)


def test_without_glasses_there_are_no_rays(studio):
    scene = build_scene(studio.setup([studio.light("key", (0.9, 1.2, 1.9))], glasses=None))
    assert glare_rays(scene, lenses=()) == ()
