"""The camera of a picture: where it looks from, and which part of its frame is shown.

Pixels are counted from the camera-left top corner of the frame::

    (0, 0) ------- (columns, 0)
      |                 |
    (0, rows) --- (columns, rows)
"""

from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from tapemark.analysis import Scene, frame_view
from tapemark.geometry import FloatArray, axes_facing
from tapemark.photometry import exact_aperture
from tapemark.units import MM


@dataclass(frozen=True, kw_only=True, eq=False)
class View:
    """A camera.

    Attributes
    ----------
    position : (3,) array
        Entrance pupil, world. [m]
    axes : (3, 3) array
        Columns: to the right of the picture, the way it looks, up. [-]
    half_width : float
        Tangent of half its field, level. [-]
    aperture_m : float
        Diameter of the entrance pupil. [m]
    focus_m : float
        Depth of the plane in focus. [m]
    """

    position: FloatArray
    axes: FloatArray
    half_width: float
    aperture_m: float
    focus_m: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Window:
    """A part of a camera's frame, in pixels of some size.

    Attributes
    ----------
    view : View
        The camera.
    whole_size : tuple of two ints
        Columns and rows of the whole frame.
    left, top, columns, rows : int
        The part.
    """

    view: View
    whole_size: tuple[int, int]
    left: int
    top: int
    columns: int
    rows: int

    def finer(self, times: int) -> Self:
        """Return the same part in smaller pixels."""
        width, height = self.whole_size
        return replace(
            self,
            whole_size=(width * times, height * times),
            left=self.left * times,
            top=self.top * times,
            columns=self.columns * times,
            rows=self.rows * times,
        )

    def coarser(self, times: int) -> Self:
        """Return about the same part in larger pixels."""
        width, height = self.whole_size
        return replace(
            self,
            whole_size=(max(width // times, 1), max(height // times, 1)),
            left=self.left // times,
            top=self.top // times,
            columns=max(self.columns // times, 1),
            rows=max(self.rows // times, 1),
        )

    def part(self, box: tuple[int, int, int, int]) -> Self:
        """Return a part of this one: left, top, columns, rows, counted from its corner."""
        left, top, columns, rows = box
        return replace(self, left=self.left + left, top=self.top + top, columns=columns, rows=rows)

    def pixels(self, world: FloatArray) -> FloatArray:
        """Return where world points show, (..., 2): column and row of the part, NaN behind.

        A point in the middle of the first pixel is at (0.5, 0.5).
        """
        local = (world - self.view.position) @ self.view.axes
        depth = np.where(local[..., 1] > 0, local[..., 1], np.nan)
        width, height = self.whole_size
        scale = width / (2.0 * self.view.half_width)
        column = local[..., 0] / depth * scale + width / 2.0 - self.left
        return np.stack([column, height / 2.0 - local[..., 2] / depth * scale - self.top], axis=-1)

    def depth(self, world: FloatArray) -> FloatArray:
        """Return how far along the view world points lie, (...). [m]"""
        return np.asarray((world - self.view.position) @ self.view.axes[:, 1])

    def pixels_each_m(self, point: FloatArray) -> float:
        """Return how many pixels a metre takes that lies at a world point, across the view."""
        return self.whole_size[0] / (2.0 * self.view.half_width * float(self.depth(point)))

    def blur(self, point: FloatArray) -> float:
        """Return how wide the aperture spreads a world point, in pixels; 0 behind the camera.

        A pencil of rays through the whole aperture and the point is so wide on the plane in focus.
        """
        view, depth = self.view, float(self.depth(point))
        if depth <= 0.0:
            return 0.0
        wide_m = view.aperture_m * abs(depth - view.focus_m) / depth
        return wide_m / view.focus_m * self.whole_size[0] / (2.0 * view.half_width)

    def directions(self) -> FloatArray:
        """Return the unit direction through the middle of every pixel, (rows, columns, 3)."""
        width, height = self.whole_size
        scale = 2.0 * self.view.half_width / width
        across = (np.arange(self.columns) + 0.5 + self.left - width / 2.0) * scale
        up = (height / 2.0 - np.arange(self.rows) - 0.5 - self.top) * scale
        local = np.stack(
            np.broadcast_arrays(across[None, :], np.ones(1)[:, None], up[:, None]), axis=-1
        )
        local = local / np.linalg.norm(local, axis=-1, keepdims=True)
        return np.asarray(local @ self.view.axes.T)


def whole_window(scene: Scene, *, size: tuple[int, int]) -> Window:
    """Return the frame of a setup's camera.

    Parameters
    ----------
    scene : Scene
        The setup.
    size : tuple of two ints
        Columns and rows of the picture. Of the camera's frame, the largest middle part of that
        shape is shown.
    """
    frame, camera = frame_view(scene), scene.setup.camera
    shape = size[0] / size[1]
    half_width = min(frame.half_width, frame.half_height * shape)
    nearer = float(max(frame.depth(_eye_centers(scene)).min(), 1e-3))
    view = View(
        position=frame.position,
        axes=frame.axes,
        half_width=half_width,
        aperture_m=camera.focal_length_mm * MM / exact_aperture(camera.aperture),
        focus_m=nearer,
    )
    columns, rows = size
    return Window(view=view, whole_size=size, left=0, top=0, columns=columns, rows=rows)


def close_window(window: Window, points: FloatArray, *, margin: float) -> Window:
    """Return a close look at world points in as many pixels as a whole frame has.

    Parameters
    ----------
    window : Window
        A whole frame.
    points : (n, 3) array
        World, in front of the camera. [m]
    margin : float
        Added on each side, as a share of their box. [-]
    """
    shown = window.pixels(points)
    middle, reach = (shown.min(axis=0) + shown.max(axis=0)) / 2, np.ptp(shown, axis=0)
    wanted = np.maximum(reach * (1.0 + 2.0 * margin), 2.0)
    times = float((np.array(window.whole_size) / wanted).min())
    width, height = (round(one * times) for one in window.whole_size)
    columns, rows = window.whole_size
    corner = np.round(middle * times - np.array(window.whole_size) / 2).astype(int)
    # Room is left around the frame: what is looked at may reach beyond it, or lie there.
    beyond = np.maximum(-corner, corner + window.whole_size - (width, height))
    room = np.maximum(window.whole_size, beyond)
    wide, tall = (int(one) for one in (width, height) + 2 * room)
    left, top = (int(one) for one in corner + room)
    return Window(
        view=replace(window.view, half_width=window.view.half_width * wide / (columns * times)),
        whole_size=(wide, tall),
        left=left,
        top=top,
        columns=columns,
        rows=rows,
    )


def turned_window(window: Window, *, towards: FloatArray, up: FloatArray) -> Window:
    """Return a window of the same pixel pitch around a camera turned to a direction.

    Parameters
    ----------
    window : Window
        The camera's own; its part is lost.
    towards, up : (3,) arrays
        New axis of the view and a direction that is up in it. [-]
    """
    pitch = 2.0 * window.view.half_width / window.whole_size[0]
    side = round(2.0 * TURNED_HALF_FIELD / pitch / 2.0) * 2
    view = replace(
        window.view,
        axes=axes_facing(towards, up=up),
        half_width=side * pitch / 2.0,
        aperture_m=0.0,
    )
    return Window(view=view, whole_size=(side, side), left=0, top=0, columns=side, rows=side)


def box_around(
    window: Window, points: FloatArray, *, margin: float, extra: float = 0.0
) -> tuple[int, int, int, int]:
    """Return the part of a frame around world points: left, top, columns, rows.

    Parameters
    ----------
    window : Window
        A whole frame.
    points : (n, 3) array
        World. [m]
    margin : float
        Added on each side, as a share of the box. [-]
    extra : float
        Pixels added on each side besides.

    Returns
    -------
    tuple of four ints
        No columns or rows where nothing of it is in the frame.
    """
    shown = window.pixels(points)
    if not len(shown) or not np.isfinite(shown).all():
        return 0, 0, 0, 0
    low, high = shown.min(axis=0), shown.max(axis=0)
    around = margin * (high - low) + 2.0 + extra
    low = np.clip(np.floor(low - around), 0, (window.columns, window.rows)).astype(int)
    high = np.clip(np.ceil(high + around), 0, (window.columns, window.rows)).astype(int)
    columns, rows = (int(one) for one in high - low)
    return int(low[0]), int(low[1]), columns, rows


#: Tangent of half the field of a camera turned to look square at a lens.
TURNED_HALF_FIELD = 4.0


def _eye_centers(scene: Scene) -> FloatArray:
    return scene.eyes.iris_center
