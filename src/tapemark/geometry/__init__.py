"""Vectors, frames, flat shapes, outlines and balance: geometry without light."""

from tapemark.geometry.balance import (
    STANDARD_GRAVITY,
    ballast_for_angle,
    center_of_mass,
    support_margin,
    tipping_angle,
    tipping_force,
)
from tapemark.geometry.frames import (
    axes_facing,
    rotation_from_yaw_pitch_roll,
    to_local,
    to_world,
    turn_to_local,
    turn_to_world,
)
from tapemark.geometry.outlines import (
    almond_margin,
    almond_points,
    superellipse_margin,
    superellipse_points,
)
from tapemark.geometry.rays import intersect_plane, intersect_sphere
from tapemark.geometry.shapes import (
    disc_margin,
    disc_points,
    rectangle_margin,
    rectangle_points,
    regular_polygon_margin,
    regular_polygon_points,
)
from tapemark.geometry.vectors import (
    FloatArray,
    FloatLike,
    Vec3,
    angle_between,
    cross,
    dot,
    join_components,
    length,
    normalize,
    split_components,
    stacked,
)

__all__ = [
    "STANDARD_GRAVITY",
    "FloatArray",
    "FloatLike",
    "Vec3",
    "almond_margin",
    "almond_points",
    "angle_between",
    "axes_facing",
    "ballast_for_angle",
    "center_of_mass",
    "cross",
    "disc_margin",
    "disc_points",
    "dot",
    "intersect_plane",
    "intersect_sphere",
    "join_components",
    "length",
    "normalize",
    "rectangle_margin",
    "rectangle_points",
    "regular_polygon_margin",
    "regular_polygon_points",
    "rotation_from_yaw_pitch_roll",
    "split_components",
    "stacked",
    "superellipse_margin",
    "superellipse_points",
    "support_margin",
    "tipping_angle",
    "tipping_force",
    "to_local",
    "to_world",
    "turn_to_local",
    "turn_to_world",
]
