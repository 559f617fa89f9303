"""How far outside the frame do lights, stands, panels and screens stay?

A thing is a few convex parts (the box behind a lit face, the head, the column
down to the floor, a boom's arm), each a handful of points.  The gap between a
part and the frame is the largest over many directions of picture plane
between them; a part in the frame has none, and the least shift that frees it
takes the place of the gap.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapemark.analysis.camera_frame import EDGES, LEAST_DEPTH_M, CameraView, frame_view
from tapemark.analysis.emitter import Emitter
from tapemark.analysis.light_faces import BowlFace, Face, FlatFace
from tapemark.analysis.scene import Scene
from tapemark.geometry import FloatArray, normalize
from tapemark.studio import Backdrop, Light, Setup

PartName = Literal["body", "stand", "boom"]

HEAD_LENGTH_M, HEAD_RADIUS_M = 0.26, 0.065  # a studio head behind its modifier (assumption)
BACK_M = 0.16  # across the back of a box (assumption)
SHAFT_OVER_DIAMETER = 0.36  # an umbrella's shaft, from its opening to the head (assumption)
_AROUND = np.arange(64) * (2.0 * np.pi / 64)
#: Directions of the picture, right and down, in which gaps are looked for.
_WAYS = np.stack([np.cos(_AROUND), np.sin(_AROUND)], axis=-1)
_EDGE_WAYS = {"camera-left": 32, "top": 48, "camera-right": 0, "bottom": 16}
_ALONG = np.linspace(0.0, 1.0, 25)  # places along a stand at which it may be hidden
_CORNERS = np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
_SMALL_HEADS = ("bare",)


@dataclass(frozen=True, kw_only=True, slots=True)
class Clearance:
    """How one thing lies to the frame.

    Attributes
    ----------
    name, kind : str
        The thing; ``light``, ``panel`` or ``screen``.
    part : str
        Of it, the one nearest to the frame or deepest in it: ``body``, ``stand`` or ``boom``.
    edge : str
        The edge of the frame it is nearest to: ``camera-left``, ``top``, ``camera-right`` or
        ``bottom``.
    gap : float
        Outside the frame, as a share of its width; negative for a thing in the frame: the
        least shift across that edge that frees it. [-]
    gap_m : float
        In the room, square to that edge; for a thing in the frame, the move that frees it with
        its sign turned. 0 past a corner, where it is clear of no single edge. [m]
    hidden : bool
        Whether what is in the frame is hidden by somebody or by the backdrop.
    over_backdrop : bool
        Whether what shows is seen against the backdrop, or the room has none.
    """

    name: str
    kind: str
    part: PartName
    edge: str
    gap: float
    gap_m: float
    hidden: bool
    over_backdrop: bool

    @property
    def in_frame(self) -> bool:
        """Whether any of it lies within the frame, seen or hidden."""
        return self.gap < 0.0


@dataclass(frozen=True, kw_only=True, eq=False)
class _Part:
    """A convex part: what it belongs to, and its points to the right, ahead and up [m]."""

    owner: int
    name: PartName
    local: FloatArray


def frame_clearances(scene: Scene) -> tuple[Clearance, ...]:
    """Return how everything on a stand lies to the frame, nearest first.

    Parameters
    ----------
    scene : Scene
        Setup, emitters and the people in it; about the sitter that is focused on.

    Returns
    -------
    tuple of Clearance
        Lights, panels and screens; what is behind the camera is left out.

    Notes
    -----
    Heads, stands and booms have usual sizes (assumptions); legs, cables and counterweights are
    left out.  A stand without a base of its own stands under its head, a boom's base lies
    behind the head as seen from the sitter.
    """
    view = frame_view(scene)
    things = list(_things(scene))
    raw = [
        (owner, name, world)
        for owner, (_, _, bodies) in enumerate(things)
        for name, world in bodies
    ]
    parts = _seen(raw, view) if raw else []
    if not parts:
        return ()
    gaps = _gaps(parts, view)
    found = []
    for owner, (name, kind, _) in enumerate(things):
        own = [index for index, part in enumerate(parts) if part.owner == owner]
        if own:
            mine = [parts[index] for index in own]
            found.append(_lie((name, kind), mine, gaps[own], view=view, scene=scene))
    return tuple(sorted(found, key=lambda one: one.gap))


Bodies = list[tuple[PartName, FloatArray]]


def _things(scene: Scene) -> Iterator[tuple[str, str, Bodies]]:
    """Yield name, kind and parts of everything that stands about."""
    setup = scene.setup
    for light, emitter in zip(setup.lights, scene.emitters, strict=False):
        yield light.name, "light", list(light_parts(light, emitter.face, setup))
    for emitter in scene.emitters:
        if emitter.kind in ("panel", "screen"):
            yield emitter.name, emitter.kind, _sheet_parts(emitter)


def light_parts(light: Light, face: Face, setup: Setup) -> Iterator[tuple[PartName, FloatArray]]:
    """Yield modifier, head and what holds them, each as (n, 3) points, world [m]."""
    along = face.axes[:, 1]
    if isinstance(face, BowlFace):
        sign = -1.0 if face.hollow_front else 1.0
        start = -sign * SHAFT_OVER_DIAMETER * face.diameter_m
        end = start - sign * HEAD_LENGTH_M
        apex = face.center + sign * face.depth_m * along
        yield "body", np.concatenate([face.outline(), apex[None]])
        yield "body", np.concatenate([apex[None], _square(face, start), _square(face, end)])
        mount = face.center + 0.5 * (start + end) * along
    else:
        depth, back = light.modifier.depth_m, min(BACK_M, face.width_m) / 2
        bare = light.modifier.kind in _SMALL_HEADS
        end = -depth if bare else -depth - HEAD_LENGTH_M
        yield "body", np.concatenate([face.outline(), _square(face, -depth, half_m=back)])
        if not bare:
            yield "body", np.concatenate([_square(face, -depth), _square(face, end)])
        mount = face.center + 0.5 * (end - depth) * along
    yield from _support(light, mount, setup)


def _support(
    light: Light, mount: FloatArray, setup: Setup
) -> Iterator[tuple[PartName, FloatArray]]:
    """Yield the column down to the floor, and a boom's arm."""
    stand = light.stand
    if stand is not None and stand.kind == "fixed":
        return
    boom = stand is not None and stand.kind == "boom"
    base = mount * (1.0, 1.0, 0.0)
    if stand is not None and stand.base is not None:
        base = np.array([*stand.base.position_m, 0.0])
    elif stand is not None and boom:
        away = base if base.any() else np.array([0.0, -1.0, 0.0])
        base = base + normalize(away) * stand.boom_out_m
    top = np.array([base[0], base[1], mount[2]])
    yield "stand", np.stack([top, base])
    if boom or (stand is not None and np.hypot(*(mount - top)[:2]) > HEAD_LENGTH_M):
        yield "boom", np.stack([mount, top])


def _sheet_parts(emitter: Emitter) -> Bodies:
    """Return the outline of a panel or a screen, and the column under a panel."""
    face = emitter.face
    parts: Bodies = [("body", face.outline())]
    if emitter.kind == "panel":
        parts.append(("stand", np.stack([face.center, face.center * (1.0, 1.0, 0.0)])))
    return parts


def _square(
    face: FlatFace | BowlFace, along_m: float, *, half_m: float = HEAD_RADIUS_M
) -> FloatArray:
    middle = face.center + along_m * face.axes[:, 1]
    return np.asarray(middle + half_m * _CORNERS @ face.axes[:, (0, 2)].T)


def _seen(raw: list[tuple[int, PartName, FloatArray]], view: CameraView) -> list[_Part]:
    """Return the parts that the camera could see, cut off just in front of it."""
    everything = (np.concatenate([world for *_, world in raw]) - view.position) @ view.axes
    found, start = [], 0
    for owner, name, world in raw:
        local = everything[start : start + len(world)]
        start += len(world)
        ahead = local[:, 1] >= LEAST_DEPTH_M
        if ahead.any():
            local = local if ahead.all() else _cut_off(local, ahead)
            found.append(_Part(owner=owner, name=name, local=local))
    return found


def _cut_off(local: FloatArray, ahead: np.ndarray) -> FloatArray:
    """Return what of a convex part lies ahead: its points there, and where its edges are cut."""
    inner, outer = local[ahead][:, None], local[~ahead][None]
    deep, shallow = inner[..., 1], outer[..., 1]
    share = ((deep - LEAST_DEPTH_M) / (deep - shallow))[..., None]
    cut = (inner + share * (outer - inner)).reshape(-1, 3)
    cut[:, 1] = LEAST_DEPTH_M
    return np.concatenate([local[ahead], cut])


def _gaps(parts: list[_Part], view: CameraView) -> FloatArray:
    """Return the gap between each part and the frame in each direction, (parts, ways) [-]."""
    points = np.concatenate([part.local for part in parts])
    plane = points[:, (0, 2)] * (1.0, -1.0) / (2.0 * view.half_width * points[:, 1:2])
    starts = np.cumsum([0, *(len(part.local) for part in parts[:-1])])
    nearest = np.minimum.reduceat(plane @ _WAYS.T, starts, axis=0)
    return np.asarray(nearest - np.abs(_WAYS) @ (0.5, 0.5 * view.half_height / view.half_width))


def _lie(
    thing: tuple[str, str], parts: list[_Part], gaps: FloatArray, *, view: CameraView, scene: Scene
) -> Clearance:
    """Return how one thing, made of parts, lies to the frame."""
    widest = gaps.max(axis=1)
    within = widest < 0.0
    if within.any():  # the least shift, across an edge, that frees what is in the frame
        inside = [index for index, deep in enumerate(within) if deep]
        edge = max(EDGES, key=lambda one: min(_gap_m(parts[i], one, view) for i in inside))
        index = min(inside, key=lambda one: _gap_m(parts[one], edge, view))
        gap, gap_m = float(gaps[index, _EDGE_WAYS[edge]]), _gap_m(parts[index], edge, view)
        hidden, over_backdrop = _shows([parts[one] for one in inside], view, scene)
    else:
        index = int(widest.argmin())
        edge = max(EDGES, key=lambda one: float(gaps[index, _EDGE_WAYS[one]]))
        gap, gap_m = float(widest[index]), max(_gap_m(parts[index], edge, view), 0.0)
        hidden, over_backdrop = False, True
    return Clearance(
        name=thing[0],
        kind=thing[1],
        part=parts[index].name,
        edge=edge,
        gap=gap,
        gap_m=gap_m,
        hidden=hidden,
        over_backdrop=over_backdrop,
    )


def _gap_m(part: _Part, edge: str, view: CameraView) -> float:
    """Return how far a part lies outside an edge; negative: what frees it, sideways or up [m]."""
    across, up = _WAYS[_EDGE_WAYS[edge]]
    half = abs(across) * view.half_width + abs(up) * view.half_height
    right, ahead, above = part.local.T
    return float((across * right - up * above - half * ahead).min())


def _shows(parts: list[_Part], view: CameraView, scene: Scene) -> tuple[bool, bool]:
    """Return whether all that lies in the frame is hidden, and whether the backdrop is behind."""
    local = np.concatenate([_samples(part) for part in parts])
    samples = view.position + local @ view.axes.T
    samples = samples[np.all(np.abs(view.shares(samples) - 0.5) < 0.5, axis=1)]
    if not len(samples):
        return False, True
    hidden = np.zeros(len(samples), dtype=bool)
    for body in (scene.body, *scene.neighbours):
        hidden |= body.hides(view.position[None], samples)[0]
    backdrop = scene.setup.backdrop
    if backdrop is None:
        return bool(hidden.all()), True
    over, before = _on_backdrop(samples, view.position, backdrop)
    hidden |= over & ~before
    return bool(hidden.all()), bool((over & before & ~hidden).any())


def _samples(part: _Part) -> FloatArray:
    """Return places spread over a part: to the right, ahead and up, (n, 3) [m]."""
    points = part.local
    if part.name != "body":
        return np.asarray(points[0] + _ALONG[:, None] * (points[-1] - points[0]))
    middle = points.mean(axis=0)
    return np.concatenate([middle[None], points, 0.5 * (points + middle)])


def _on_backdrop(
    points: FloatArray, camera: FloatArray, backdrop: Backdrop
) -> tuple[np.ndarray, np.ndarray]:
    """Return which points are seen over the backdrop's area, and which lie before its plane."""
    plane_y = -backdrop.distance_m
    span = points - camera
    towards = span[:, 1] < -1e-9
    share = (plane_y - camera[1]) / np.where(towards, span[:, 1], -1.0)
    at = camera + share[:, None] * span
    over = (np.abs(at[:, 0]) < backdrop.width_m / 2) & (at[:, 2] < backdrop.height_m)
    return towards & over & (share > 0.0), points[:, 1] > plane_y
