"""How much light falls on what the camera sees behind the people, from which emitter?

The backdrop, or the wall behind where none hangs, is looked at through a grid
of places over the frame.  On each, every emitter counts with its real shape
and beam, and with the shadows of people, panels and other lights in between.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.camera_frame import CameraView, frame_view
from tapemark.analysis.emitter import Emitter, face_cells
from tapemark.analysis.exposure import ROOM_LAMPS
from tapemark.analysis.light_faces import FlatFace
from tapemark.analysis.room_lamps import lamp_shares
from tapemark.analysis.scene import Scene
from tapemark.analysis.shading import ROOM_KINDS
from tapemark.anatomy import Body
from tapemark.geometry import FloatArray, dot, normalize

ACROSS, DOWN = 24, 24  # places looked at over the frame
#: Lights at least so many times their reach off the surface are worked out at so many nodes along
#: each side only, and what they differ there from a small light is interpolated.
FAR_REACHES, NODES = 2.0, 8
LEAST_LEAVING = 0.2  # cosine at a face below which that is not done
SAMPLES = 12  # points on a lit face to which shadows are followed, about
_PARTS_OF_ROOM = ("ceiling", "wall", "floor", "backdrop")
_TOWARDS_CAMERA = np.array([0.0, 1.0, 0.0])


@dataclass(frozen=True, kw_only=True, eq=False)
class BackdropLight:
    """The light on the places of the backdrop that the camera sees.

    Attributes
    ----------
    surface : str
        ``backdrop`` or ``wall behind``.
    reflectance : float
        Share of the light that it gives back. [-]
    view : CameraView
        The frame.
    cells : (n, 2) int array
        Row and column, over the frame, of each place seen; rows run down.
    places : (n, 3) array
        The places in the world. [m]
    names : tuple of str
        The emitters, then the room's own lamps.
    free : (emitters, n) array
        Luminous exposure with nothing in the way. [lx·s]
    hidden : (emitters, n) array
        Share of each emitter that people or things hide. [-]
    behind_people : (emitters, n) array
        Share of each emitter that people hide. [-]
    bodies : tuple of Body
        The people.
    """

    surface: str
    reflectance: float
    view: CameraView
    cells: np.ndarray
    places: FloatArray
    names: tuple[str, ...]
    free: FloatArray
    hidden: FloatArray
    behind_people: FloatArray
    bodies: tuple[Body, ...]

    @property
    def received(self) -> FloatArray:
        """Luminous exposure from each emitter, shadows counted, (emitters, n). [lx·s]"""
        return np.asarray(self.free * (1.0 - self.hidden))

    @property
    def total(self) -> FloatArray:
        """Luminous exposure from all emitters together, (n,). [lx·s]"""
        return np.asarray(self.received.sum(axis=0))

    @property
    def visible_share(self) -> float:
        """Share of the frame that shows it. [-]"""
        return len(self.cells) / (ACROSS * DOWN)

    def grid(self, values: FloatArray) -> FloatArray:
        """Return values of the places over the frame, (rows, columns); NaN where none is seen."""
        found = np.full((DOWN, ACROSS), np.nan)
        found[self.cells[:, 0], self.cells[:, 1]] = values
        return found


def backdrop_light(scene: Scene) -> BackdropLight:
    """Return the light on the backdrop, or on the wall behind, as the camera sees it.

    Parameters
    ----------
    scene : Scene
        Any sitter's; everybody in the setup casts shadows.

    Notes
    -----
    The room's own lamps are a ceiling that shines evenly, see `room_lamps`. Light of the others
    that the surface throws on itself, or that comes from floors and walls that no light is aimed
    at, is left out.
    """
    setup, view = scene.setup, frame_view(scene)
    bodies, backdrop = (scene.body, *scene.neighbours), setup.backdrop
    cells, places = _seen_places(scene, view, bodies)
    standing = (*ROOM_KINDS, *_PARTS_OF_ROOM)
    others = tuple(one for one in scene.emitters if one.kind not in standing)
    count = len(scene.emitters)
    free, hidden, behind = (np.zeros((count + 1, len(places))) for _ in range(3))
    lamps = setup.room.ambient_lx * setup.camera.shutter_s
    if lamps > 0.0 and len(places):
        normal = surface_face(scene).axes[:, 1]
        free[count] = lamps * lamp_shares(scene, places, normal=normal)
    for index, emitter in enumerate(scene.emitters):
        if emitter.kind == "backdrop" or not len(places) or _lies_in(emitter, places):
            continue
        free[index] = _free_light(emitter, places)
        lit = np.flatnonzero(free[index] > 0.0)
        if len(lit):
            hidden[index, lit], behind[index, lit] = _hidden_shares(
                emitter, places[lit], bodies=bodies, others=others
            )
    return BackdropLight(
        surface="wall behind" if backdrop is None else "backdrop",
        reflectance=setup.room.wall_reflectance if backdrop is None else backdrop.reflectance,
        view=view,
        cells=cells,
        places=places,
        names=(*(one.name for one in scene.emitters), ROOM_LAMPS),
        free=free,
        hidden=hidden,
        behind_people=behind,
        bodies=bodies,
    )


def surface_face(scene: Scene) -> FlatFace:
    """Return the backdrop, or the wall behind where none hangs, as a face."""
    room, backdrop = scene.setup.room, scene.setup.backdrop
    if backdrop is not None:
        center = np.array([0.0, -backdrop.distance_m, backdrop.height_m / 2])
        size = backdrop.width_m, backdrop.height_m
    else:
        center = np.array([(room.x_min_m + room.x_max_m) / 2, room.y_min_m, room.height_m / 2])
        size = room.width_m, room.height_m
    return FlatFace(
        center=center, axes=np.eye(3), shape="rectangle", width_m=size[0], height_m=size[1]
    )


def emitting_samples(emitter: Emitter) -> tuple[FloatArray, FloatArray]:
    """Return points spread evenly over a lit face, (n, 3) [m], and their weights, (n,) [-].

    A surface lit by lights weighs each part by its brightness; a bowl counts as its opening.
    """
    face = emitter.face
    if emitter.lit_map is not None and isinstance(face, FlatFace):
        parts = 4 if emitter.lit_map.shape[0] % 4 == 0 else emitter.lit_map.shape[0]
        size = emitter.lit_map.shape[0] // parts
        points, _ = face_cells(face, count=parts)
        blocks = emitter.lit_map.reshape(parts, size, parts, size).sum(axis=(1, 3)).ravel()
        lit = blocks > 0.0
        return points[lit], blocks[lit] / max(blocks.sum(), 1e-300)
    if isinstance(face, FlatFace) and face.shape == "rectangle":
        across = int(np.clip(round((SAMPLES * face.width_m / face.height_m) ** 0.5), 1, SAMPLES))
        up = max(SAMPLES // across, 1)
        x, z = np.meshgrid((np.arange(across) + 0.5) / across, (np.arange(up) + 0.5) / up)
        flat = np.stack([(x.ravel() - 0.5) * face.width_m, (z.ravel() - 0.5) * face.height_m], -1)
    else:
        radius = np.sqrt((np.arange(SAMPLES) + 0.5) / SAMPLES) * np.sqrt(face.area_m2 / np.pi)
        angle = np.arange(SAMPLES) * np.pi * (3.0 - np.sqrt(5.0))
        flat = np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=-1)
    points = face.center + flat[:, :1] * face.axes[:, 0] + flat[:, 1:] * face.axes[:, 2]
    return points, np.full(len(points), 1.0 / len(points))


def hidden_from(
    places: FloatArray, points: FloatArray, *, emitter: Emitter, others: tuple[Emitter, ...]
) -> np.ndarray:
    """Return which points of an emitter other things hide from which places.

    Parameters
    ----------
    places : (n, 3) array
        World. [m]
    points : (k, 3) array
        Points on the emitter. [m]
    emitter : Emitter
        It, and what lights it, hides nothing.
    others : tuple of Emitter
        What may stand in between.

    Returns
    -------
    (n, k) bool array
        True where something stands in between.
    """
    hidden = np.zeros((len(places), len(points)), dtype=bool)
    middle = points.mean(axis=0)
    spread = float(np.sqrt(((points - middle) ** 2).sum(axis=1).max()))
    towards = middle - places
    squared = dot(towards, towards)
    for other in others:
        if other is emitter or other.name in emitter.fed_by:
            continue
        offset = other.face.center - places
        along = np.clip(dot(offset, towards) / squared, 0.0, 1.0)
        away = offset - along[:, None] * towards
        near = np.flatnonzero(dot(away, away) < (other.face.reach_m + spread) ** 2)
        if len(near):
            span = points - places[near, None, :]
            distance = np.sqrt(dot(span, span))
            starts = np.broadcast_to(places[near, None, :], span.shape)
            met = other.face.hits(starts, span / distance[..., None]).distance
            hidden[near] |= np.nan_to_num(met, nan=np.inf) < distance - 1e-3
    return hidden


def _seen_places(
    scene: Scene, view: CameraView, bodies: tuple[Body, ...]
) -> tuple[np.ndarray, FloatArray]:
    """Return the cells of the frame that show the surface, and its places there."""
    down, across = np.meshgrid(np.arange(DOWN), np.arange(ACROSS), indexing="ij")
    cells = np.stack([down.ravel(), across.ravel()], axis=-1)
    shares = np.stack([(cells[:, 1] + 0.5) / ACROSS, (cells[:, 0] + 0.5) / DOWN], axis=-1)
    rays = normalize(view.world_at(shares, depth_m=1.0) - scene.camera)
    starts = np.broadcast_to(scene.camera, rays.shape)
    hits = surface_face(scene).hits(starts, rays)
    seen = ~np.isnan(hits.distance) & hits.from_front
    cells, rays, distance = cells[seen], rays[seen], hits.distance[seen]
    free = np.ones(len(cells), dtype=bool)
    for emitter in scene.emitters:
        if emitter.kind in _PARTS_OF_ROOM:
            continue
        met = emitter.face.hits(starts[: len(rays)], rays).distance
        free &= ~(np.nan_to_num(met, nan=np.inf) < distance + 1e-3)
    places = scene.camera + rays * distance[:, None]
    for body in bodies:
        free &= ~body.hides(places, scene.camera[None])[:, 0]
    return cells[free], places[free]


def _lies_in(emitter: Emitter, places: FloatArray) -> bool:
    """Return whether an emitter is part of the surface itself."""
    offset = float(emitter.face.center[1] - places[0, 1])
    return abs(offset) < 1e-3 and abs(float(emitter.face.axes[1, 1])) > 1.0 - 1e-6


def _free_light(emitter: Emitter, places: FloatArray) -> FloatArray:
    """Return what an emitter puts on places of the surface, nothing in the way [lx·s]."""
    if emitter.lit_map is not None and not emitter.lit_map.any():
        return np.zeros(len(places))
    low, high = places.min(axis=0), places.max(axis=0)
    x, z = (np.linspace(low[k], high[k] + 1e-9, NODES) for k in (0, 2))
    nodes = np.stack(np.broadcast_arrays(x[:, None], low[1], z[None, :]), axis=-1).reshape(-1, 3)
    small, rough = _as_if_small(emitter, places), _as_if_small(emitter, nodes)
    near = abs(float(emitter.face.center[1] - low[1])) < FAR_REACHES * emitter.face.reach_m
    if emitter.lit_map is None and (near or not emitter.even or rough.min() <= 0.0):
        return emitter.exposure_at(places, normal=_TOWARDS_CAMERA)
    exact = emitter.exposure_at(nodes, normal=_TOWARDS_CAMERA)
    if emitter.lit_map is not None:
        return _between(exact, places, x=x, z=z)
    return np.asarray(_between(exact / rough, places, x=x, z=z) * small)


def _as_if_small(emitter: Emitter, places: FloatArray) -> FloatArray:
    """Return light in proportion to that of a small matt face; 0 where it nearly grazes [1/m²]."""
    span = emitter.face.center - places
    squared = dot(span, span)
    leaving = -dot(span, emitter.face.axes[:, 1])
    grazing = leaving < LEAST_LEAVING * np.sqrt(squared)
    return np.where(grazing, 0.0, leaving * np.maximum(span[:, 1], 0.0) / squared**2)


def _between(values: FloatArray, places: FloatArray, *, x: FloatArray, z: FloatArray) -> FloatArray:
    """Return values between the nodes of an even grid, linear along both sides."""
    grid = values.reshape(len(x), len(z))
    u, v = (places[:, 0] - x[0]) / (x[1] - x[0]), (places[:, 2] - z[0]) / (z[1] - z[0])
    i = np.clip(u.astype(int), 0, len(x) - 2)
    k = np.clip(v.astype(int), 0, len(z) - 2)
    u, v = u - i, v - k
    low = grid[i, k] * (1 - u) + grid[i + 1, k] * u
    high = grid[i, k + 1] * (1 - u) + grid[i + 1, k + 1] * u
    return np.asarray(low * (1 - v) + high * v)


def _hidden_shares(
    emitter: Emitter,
    places: FloatArray,
    *,
    bodies: tuple[Body, ...],
    others: tuple[Emitter, ...],
) -> tuple[FloatArray, FloatArray]:
    """Return the share of an emitter hidden by anything, and that hidden by people, (n,) each."""
    points, weights = emitting_samples(emitter)
    people = np.zeros((len(places), len(points)), dtype=bool)
    for body in bodies:
        people |= body.hides(places, points)
    hidden = people | hidden_from(places, points, emitter=emitter, others=others)
    return np.asarray(hidden @ weights), np.asarray(people @ weights)
