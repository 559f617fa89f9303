r"""The eyes: opening between the lids, iris, pupil and cornea.

Each eye opening is two arcs through the corners of the eye, in a plane just
behind the corneal vertex; iris and pupil are discs in the plane where a
camera sees them (the entrance pupil); the cornea is a sphere.

      ____
    /  _   \      upper lid covers the top of the iris
   (  (_)   )     lower lid touches its lower edge
    \______/

References
----------
Opening 27.1 x 9.7 mm [read-2006]; corners of the eye about the corneal apex
15.5 mm nasal, 12.0 mm temporal [gka-model-eye], scaled to that width; iris as
seen 11.7 mm [rufer-2005]; cornea radius 7.8 mm [millodot]; entrance pupil
3.05 mm behind the vertex (paraxial, from the model-eye radii); rotation
centre 13.3 mm behind the vertex [gka-model-eye].
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapemark.anatomy.pose import HeadPose
from tapemark.geometry import (
    FloatArray,
    almond_margin,
    almond_points,
    axes_facing,
    normalize,
    turn_to_world,
)
from tapemark.optics import pupil_diameter
from tapemark.studio import Sitter
from tapemark.units import MM

#: The middle of the opening lies nasal of the pupil by this share of its
#: width: corners at 15.5 mm nasal and 12.0 mm temporal [gka-model-eye].
OPENING_SHIFT = 1.75 / 27.5
#: The lids follow the gaze, the upper one farther than the lower by this share: the opening
#: narrows from 9.7 to 6.4 mm as the eyes look 40 degrees down [read-2006].
UPPER_LID_SHARE = (9.7 - 6.4) / (13.3 * np.sin(np.deg2rad(40.0)))
LEAST_LID_M = 0.5 * MM
LARGEST_DROP = 0.12  # of the opening's height (assumption)
OPENING_PLANE_M = 3.0 * MM  # behind the corneal vertex (assumption: lid margin)
ENTRANCE_PUPIL_M = 3.05 * MM
ROTATION_CENTER_M = 13.3 * MM
#: Light level to which the eyes are taken to be adapted. [cd/m²] (assumption:
#: a room lit by modelling lamps) over a field of 1000 square degrees.
ADAPTING_LUMINANCE_CD_M2 = 50.0
ADAPTING_FIELD_DEG2 = 1000.0
DEFAULT_AGE_YEARS = 40.0

Side = Literal["right", "left"]
SIDES: tuple[Side, Side] = ("right", "left")  # the sitter's own; order of every eye array


@dataclass(frozen=True, kw_only=True, eq=False)
class Eyes:
    """Both eyes in the world; leading axis: right eye, left eye.

    Attributes
    ----------
    opening_center : (2, 3) array
        Point of the opening plane straight behind the resting corneal
        vertex. [m]
    head_axes : (3, 3) array
        Head axes in the world (columns); the opening lies in their x-z plane.
    outward : (2,) array
        +1 for the right eye, -1 for the left: temporal direction along x.
    gaze : (2, 3) array
        Unit direction each eye looks in. [-]
    gaze_axes : (2, 3, 3) array
        Frames whose y axis is the gaze.
    iris_center, cornea_center : (2, 3) arrays
        Centre of the iris as seen, and of the corneal sphere. [m]
    pupil_diameter_m, iris_diameter_m : float
        Pupil and iris as seen. [m]
    cornea_radius_m : float
        Radius of the corneal sphere. [m]
    opening_width_m, opening_height_m : float
        Of the eye opening, looking ahead. [m]
    gaze_lift_m : float
        How far the corneal vertices are raised by looking up. [m]
    """

    opening_center: FloatArray
    head_axes: FloatArray
    outward: FloatArray
    gaze: FloatArray
    gaze_axes: FloatArray
    iris_center: FloatArray
    cornea_center: FloatArray
    pupil_diameter_m: float
    iris_diameter_m: float
    cornea_radius_m: float
    opening_width_m: float
    opening_height_m: float
    gaze_lift_m: float

    @property
    def corner_height_m(self) -> float:
        """Corners of the eye over the resting pupil, where the eyes look now. [m]

        Looking ahead the lower lid touches the iris; in an eye nearly closed both lids come
        in over it. Lids and corners go along as the eyes look up or down.
        """
        touching = (self.iris_diameter_m - self.opening_height_m) / 2
        drop = min(touching, LARGEST_DROP * self.opening_height_m)
        return float((1.0 - UPPER_LID_SHARE) * self.gaze_lift_m - drop)

    @property
    def upper_lid_m(self) -> float:
        """Upper lid over the corners, where the eyes look now. [m]"""
        height = self.opening_height_m / 2 + UPPER_LID_SHARE * self.gaze_lift_m
        return float(max(height, LEAST_LID_M))


def eyes(sitter: Sitter, *, pose: HeadPose, looks_at: FloatArray | None) -> Eyes:
    """Return both eyes of a sitter.

    Parameters
    ----------
    sitter : Sitter
        Face measures [mm], age and pupil if known.
    pose : HeadPose
        Head frame in the world.
    looks_at : (3,) array or None
        Point the sitter looks at, world [m]; None looks straight ahead.
    """
    face = sitter.face
    half = face.interpupillary_mm * MM / 2
    cornea_radius = face.cornea_radius_mm * MM
    outward = np.array([1.0, -1.0])
    vertex = np.stack([outward * half, np.zeros(2), np.zeros(2)], axis=-1)
    ahead = np.array([0.0, 1.0, 0.0])
    pivot = pose.origin + turn_to_world(vertex - ROTATION_CENTER_M * ahead, axes=pose.axes)
    forward = pose.axes[:, 1]
    gaze = np.tile(forward, (2, 1)) if looks_at is None else normalize(looks_at - pivot)
    corneal_vertex = pivot + ROTATION_CENTER_M * gaze
    return Eyes(
        opening_center=pose.origin
        + turn_to_world(vertex - OPENING_PLANE_M * ahead, axes=pose.axes),
        head_axes=pose.axes,
        outward=outward,
        gaze=gaze,
        gaze_axes=np.stack([axes_facing(one, up=pose.axes[:, 2]) for one in gaze]),
        iris_center=corneal_vertex - ENTRANCE_PUPIL_M * gaze,
        cornea_center=corneal_vertex - cornea_radius * gaze,
        pupil_diameter_m=pupil_of(sitter),
        iris_diameter_m=face.iris_mm * MM,
        cornea_radius_m=cornea_radius,
        opening_width_m=face.eye_opening_width_mm * MM,
        opening_height_m=face.eye_opening_height_mm * MM,
        gaze_lift_m=ROTATION_CENTER_M * float((gaze @ pose.axes[:, 2]).mean()),
    )


def pupil_of(sitter: Sitter) -> float:
    """Return the pupil diameter as seen [m]: as stated, else predicted from age."""
    if sitter.pupil_mm is not None:
        return sitter.pupil_mm * MM
    age = sitter.age_years if sitter.age_years is not None else DEFAULT_AGE_YEARS
    return float(
        pupil_diameter(ADAPTING_LUMINANCE_CD_M2, age_years=age, field_deg2=ADAPTING_FIELD_DEG2)
    )


def opening_margin(
    x: FloatArray, z: FloatArray, *, eyes: Eyes, outward: FloatArray | float
) -> FloatArray:
    """Return how far a place lies inside the eye opening.

    Parameters
    ----------
    x, z : (...) arrays
        Place relative to the pupil's resting place, head axes. [m]
    eyes : Eyes
        Size of the opening.
    outward : (...) array or float
        +1 right eye, -1 left eye; broadcasts.

    Returns
    -------
    (...) array
        Distance to the nearer lid [m]; positive inside.
    """
    across = x * outward + OPENING_SHIFT * eyes.opening_width_m
    points = np.stack(np.broadcast_arrays(across, z - eyes.corner_height_m), axis=-1)
    return almond_margin(
        points,
        half_width=eyes.opening_width_m / 2,
        upper_height=eyes.upper_lid_m,
        lower_height=eyes.opening_height_m / 2,
    )


def opening_outline(*, eyes: Eyes, outward: float, count: int = 96) -> FloatArray:
    """Return the outline of the eye opening.

    Returns
    -------
    (count, 2) array
        Places (x, z) around the opening, head axes, from the pupil's resting
        place [m]: along the upper lid from the temporal corner, back along
        the lower lid.
    """
    points = almond_points(
        count,
        half_width=eyes.opening_width_m / 2,
        upper_height=eyes.upper_lid_m,
        lower_height=eyes.opening_height_m / 2,
    )
    x = points[:, 0] - OPENING_SHIFT * eyes.opening_width_m
    return np.stack([x * outward, points[:, 1] + eyes.corner_height_m], axis=-1)
