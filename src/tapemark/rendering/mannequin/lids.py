"""What is wet between the lids: the tear line along the lower lid and the inner corner."""

import numpy as np

from tapemark.geometry import almond_points
from tapemark.rendering.mannequin.face import ROTATION_CENTER_MM, FaceShape
from tapemark.rendering.mannequin.mesh import Mesh, ball, joined, mirrored, rounded_section, tube
from tapemark.units import MM

_TEAR_MM = 0.2  # radius of the line
_CORNER_SHARE = 1.75 / 27.5  # the opening lies nasal of the pupil, see `anatomy.eye`


def tear_line(face: FaceShape, *, outward: float) -> Mesh:
    """Return the line of tears where the lower lid touches the eyeball, head frame [mm]."""
    eyes = face.eyes
    width = eyes.opening_width_m / MM
    points = almond_points(
        96,
        half_width=width / 2,
        upper_height=eyes.upper_lid_m / MM,
        lower_height=eyes.opening_height_m / MM / 2,
    )[48:]
    line = points[np.abs(points[:, 0]) < 0.40 * width]
    out = line[:, 0] - _CORNER_SHARE * width
    up = line[:, 1] + eyes.corner_height_m / MM + 0.1
    globe = np.sqrt(np.maximum(face.globe_mm**2 - out**2 - up**2, 1.0)) - ROTATION_CENTER_MM
    lid = face.lid(out, up) - 2.2
    middle = np.stack([out + face.pupil_mm, np.maximum(globe, lid) + 0.1, up], axis=-1)
    section = rounded_section(_TEAR_MM, _TEAR_MM, count=8, exponent=2.0)
    mesh = tube(middle, section, across=np.array([0.0, 1.0, 0.0]))
    return mesh if outward > 0 else mirrored(mesh)


def caruncle(face: FaceShape, *, outward: float) -> Mesh:
    """Return the pink folds in the inner corner of the eye, head frame [mm]."""
    eyes = face.eyes
    width = eyes.opening_width_m / MM
    corner = -(0.5 + _CORNER_SHARE) * width
    up = eyes.corner_height_m / MM
    lumps = []
    for out, sunk, radii in ((2.0, 2.3, (2.4, 1.8, 1.6)), (4.2, 3.6, (3.4, 2.0, 4.2))):
        depth = float(face.lid(np.array([corner + out]), np.array([up]))[0]) - sunk
        middle = np.array([corner + out + face.pupil_mm, depth, up])
        lumps.append(ball(middle, np.eye(3), np.array(radii), rows=16, columns=24))
    mesh = joined(lumps)
    return mesh if outward > 0 else mirrored(mesh)
