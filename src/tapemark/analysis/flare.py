"""Which lights and windows shine into the camera's lens, and what keeps them out?

A lit face counts where the lens can see its front: past people, panels and
other lights.  Its light on the front lens is held against that of the picture
itself; a small share of it strays over the whole frame as a veil.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapemark.analysis.backdrop_light import BackdropLight, emitting_samples, hidden_from
from tapemark.analysis.emitter import Emitter
from tapemark.analysis.exposure import Exposure
from tapemark.analysis.scene import Scene
from tapemark.analysis.shading import ROOM_KINDS
from tapemark.analysis.spill import grid_within, head_reach_deg
from tapemark.geometry import FloatArray, angle_between, normalize
from tapemark.photometry import FLAT, polygon_illuminance

#: A hood shades the lens wholly from light this far outside the frame, and in proportion from
#: light nearer to its edge (assumption). [deg]
HOOD_DEG = 30.0
#: Share of the light on the front lens that strays over the frame: from within it, 1 % to 3 % for
#: clean lenses, and from outside it a tenth of that (from memory, not verified: the order of
#: magnitude only). [-]
STRAY_SHARE, STRAY_FROM_OUTSIDE = 0.02, 0.002
LEAST_VEIL = 0.01  # a fainter veil is not reported [-]
MEAN_REFLECTANCE = 0.18  # of what fills the frame (assumption) [-]
#: Where a flag stands in front of the lens, and what it reaches past the light's way. [m]
FLAG_BEFORE_LENS_M, FLAG_MARGIN_M = 0.5, 0.05
#: Only this far outside the frame can a flag stand before the lens without showing. [deg]
CLEAR_OF_FRAME_DEG = 5.0

Edge = Literal["camera-left", "camera-right", "top", "bottom"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Flare:
    """One light or window that the lens sees shining.

    Attributes
    ----------
    source, kind : str
        What shines: its name, and ``light``, ``window`` or ``screen``.
    off_axis_deg : float
        Middle of what shines from the middle of the frame. [deg]
    outside_deg : float
        Its nearest part from the nearest edge of the frame; 0 within the frame. [deg]
    in_frame : bool
        Whether part of it is in the frame.
    seen_share : float
        Share of it that nothing hides from the lens. [-]
    over_scene : float
        Its light on the front lens, hood counted, against that of the picture. [-]
    veil : float
        What strays over the frame against the picture's mean. [-]
    edge : str
        From which edge of the frame it shines in: ``camera-left``, ``camera-right``, ``top`` or
        ``bottom``.
    grid_deg : float or None
        Widest grid, full angle, that keeps it off the lens and still covers the head. [deg]
    flag_m : tuple of two floats or None
        Width and height of a black panel half a metre in front of the lens that would shade it,
        just outside the frame; None where the light is too near to the frame for that. [m]
    """

    source: str
    kind: str
    off_axis_deg: float
    outside_deg: float
    in_frame: bool
    seen_share: float
    over_scene: float
    veil: float
    edge: Edge
    grid_deg: float | None
    flag_m: tuple[float, float] | None


def flares(scene: Scene, *, light: BackdropLight, reading: Exposure) -> tuple[Flare, ...]:
    """Return everything that shines into the lens, the worst first.

    Parameters
    ----------
    scene : Scene
        Camera and emitters.
    light : BackdropLight
        For the frame and the people.
    reading : Exposure
        Reading at the face, by which the picture is exposed.

    Notes
    -----
    The picture's own light on the lens is that of a frame of mean reflectance 0.18 lit as the
    face is.  Surfaces lit by lights count as part of the picture.
    """
    if reading.aperture is None:
        return ()
    at_face = FLAT * reading.aperture**2 / scene.setup.camera.iso
    picture = MEAN_REFLECTANCE * at_face / np.pi * _frame_factor(scene, light)
    found = []
    for emitter in scene.emitters:
        if emitter.kind not in ("light", "window", "screen") or emitter.brightness <= 0.0:
            continue
        one = _flare(scene, light, emitter, picture=picture)
        if one is not None:
            found.append(one)
    return tuple(sorted(found, key=lambda one: -one.veil))


def _frame_factor(scene: Scene, light: BackdropLight) -> float:
    """Return light on the lens per luminance of the frame. [lx per cd/m2]"""
    corners = light.view.world_at(
        np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]), depth_m=1.0
    )
    axis = light.view.axes[:, 1]
    return float(polygon_illuminance(corners, point=scene.camera, normal=axis))


def _flare(scene: Scene, light: BackdropLight, emitter: Emitter, *, picture: float) -> Flare | None:
    view, face = light.view, emitter.face
    towards = scene.camera - face.center
    if float(towards @ face.axes[:, 1]) <= 0.0 or float(-towards @ view.axes[:, 1]) <= 0.0:
        return None
    whole = np.concatenate([face.outline(), face.center[None]])
    ahead = view.depth(whole) > 0.0
    bare = float(emitter.exposure_at(scene.camera, normal=view.axes[:, 1])) / picture
    if STRAY_SHARE * bare < LEAST_VEIL or not ahead.any():
        return None
    outside = _outside_deg(light, whole[ahead])
    hooded = bare * max(1.0 - outside / HOOD_DEG, 0.0)
    stray = STRAY_SHARE if outside <= 0.0 else STRAY_FROM_OUTSIDE
    if stray * hooded < LEAST_VEIL:
        return None
    points, weights = emitting_samples(emitter)
    seen = float(weights @ ~_hidden(scene, light, emitter, points))
    if stray * hooded * seen < LEAST_VEIL:
        return None
    off_lens = float(np.degrees(angle_between(scene.camera - whole, face.axes[:, 1]).min()))
    reach = head_reach_deg(scene.body, emitter) if emitter.kind == "light" else np.inf
    return Flare(
        source=emitter.name,
        kind=emitter.kind,
        off_axis_deg=float(np.degrees(angle_between(-towards, view.axes[:, 1]))),
        outside_deg=outside,
        in_frame=outside <= 0.0,
        seen_share=seen,
        over_scene=hooded * seen,
        veil=stray * hooded * seen,
        edge=_edge(light, face.center),
        grid_deg=grid_within(off_lens, at_least_deg=reach),
        flag_m=_flag_m(scene, light, face.outline()) if outside >= CLEAR_OF_FRAME_DEG else None,
    )


def _hidden(scene: Scene, light: BackdropLight, emitter: Emitter, points: FloatArray) -> np.ndarray:
    """Return which points of an emitter people and things hide from the lens, (k,)."""
    others = tuple(one for one in scene.emitters if one.kind not in ROOM_KINDS)
    hidden = hidden_from(scene.camera[None], points, emitter=emitter, others=others)[0]
    for body in light.bodies:
        hidden |= body.hides(scene.camera[None], points)[0]
    return np.asarray(hidden)


def _outside_deg(light: BackdropLight, points: FloatArray) -> float:
    """Return how far the nearest of some points lies outside the frame [deg]."""
    view = light.view
    flat = view(points)
    nearest = np.clip(
        flat, (-view.half_width, -view.half_height), (view.half_width, view.half_height)
    )
    rays, edges = (
        np.column_stack([one[:, 0], np.ones(len(one)), -one[:, 1]]) for one in (flat, nearest)
    )
    apart = np.degrees(angle_between(rays, edges))
    return float(apart.min())


def _edge(light: BackdropLight, middle: FloatArray) -> Edge:
    view = light.view
    right, _, up = (middle - view.position) @ view.axes
    if abs(right) / view.half_width >= abs(up) / view.half_height:
        return "camera-right" if right > 0 else "camera-left"
    return "top" if up > 0 else "bottom"


def _flag_m(scene: Scene, light: BackdropLight, outline: FloatArray) -> tuple[float, float]:
    """Return the size that shades the lens from an outline, square to its light [m]."""
    rays = outline - scene.camera
    ahead = normalize(rays.mean(axis=0))
    across = normalize(np.cross(ahead, light.view.axes[:, 2]))
    up = np.cross(across, ahead)
    scale = FLAG_BEFORE_LENS_M / (rays @ ahead)
    width, height = (
        float(np.ptp((rays @ axis) * scale)) + 2.0 * FLAG_MARGIN_M for axis in (across, up)
    )
    return width, height
