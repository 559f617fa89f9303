"""Where in the camera's frame do things in the room lie?

A place in the picture is first met on a plane one metre in front of the
camera, then as shares of the frame::

    (0, 0) ------- (1, 0)      across: from the camera-left edge
      |               |        down: from the top edge
    (0, 1) ------- (1, 1)

The lens is thin and focused on the nearer eye, so that the frame takes in
what is found at that plane by `tapemark.optics.field_size`.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tapemark.analysis.scene import Scene
from tapemark.anatomy import Body, HeadSurface, head_pose
from tapemark.geometry import FloatArray, axes_facing, normalize
from tapemark.optics import image_distance
from tapemark.studio import aim_point_m
from tapemark.units import MM

LEAST_DEPTH_M = 0.05  # nearer in front of the camera nothing counts as seen
#: Edges of the frame in the order of the boxes of `body_boxes`.
EDGES = ("camera-left", "top", "camera-right", "bottom")
#: Rows of `head_marks`; the chin is its lowest point, the ears their tragions.
HEAD_MARKS = ("crown", "forehead", "nose tip", "right ear", "left ear", "chin")


@dataclass(frozen=True, kw_only=True, eq=False)
class CameraView:
    """What a camera sees, as places on the plane one metre in front of it.

    Attributes
    ----------
    position : (3,) array
        Entrance pupil, world. [m]
    axes : (3, 3) array
        Columns: to the right of the picture, the way it looks, up.
    half_width, half_height : float
        Half of the frame on that plane. [-]
    """

    position: FloatArray
    axes: FloatArray
    half_width: float
    half_height: float

    def __call__(self, world: FloatArray) -> FloatArray:
        """Return places right and down, (..., 2) [-]; NaN behind the camera."""
        local = (world - self.position) @ self.axes
        depth = np.where(local[..., 1] > 0, local[..., 1], np.nan)
        return np.stack([local[..., 0] / depth, -local[..., 2] / depth], axis=-1)

    def depth(self, world: FloatArray) -> FloatArray:
        """Return how far in front of the camera points lie, along its axis [m]."""
        return np.asarray((world - self.position) @ self.axes[:, 1])

    def shares(self, world: FloatArray) -> FloatArray:
        """Return places across and down as shares of the frame, (..., 2) [-]; NaN behind."""
        return self.as_shares(self(world))

    def as_shares(self, plane: FloatArray) -> FloatArray:
        """Return places on the plane (..., 2) as shares of the frame's width and height [-]."""
        return np.asarray(plane / (2 * self.half_width, 2 * self.half_height) + 0.5)

    def world_at(self, shares: FloatArray, *, depth_m: FloatArray | float) -> FloatArray:
        """Return the world points at places of the frame and a depth, (..., 3) [m]."""
        across, down = np.moveaxis(
            (shares - 0.5) * (2 * self.half_width, 2 * self.half_height), -1, 0
        )
        local = np.stack([across, np.ones_like(across), -down], axis=-1)
        return np.asarray(self.position + (local * np.asarray(depth_m)[..., None]) @ self.axes.T)

    def field_m(self, depth_m: float) -> tuple[float, float]:
        """Return the width and height that the frame takes in at a depth [m]."""
        return 2 * self.half_width * depth_m, 2 * self.half_height * depth_m


def camera_view(
    position: FloatArray,
    *,
    target: FloatArray,
    focal_length_mm: float,
    frame_mm: tuple[float, float],
    focus_m: float = np.inf,
) -> CameraView:
    """Return the view of a camera.

    Parameters
    ----------
    position, target : (3,) arrays
        Camera and the middle of its frame, world. [m]
    focal_length_mm : float
        Focal length. [mm]
    frame_mm : tuple of two floats
        Width and height of the frame on the sensor. [mm]
    focus_m : float
        Distance of the plane in focus, beyond the focal length; far away if not given. [m]
    """
    behind_mm = float(image_distance(focus_m, focal_length_m=focal_length_mm * MM)) / MM
    return CameraView(
        position=position,
        axes=axes_facing(target - position),
        half_width=frame_mm[0] / 2 / behind_mm,
        half_height=frame_mm[1] / 2 / behind_mm,
    )


def frame_view(scene: Scene, *, target: FloatArray | None = None) -> CameraView:
    """Return the view of a setup's camera, focused on the sitter's nearer eye.

    Parameters
    ----------
    scene : Scene
        About anybody in the setup; the view is the same.
    target : (3,) array or None
        Middle of the frame; where the camera is aimed if not given. [m]
    """
    camera = scene.setup.camera
    aim = np.array(aim_point_m(camera, setup=scene.setup)) if target is None else target
    return camera_view(
        scene.camera,
        target=aim,
        focal_length_mm=camera.focal_length_mm,
        frame_mm=(camera.frame_width_mm, camera.frame_height_mm),
        focus_m=focus_depth_m(scene, target=aim),
    )


def focus_depth_m(scene: Scene, *, target: FloatArray) -> float:
    """Return the depth of the sitter's nearer eye along the camera's axis [m].

    Parameters
    ----------
    scene : Scene
        About anybody in the setup; the focus is on its sitter.
    target : (3,) array
        Middle of the frame. [m]

    Returns
    -------
    float
        inf where the eye is behind the camera, or too near to be focused on.
    """
    sitter = scene.setup.sitter
    pose = scene.pose if scene.sitter is sitter else head_pose(sitter)
    axis = normalize(target - scene.camera)
    aside = abs(float(pose.axes[:, 0] @ axis)) * sitter.face.interpupillary_mm / 2 * MM
    nearest = float((pose.origin - scene.camera) @ axis) - aside
    return nearest if nearest > 2.0 * scene.setup.camera.focal_length_mm * MM else np.inf


def body_boxes(view: CameraView, body: Body) -> FloatArray:
    """Return the box in the frame around each part of a body.

    Parameters
    ----------
    view : CameraView
        The camera.
    body : Body
        Ellipsoids; each is taken as a whole, seen or hidden.

    Returns
    -------
    (n, 4) array
        Camera-left, top, camera-right and bottom limit, as shares of the frame; NaN for a part
        that is not wholly in front of the camera. [-]

    Notes
    -----
    Exact: the two planes through the camera's up (or right) direction that touch an ellipsoid.
    With half axes S and offset c, n·c = |Sᵀn| for n = a - t w gives a quadratic in the place t.
    """
    offset = (body.centers - view.position) @ view.axes
    half = np.swapaxes(body.axes * body.radii[:, None, :], 1, 2) @ view.axes
    ahead, ahead_half = offset[:, 1], half[..., 1]
    square = ahead**2 - (ahead_half**2).sum(axis=1)
    in_front = (ahead > LEAST_DEPTH_M) & (square > 0.0)
    square = np.where(in_front, square, np.nan)
    limits = np.empty((len(offset), 4))
    for column, (axis, sign) in enumerate(((0, 1.0), (2, -1.0))):
        aside, aside_half = sign * offset[:, axis], sign * half[..., axis]
        middle = aside * ahead - (aside_half * ahead_half).sum(axis=1)
        spread = np.sqrt(middle**2 - square * (aside**2 - (aside_half**2).sum(axis=1)))
        limits[:, column] = (middle - spread) / square
        limits[:, column + 2] = (middle + spread) / square
    return view.as_shares(limits.reshape(-1, 2, 2)).reshape(-1, 4)


@lru_cache(maxsize=64)
def head_marks(head: HeadSurface) -> FloatArray:
    """Return places of a face as in `HEAD_MARKS`, head frame, (6, 3) [m]; not to be changed."""
    marks = head.landmarks()
    chin_z = marks.sellion[2] - head.measures.face_height_mm * MM
    chin_y = float(head.front_depth(np.array(0.0), np.array(chin_z)))
    ears = (marks.right_tragion, marks.left_tragion)
    points = np.array([marks.crown, marks.forehead, marks.nose_tip, *ears, (0.0, chin_y, chin_z)])
    points.flags.writeable = False
    return points
