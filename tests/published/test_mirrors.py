"""Convex mirrors, keratometry and the first Purkinje image against printed examples."""

import numpy as np
import pytest

from tapemark.optics import (
    convex_image_distance,
    keratometer_radius,
    purkinje_image_depth,
    radius_from_magnification,
)

CM = 1e-2
MM = 1e-3

# SOURCE    [serway-mirror] solution 23.6; [openstax-mirror] ch. 25 no. 59, solved twice;
#           [numerade-contact-lens]
# ASSUMES   paraxial, distances to the vertex; the first solution prints "0.752 m" in one of
#           its two copies, an obvious slip for cm, which the other copy has
# PRINTED   object distance [cm], magnification [-], radius [cm], half a unit of its last
#           digit [cm]
RADII = [
    (30.0, 0.0130, 0.790, 0.0005),
    (3.00, 0.167 / 1.50, 0.752, 0.0005),
    (10.0, 0.035, 0.73, 0.005),
]


@pytest.mark.parametrize(("object_cm", "magnification", "radius_cm", "half_digit_cm"), RADII)
def test_corneal_radius_matches_worked_example(object_cm, magnification, radius_cm, half_digit_cm):
    radius = radius_from_magnification(magnification, object_distance_m=object_cm * CM)
    np.testing.assert_allclose(radius, radius_cm * CM, rtol=0, atol=half_digit_cm * CM)


# SOURCE    [serway-mirror] solution 23.6; [openstax-mirror] ch. 25 no. 59
# ASSUMES   sign of the textbooks: negative behind the mirror; the second prints the size only
# PRINTED   object distance [cm], radius [cm], image distance [cm]
IMAGES = [(30.0, 0.790, -0.390), (3.00, 0.752, -0.334)]


@pytest.mark.parametrize(("object_cm", "radius_cm", "image_cm"), IMAGES)
def test_image_distance_matches_worked_example(object_cm, radius_cm, image_cm):
    image = convex_image_distance(object_cm * CM, radius_m=radius_cm * CM)
    np.testing.assert_allclose(image, image_cm * CM, rtol=0, atol=0.0005 * CM)


def test_example_that_rounds_on_the_way_is_met_by_rounding_there():
    # SOURCE    [drjack-mirror] no. 1633661
    # ASSUMES   paraxial, distance to the vertex
    # PRINTED   h 1.70 cm, h' 0.185 cm, object 3.00 cm -> R 0.731 cm
    exact = radius_from_magnification(0.185 / 1.70, object_distance_m=3.00 * CM)
    # Exact is 0.7327 cm, 0.0017 more than printed. An image distance rounded to 0.326 cm on
    # the way gives the printed figure; so the gap is theirs.
    np.testing.assert_allclose(exact, 0.7327 * CM, rtol=0, atol=0.00005 * CM)
    rounded = 2.0 / (1.0 / (0.326 * CM) - 1.0 / (3.00 * CM))
    np.testing.assert_allclose(rounded, 0.731 * CM, rtol=0, atol=0.0005 * CM)


def test_text_book_answer_holds_with_its_rounded_focal_length():
    # SOURCE    [openstax-mirror] example in ch. 25, "Image in a convex mirror": problem seen,
    #           answer from memory, not verified
    # ASSUMES   paraxial, distance to the vertex
    # PRINTED   12.0 cm, m 0.0320 -> R 0.800 cm
    exact = radius_from_magnification(0.0320, object_distance_m=12.0 * CM)
    np.testing.assert_allclose(exact, 0.7934 * CM, rtol=0, atol=0.00005 * CM)
    # Half of it, the focal length 0.3967 cm, is 0.40 cm to two digits: twice that is 0.80.
    np.testing.assert_allclose(0.5 * exact, 0.40 * CM, rtol=0, atol=0.005 * CM)


def test_keratometer_form_is_low_when_measured_to_the_vertex():
    # SOURCE    [keratometer] R = 2 d (image/object)
    # ASSUMES   d to the focal point; with d to the vertex it is low by 1 - m
    # PRINTED   the formula; data of [serway-mirror]: 30.0 cm, 0.0130, 0.790 cm
    to_vertex = keratometer_radius(0.0130, distance_to_image_m=30.0 * CM)
    np.testing.assert_allclose(to_vertex / (1.0 - 0.0130), 0.790 * CM, rtol=0, atol=0.0005 * CM)
    to_focus = keratometer_radius(0.0130, distance_to_image_m=(30.0 + 0.395) * CM)
    np.testing.assert_allclose(to_focus, 0.790 * CM, rtol=0, atol=0.0005 * CM)


def test_first_purkinje_image_lies_3_90_mm_behind_the_cornea():
    # SOURCE    [schwartz-optics] ch. 14, fig. 14-14
    # ASSUMES   corneal radius 7.80 mm, object far away
    # PRINTED   power -256.41 D, image 3.90 mm behind the vertex
    depth = purkinje_image_depth(7.80 * MM)
    np.testing.assert_allclose(depth, 3.90 * MM, rtol=0, atol=0.005 * MM)
    np.testing.assert_allclose(-1.0 / depth, -256.41, rtol=0, atol=0.005)
