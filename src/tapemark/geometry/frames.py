"""Frames: how the head, a lens or a light face lies in the room.

A frame is an origin and a (3, 3) matrix of axes whose COLUMNS are the x, y and z axes of
the frame, written in world components. World: x to camera-left, y from the sitter towards
the camera mark, z up; right-handed.
"""

import numpy as np
from numpy.typing import ArrayLike

from tapemark.geometry.vectors import (
    FloatArray,
    Vec3,
    cross,
    dot,
    join_components,
    normalize,
    split_components,
)

_UPRIGHT: Vec3 = (0.0, 0.0, 1.0)
_ALMOST_PARALLEL = 1e-12  # |y x up| below this counts as vertical [-]


def rotation_from_yaw_pitch_roll(
    yaw: ArrayLike, *, pitch: ArrayLike, roll: ArrayLike
) -> FloatArray:
    """Return the head axes of a sitter who turned, raised the chin and tipped the head.

    Parameters
    ----------
    yaw : float or (...) array
        Turn of the face, positive to camera-left (+x). [rad]
    pitch : float or (...) array
        Chin, positive raised. [rad]
    roll : float or (...) array
        Tip of the head, positive with its top to camera-left (+x). [rad]

    Returns
    -------
    (..., 3, 3) array
        Matrix whose columns are the head's x (sitter's right), y (out of the face) and z
        (up) axes in the world; NaN where an input is NaN. [-]

    Notes
    -----
    Turn first, then the chin about the turned ear-to-ear axis, then the tip about the
    turned and raised nose axis: R = Rz(-yaw) Rx(pitch) Ry(roll). With no turn the sitter
    faces the camera mark and the sitter's right is at +x::

              camera (+y)
                  ^
        camera-   |   camera-
        left +x <-o   right        seen from above, yaw > 0 swings the nose to +x

    Examples
    --------
    >>> axes = rotation_from_yaw_pitch_roll(np.pi / 2, pitch=0.0, roll=0.0)
    >>> axes[:, 1].round(12).tolist()
    [1.0, 0.0, 0.0]
    """
    sin_yaw, cos_yaw = np.sin(yaw), np.cos(yaw)
    sin_pitch, cos_pitch = np.sin(pitch), np.cos(pitch)
    sin_roll, cos_roll = np.sin(roll), np.cos(roll)
    right = join_components(
        cos_yaw * cos_roll + sin_yaw * sin_pitch * sin_roll,
        -sin_yaw * cos_roll + cos_yaw * sin_pitch * sin_roll,
        -cos_pitch * sin_roll,
    )
    out = join_components(sin_yaw * cos_pitch, cos_yaw * cos_pitch, sin_pitch)
    up = join_components(
        cos_yaw * sin_roll - sin_yaw * sin_pitch * cos_roll,
        -sin_yaw * sin_roll - cos_yaw * sin_pitch * cos_roll,
        cos_pitch * cos_roll,
    )
    return np.stack(np.broadcast_arrays(right, out, up), axis=-1)


def to_world(points: FloatArray, *, origin: ArrayLike, axes: FloatArray) -> FloatArray:
    """Return points of a frame in world coordinates.

    Parameters
    ----------
    points : (..., 3) array
        Points in the frame. [m]
    origin : (3,) array
        Origin of the frame, in the world. [m]
    axes : (..., 3, 3) array
        Columns are the frame's axes in the world; leading axes broadcast. [-]

    Returns
    -------
    (..., 3) array
        Points in the world; NaN where an input is NaN. [m]
    """
    return turn_to_world(points, axes=axes) + np.asarray(origin, dtype=np.float64)


def to_local(points: FloatArray, *, origin: ArrayLike, axes: FloatArray) -> FloatArray:
    """Return world points in the coordinates of a frame.

    Parameters
    ----------
    points : (..., 3) array
        Points in the world. [m]
    origin : (3,) array
        Origin of the frame, in the world. [m]
    axes : (..., 3, 3) array
        Columns are the frame's axes in the world; leading axes broadcast. [-]

    Returns
    -------
    (..., 3) array
        Points in the frame; NaN where an input is NaN. [m]
    """
    return turn_to_local(points - np.asarray(origin, dtype=np.float64), axes=axes)


def turn_to_world(directions: FloatArray, *, axes: FloatArray) -> FloatArray:
    """Return directions of a frame in world components.

    Parameters
    ----------
    directions : (..., 3) array
        Directions in the frame, the way the light travels. [-]
    axes : (..., 3, 3) array
        Columns are the frame's axes in the world; leading axes broadcast. [-]

    Returns
    -------
    (..., 3) array
        Directions in the world; NaN where an input is NaN. [-]
    """
    return _turned(directions, np.swapaxes(axes, -1, -2))


def turn_to_local(directions: FloatArray, *, axes: FloatArray) -> FloatArray:
    """Return world directions in the components of a frame.

    Parameters
    ----------
    directions : (..., 3) array
        Directions in the world, the way the light travels. [-]
    axes : (..., 3, 3) array
        Columns are the frame's axes in the world; leading axes broadcast. [-]

    Returns
    -------
    (..., 3) array
        Directions in the frame; NaN where an input is NaN. [-]
    """
    return _turned(directions, axes)


def axes_facing(direction: ArrayLike, *, up: ArrayLike = _UPRIGHT) -> FloatArray:
    """Return the axes of a face that points along a direction and stands upright.

    Parameters
    ----------
    direction : (..., 3) array
        Where the face points, any length, world frame. [any unit]
    up : (3,) array
        What counts as upright; the world's z by default. [any unit]

    Returns
    -------
    (..., 3, 3) array
        Columns x, y, z: y along `direction`, z as close to `up` as it can be, x = y x z.
        NaN where `direction` has no length or a NaN. [-]

    Notes
    -----
    A face that points straight up or down has no upright side; its x stays the world's x
    (camera-left), made square to `direction`. Seen from in front of the face, x runs to
    the left::

            z
            |
        x --o    y towards the reader

    Examples
    --------
    >>> axes_facing((0.0, 0.0, -2.0)).tolist()
    [[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]]
    """
    out = normalize(np.asarray(direction, dtype=np.float64))
    upright = normalize(np.asarray(up, dtype=np.float64))
    sideways = cross(out, upright)
    camera_left = np.array([1.0, 0.0, 0.0]) if abs(upright[0]) < 0.9 else np.eye(3)[1]
    fallback = camera_left - dot(out, camera_left)[..., None] * out
    vertical = dot(sideways, sideways) < _ALMOST_PARALLEL**2
    right = normalize(np.where(vertical[..., None], fallback, sideways))
    return np.stack((right, out, cross(right, out)), axis=-1)


def _turned(vectors: FloatArray, columns: FloatArray) -> FloatArray:
    """Return the products of vectors with the columns of a matrix, as one vector."""
    x, y, z = split_components(vectors)
    shape = np.broadcast_shapes(x.shape, columns.shape[:-2])
    joined = np.empty((3, *shape), dtype=np.result_type(vectors, columns))
    for k in range(3):
        turned = joined[k, ...]
        np.multiply(x, columns[..., 0, k], out=turned)
        turned += y * columns[..., 1, k]
        turned += z * columns[..., 2, k]
    return joined.transpose(*range(1, joined.ndim), 0)
