"""Framing, depth of field and perspective against printed examples."""

import numpy as np
import pytest

from tapemark.analysis import build_scene, framing
from tapemark.analysis.depth_of_field import circle_of_confusion_mm
from tapemark.analysis.framing import ADVISED_DISTANCE_M
from tapemark.analysis.framing_findings import FACE_NEAR_M, FACE_TOO_NEAR_M
from tapemark.optics import (
    conjugate_distances,
    depth_of_field_limits,
    hyperfocal_distance,
    magnification,
)
from tapemark.studio import Camera, Place, Room, Setup

INCH = 0.0254
FOOT = 12 * INCH
MM = 1e-3


def test_army_example_of_the_hyperfocal_distance():
    # SOURCE    [army-ss0507] p. 58, worked example
    # ASSUMES   2 in lens at f/8, circle 0.002 in; H = f²/(N c), without our "+ f"
    # PRINTED   H = 20.8 ft; focused there, sharp from 10.4 ft to infinity
    focal, circle = 2.0 * INCH, 0.002 * INCH
    reach = hyperfocal_distance(focal, f_number=8.0, circle_m=circle)
    np.testing.assert_allclose((reach - focal) / FOOT, 20.8, rtol=0, atol=0.05)
    near, far = depth_of_field_limits(reach, focal_length_m=focal, hyperfocal_m=reach)
    # 10.5 ft from the lens; the source's half of H is short by half of the f that it drops
    np.testing.assert_allclose((near - focal / 2) / FOOT, 10.4, rtol=0, atol=0.05)
    assert far == np.inf


# SOURCE    [harrison-depth] worked example
# ASSUMES   thin lens of 50 mm at f/4, focused at 10 ft from the lens
# PRINTED   circle of confusion [mm], from and to [ft, in]
HARRISON = [(0.030, (8, 9), (11, 8)), (0.019, (9, 2), (11, 0))]
HALF_INCH = 0.5 * INCH  # half of the last printed digit


@pytest.mark.parametrize(("circle_mm", "near", "far"), HARRISON)
def test_worked_example_of_depth_of_field(circle_mm, near, far):
    lens = {"focal_length_m": 50.0 * MM}
    reach = hyperfocal_distance(50.0 * MM, f_number=4.0, circle_m=circle_mm * MM)
    limits = depth_of_field_limits(10.0 * FOOT, hyperfocal_m=reach, **lens)
    printed = [feet * FOOT + inches * INCH for feet, inches in (near, far)]
    np.testing.assert_allclose(limits, printed, rtol=0, atol=HALF_INCH)


def test_navy_example_of_conjugate_distances():
    # SOURCE    [navedtra-14209] p. 42
    # ASSUMES   a man of 6 ft, an image of 5 in, a lens of 10 in
    # PRINTED   154 in to the man, 10.7 in to the film
    distances = conjugate_distances(5.0 / 72.0, focal_length_m=10.0 * INCH)
    np.testing.assert_allclose(distances[0] / INCH, 154.0, rtol=0, atol=0.5)
    np.testing.assert_allclose(distances[1] / INCH, 10.7, rtol=0, atol=0.05)


def test_navy_example_of_image_size():
    # SOURCE    [navedtra-14209] pp. 43 and 44, fig. 1-32, I : F = G : A
    # ASSUMES   F is the distance of the image, 24 in; object of 10 ft, 30 ft away
    # PRINTED   image of 8 in
    focal = 1.0 / (1.0 / (24.0 * INCH) + 1.0 / (30.0 * FOOT))
    image = 10.0 * FOOT * magnification(30.0 * FOOT, focal_length_m=focal)
    np.testing.assert_allclose(image / INCH, 8.0, rtol=0, atol=0.05)


def test_navy_example_of_object_distance():
    # SOURCE    [navedtra-14209] pp. 43 and 44
    # ASSUMES   a board of 12 ft, an image of 9 in; "12 in lens" is the distance of the image, as
    #           a focal length it would come to 17 ft
    # PRINTED   16 ft
    drawn = 9.0 / 144.0
    focal = 12.0 * INCH / (1.0 + drawn)
    distance, behind = conjugate_distances(drawn, focal_length_m=focal)
    np.testing.assert_allclose(behind / INCH, 12.0, rtol=1e-12)
    np.testing.assert_allclose(distance / FOOT, 16.0, rtol=0, atol=0.05)


# SOURCE    [zoom-manual] p. 212, lens at 200 mm
# ASSUMES   a thin lens, which this is not; distances counted from the sensor; the circle of
#           confusion is not named, we take 0.03 mm
# PRINTED   f-number, focused at, from, to [m]
ZOOM = [
    (8.0, 2.0, 1.98, 2.02),
    (8.0, 3.0, 2.95, 3.06),
    (8.0, 5.0, 4.84, 5.17),
    (4.0, 5.0, 4.92, 5.09),
]
# Loose check. Measured gap: the limits lie up to 34 mm off at 5 m, and the manual's depth is 1.19
# to 1.29 times ours. A lens that has got shorter when focused near, to 178 mm, would agree within
# 5 mm, as would a circle of 0.038 mm; open question which of the two it is.
ZOOM_GAP = 0.007  # of the distance


@pytest.mark.parametrize(("f_number", "at_m", "from_m", "to_m"), ZOOM)
def test_zoom_manual_is_near_a_thin_lens(f_number, at_m, from_m, to_m):
    focal = 200.0 * MM
    lens_to_object = at_m / 2 + np.sqrt(at_m**2 / 4 - at_m * focal)
    behind = at_m - lens_to_object
    reach = hyperfocal_distance(focal, f_number=f_number, circle_m=0.03 * MM)
    limits = depth_of_field_limits(lens_to_object, focal_length_m=focal, hyperfocal_m=reach)
    np.testing.assert_allclose(limits + behind, (from_m, to_m), rtol=0, atol=ZOOM_GAP * at_m)
    assert 1.15 < (to_m - from_m) / (limits[1] - limits[0]) < 1.30


def camera(**stated):
    place = Place(distance_m=2.0, height_m=1.2)
    return Camera(place=place, focal_length_mm=85.0, **stated)


def test_handbook_focal_length_is_both_sides_of_the_format():
    # SOURCE    [army-ss0510] p. 11
    # ASSUMES   head and shoulders; 24 x 36 mm format
    # PRINTED   60 mm
    room = Room(width_m=5.0, length_m=6.0, height_m=2.7)
    found = framing((build_scene(Setup(room=room, camera=camera())),))
    assert found.perspective.handbook_focal_length_mm == 60.0


def test_default_circle_of_confusion_is_the_diagonal_over_1500():
    # SOURCE    [zeiss-formula] diagonal / 1500
    # ASSUMES   24 x 36 mm format
    # PRINTED   0.0288 mm
    circle, named = circle_of_confusion_mm(camera())
    np.testing.assert_allclose(circle, 0.0288, rtol=0, atol=0.00005)
    assert named == "sensor diagonal / 1500"


def test_default_circle_of_confusion_lies_among_the_conventions():
    # SOURCE    [circle-conventions] 0.001 in, 0.03 mm, diagonal / 1440; [zeiss-formula] / 1000
    # ASSUMES   24 x 36 mm format
    # PRINTED   0.001 in; 0.0300 for the diagonal over 1440
    circle, _ = circle_of_confusion_mm(camera())
    diagonal = 1500.0 * circle
    np.testing.assert_allclose(diagonal / 1440.0, 0.0300, rtol=0, atol=0.00005)
    assert 0.001 * INCH / MM < circle < 0.0300 < diagonal / 1000.0
    assert circle_of_confusion_mm(camera(circle_of_confusion_mm=0.05)) == (0.05, "stated")


def test_distances_that_are_called_near_lie_around_the_study():
    # SOURCE    [bryan-2012] abstract and summary: 45 cm rated worse than 135 cm
    # ASSUMES   trouble somewhat beyond the near distance, no more said from the far one on
    # PRINTED   0.45 m, 1.35 m
    assert 0.45 < FACE_TOO_NEAR_M < FACE_NEAR_M
    assert FACE_NEAR_M == 1.35


def test_advised_distance_is_six_feet():
    # SOURCE    [portrait-distance] at least 6 ft with 85 or 105 mm
    # ASSUMES   camera to sitter
    # PRINTED   6 ft
    np.testing.assert_allclose(ADVISED_DISTANCE_M / FOOT, 6.0, rtol=1e-12)
