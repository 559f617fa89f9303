"""The camera a photo was taken with: from the setup, the size of the picture and Exif."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tapemark.analysis import Scene, camera_view
from tapemark.analysis.camera_frame import focus_depth_m
from tapemark.geometry import FloatArray
from tapemark.photo.shot_facts import ShotFacts
from tapemark.studio import aim_point_m

#: How exactly the width of the frame is known: a zoom as read from Exif or as written. [-]
FOCAL_SPREAD, CROPPED_SPREAD = 0.03, 0.25
_SHAPE_ROOM = 0.02  # a picture of another shape than the sensor by more was cropped, or may be
_ODD_FOCAL = 0.06


@dataclass(frozen=True, kw_only=True, eq=False)
class PhotoCamera:
    """A camera and the picture it took.

    Attributes
    ----------
    position : (3,) array
        Entrance pupil, world. [m]
    axes : (3, 3) array
        Columns: to the right of the picture, the way it looks, up. [-]
    size : tuple of two ints
        Columns and rows.
    focal_px : float
        Distance from lens to picture. [px]
    focal_spread : float
        Standard deviation of its logarithm. [-]
    notes : tuple of str
        What does not fit between setup and photo.
    """

    position: FloatArray
    axes: FloatArray
    size: tuple[int, int]
    focal_px: float
    focal_spread: float
    notes: tuple[str, ...] = ()

    def turned(self, *, pan_rad: float, tilt_rad: float, zoom: float) -> PhotoCamera:
        """Return the camera aimed a little to its right and upwards, and zoomed in."""
        right, ahead, up = self.axes.T
        across = np.cos(pan_rad) * right - np.sin(pan_rad) * ahead
        level = np.sin(pan_rad) * right + np.cos(pan_rad) * ahead
        out = np.cos(tilt_rad) * level + np.sin(tilt_rad) * up
        over = np.cos(tilt_rad) * up - np.sin(tilt_rad) * level
        return PhotoCamera(
            position=self.position,
            axes=np.stack([across, out, over], axis=-1),
            size=self.size,
            focal_px=self.focal_px * float(np.exp(zoom)),
            focal_spread=self.focal_spread,
        )

    def pixels(self, world: FloatArray) -> FloatArray:
        """Return where world points (..., 3) [m] show, (..., 2): column and row [px]."""
        local = (world - self.position) @ self.axes
        depth = np.where(local[..., 1] > 1e-3, local[..., 1], np.nan)
        across = local[..., 0] / depth * self.focal_px + self.size[0] / 2.0
        down = self.size[1] / 2.0 - local[..., 2] / depth * self.focal_px
        return np.stack([across, down], axis=-1)

    def directions(self, pixels: FloatArray) -> FloatArray:
        """Return unit directions (..., 3) through places of the picture (..., 2) [px]."""
        across = (pixels[..., 0] - self.size[0] / 2.0) / self.focal_px
        up = (self.size[1] / 2.0 - pixels[..., 1]) / self.focal_px
        local = np.stack([across, np.ones_like(across), up], axis=-1)
        local = local / np.linalg.norm(local, axis=-1, keepdims=True)
        return np.asarray(local @ self.axes.T)


def photo_camera(scene: Scene, *, size: tuple[int, int], facts: ShotFacts) -> PhotoCamera:
    """Return the camera of a setup as it took a picture.

    Parameters
    ----------
    scene : Scene
        Of the setup.
    size : tuple of two ints
        Columns and rows of the picture.
    facts : ShotFacts
        As its file says: a focal length there counts for more than that of the setup.

    Notes
    -----
    Of the sensor, the largest middle part of the picture's shape is shown. Where that is not the
    whole sensor the picture was cropped, by who knows how much.
    """
    camera = scene.setup.camera
    aim = np.array(aim_point_m(camera, setup=scene.setup))
    sides = sorted((camera.frame_width_mm, camera.frame_height_mm))
    frame = (sides[0], sides[1]) if size[0] < size[1] else (sides[1], sides[0])
    focal = facts.focal_length_mm or camera.focal_length_mm
    view = camera_view(
        scene.camera,
        target=aim,
        focal_length_mm=focal,
        frame_mm=frame,
        focus_m=focus_depth_m(scene, target=aim),
    )
    half_width = min(view.half_width, view.half_height * size[0] / size[1])
    whole = abs(np.log(size[0] / size[1] * frame[1] / frame[0])) < _SHAPE_ROOM
    trusted = whole or facts.focal_length_mm is None
    return PhotoCamera(
        position=view.position,
        axes=view.axes,
        size=size,
        focal_px=size[0] / (2.0 * half_width),
        focal_spread=FOCAL_SPREAD if trusted else CROPPED_SPREAD,
        notes=_notes(focal, camera.focal_length_mm),
    )


def _notes(focal_mm: float, written_mm: float) -> tuple[str, ...]:
    if abs(np.log(focal_mm / written_mm)) < _ODD_FOCAL:
        return ()
    return (
        f"The photo was taken at {focal_mm:g} mm, the setup says {written_mm:g} mm: "
        f"{focal_mm:g} mm is used.",
    )
