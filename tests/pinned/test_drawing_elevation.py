"""An assistant reads heights off the elevation and sees where the glare comes from."""

import numpy as np
import pytest

POINTS_PER_M = 72 / 0.0254


def scale_of(drawn):
    (note,) = [word for word in drawn.words() if word.endswith("on A4")]
    return POINTS_PER_M / float(note.split()[0].partition(":")[2])


def floor_of(drawn):
    """Height of the floor on the page: where the dimension lines stand [pt]."""
    return max(points[:, 1].max() for points in dimension_lines(drawn))


def dimension_lines(drawn):
    return [drawn.points(group.find("./"))[0] for group in drawn.groups("height")]


@pytest.fixture
def elevation(library):
    def drawn(**stated):
        found = library.elevation(**stated)
        found.points = library.points_of
        return found

    return drawn


def test_heights_are_to_scale(elevation):
    drawn = elevation()
    heights = [np.ptp(points[:, 1]) / scale_of(drawn) for points in dimension_lines(drawn)]
    assert heights == pytest.approx([1.40, 1.40], abs=0.002)


def test_heights_are_said_in_the_users_units(elevation):
    assert "middle 1.40 m high" in elevation().words()
    words = elevation(units="us").words()
    assert "middle 4 ft 7 in high" in words
    assert "lens 3 ft 11 in high" in words


@pytest.mark.parametrize("seen_from", ["camera-left", "camera-right"])
def test_camera_and_sitter_change_sides_with_the_viewer(elevation, seen_from):
    drawn = elevation(seen_from=seen_from)
    camera = drawn.points(next(drawn.groups("camera")[0].iter("{http://www.w3.org/2000/svg}path")))
    body = drawn.points(next(drawn.groups("body")[0].iter("{http://www.w3.org/2000/svg}path")))
    to_the_right = camera[0][:, 0].mean() > body[0][:, 0].mean()
    assert to_the_right == (seen_from == "camera-left")


def test_an_upright_softbox_is_as_high_as_it_is(elevation):
    drawn = elevation(key_height="1.20 m", key_side="0 deg")
    face_heights = [
        np.ptp(np.concatenate(face)[:, 1]) / scale_of(drawn)
        for light in drawn.groups("light")
        for face in drawn.paths("body", inside=light)
    ]
    assert 0.90 in [pytest.approx(high, abs=0.003) for high in face_heights]


def test_a_ray_over_the_eye_goes_from_the_light_over_the_lens_into_the_camera(elevation):
    drawn = elevation()
    rays = [drawn.paths("ray", inside=group)[0][0] for group in drawn.groups("ray over the eye")]
    assert rays
    scale, floor = scale_of(drawn), floor_of(drawn)
    for ray in rays:
        start, lens, end = (floor - point[1] for point in ray)
        assert lens / scale == pytest.approx(1.21, abs=0.04)
        assert end / scale == pytest.approx(1.20, abs=0.002)
        assert 0.8 < start / scale < 2.0
    assert "into the camera, over the eye" in drawn.words()


def test_cured_rays_pass_and_say_by_how_much(elevation, library):
    drawn = elevation(**library.cured)
    assert drawn.groups("ray over the eye") == []
    (key,) = [word for word in drawn.words() if word.startswith("passes")][:1]
    assert key.endswith("under the camera")
    rays = [drawn.paths("ray", inside=group)[0][0] for group in drawn.groups("ray past")]
    assert len(rays) == 2


def test_the_ceiling_is_as_high_as_the_room(elevation):
    drawn = elevation()
    bands = [
        drawn.points(path)[0] for path in drawn.groups("walls")[0] if path.get("fill") == "#ffffff"
    ]
    floor, ceiling = (band[:, 1] for band in bands[:2])
    assert (floor.min() - ceiling.max()) / scale_of(drawn) == pytest.approx(2.75, abs=0.002)


def test_a_standing_sitter_needs_no_stool(elevation):
    seated = elevation().groups("body")[0]
    standing = elevation(posture="standing", eyes="1.60 m").groups("body")[0]
    assert len(list(standing)) < len(list(seated))
