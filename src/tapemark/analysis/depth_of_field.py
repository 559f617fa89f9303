"""Is everything sharp that should be: the eyes, the tip of the nose, the ear?

Focus is on the nearer eye of the sitter; depth counts along the camera's axis.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.camera_frame import CameraView, frame_view, head_marks
from tapemark.analysis.scene import Scene
from tapemark.anatomy import SIDES
from tapemark.geometry import FloatArray, to_world
from tapemark.optics import (
    DIAGONAL_PER_CIRCLE,
    blur_circle,
    depth_of_field_limits,
    hyperfocal_distance,
)
from tapemark.studio import Camera
from tapemark.units import MM

AT_LIMIT = 1.0 + 1e-9  # a blur this many circles wide still counts as sharp


@dataclass(frozen=True, kw_only=True, slots=True)
class FeatureSharpness:
    """How sharp one place of a face is.

    Attributes
    ----------
    sitter, feature : str
        Whose; ``right eye``, ``left eye``, ``nose tip`` or ``ear`` (the one nearer to the
        camera).
    behind_m : float
        Behind the plane in focus, along the camera's axis; negative in front. [m]
    blur : float
        Its blur on the sensor over the circle of confusion; sharp up to 1. [-]
    """

    sitter: str
    feature: str
    behind_m: float
    blur: float

    @property
    def sharp(self) -> bool:
        """Whether the blur stays within the circle of confusion."""
        return self.blur <= AT_LIMIT


@dataclass(frozen=True, kw_only=True, slots=True)
class DepthOfField:
    """What is sharp with the focus on the nearer eye.

    Attributes
    ----------
    focus_on : str
        Whose eye.
    focus_m, near_m, far_m : float
        Plane in focus, nearest and farthest plane that is sharp; inf where it has no end. [m]
    circle_mm : float
        Circle of confusion. [mm]
    circle_from : str
        ``stated``, or ``sensor diagonal / 1500``.
    features : tuple of FeatureSharpness
        Eyes, nose and nearer ear of everybody.
    aperture_for_eyes, aperture_for_all : float
        Smallest f-numbers at which all eyes, or all features, are sharp with this focus. [-]
    better_focus_on : str
        Of a group, whose nearer eye to focus on instead for the smallest such f-number.
    aperture_for_better : float
        That f-number, for all eyes. [-]
    """

    focus_on: str
    focus_m: float
    near_m: float
    far_m: float
    circle_mm: float
    circle_from: str
    features: tuple[FeatureSharpness, ...]
    aperture_for_eyes: float
    aperture_for_all: float
    better_focus_on: str
    aperture_for_better: float


def depth_of_field(scenes: tuple[Scene, ...]) -> DepthOfField | None:
    """Return what is sharp, for everybody in a setup.

    Parameters
    ----------
    scenes : tuple of Scene
        One setup seen for each of its people, the sitter first.

    Returns
    -------
    DepthOfField or None
        None where somebody is not in front of the camera, or too near to be focused on.

    References
    ----------
    [zeiss-formula] diagonal / 1500.
    """
    first, camera = scenes[0], scenes[0].setup.camera
    view = frame_view(first)
    depths = np.stack([_feature_depths(one, view) for one in scenes])
    focal = camera.focal_length_mm * MM
    if depths.min() < 2.0 * focal:
        return None
    circle, named = circle_of_confusion_mm(camera)
    nearer = depths[:, :2].min(axis=1)
    # Blur at f/1 over the circle: the f-number that makes it just sharp, (focus, who, feature).
    needed = blur_circle(
        depths, focused_at_m=nearer[:, None, None], focal_length_m=focal, f_number=1.0
    ) / (circle * MM)
    for_eyes = needed[:, :, :2].max(axis=(1, 2))
    best = int(for_eyes.argmin())
    reach = hyperfocal_distance(focal, f_number=camera.aperture, circle_m=circle * MM)
    limits = depth_of_field_limits(nearer[0], focal_length_m=focal, hyperfocal_m=reach)
    return DepthOfField(
        focus_on=first.sitter.name,
        focus_m=float(nearer[0]),
        near_m=float(limits[0]),
        far_m=float(limits[1]),
        circle_mm=circle,
        circle_from=named,
        features=_features(scenes, depths - nearer[0], needed[0] / camera.aperture),
        aperture_for_eyes=float(for_eyes[0]),
        aperture_for_all=float(needed[0].max()),
        better_focus_on=scenes[best].sitter.name,
        aperture_for_better=float(for_eyes[best]),
    )


def circle_of_confusion_mm(camera: Camera) -> tuple[float, str]:
    """Return the circle of confusion [mm] and where it comes from."""
    if camera.circle_of_confusion_mm is not None:
        return camera.circle_of_confusion_mm, "stated"
    diagonal = float(np.hypot(camera.frame_width_mm, camera.frame_height_mm))
    return diagonal / DIAGONAL_PER_CIRCLE, f"sensor diagonal / {DIAGONAL_PER_CIRCLE:.0f}"


def _feature_depths(scene: Scene, view: CameraView) -> FloatArray:
    """Return the depth of right eye, left eye, nose tip and nearer ear, (4,) [m]."""
    pose = scene.pose
    world = to_world(head_marks(scene.head)[2:5], origin=pose.origin, axes=pose.axes)
    nose, *ears = view.depth(world)
    return np.array([*view.depth(scene.eyes.iris_center), nose, min(ears)])


def _features(
    scenes: tuple[Scene, ...], behind_m: FloatArray, blur: FloatArray
) -> tuple[FeatureSharpness, ...]:
    names = (*(f"{side} eye" for side in SIDES), "nose tip", "ear")
    return tuple(
        FeatureSharpness(
            sitter=scene.sitter.name,
            feature=name,
            behind_m=float(behind_m[who, which]),
            blur=float(blur[who, which]),
        )
        for who, scene in enumerate(scenes)
        for which, name in enumerate(names)
    )
