"""Everything that sends light of its own, for the path tracer.

An even face becomes a surface that shines as brightly as computed. A beam is a grid of points on
its face, each with the whole beam's shape: the tracer's surfaces cannot shine more one way than
another. What a mirror shows of such a face is found by `uneven_faces`.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from tapemark.analysis import BowlFace, Emitter, FlatFace, Scene
from tapemark.geometry import FloatArray, normalize
from tapemark.rendering.meshes import Mesh, cap_mesh, polygon_mesh
from tapemark.rendering.parts import BLACK, Beam, Material, Part, Rgb
from tapemark.rendering.source_colors import ROOM_LAMPS
from tapemark.rendering.uneven_faces import UnevenFace

SENDING_KINDS = ("light", "window", "screen")
BEAM_FIELD_DEG, SLIDE_PIXELS = 166.0, 512  # beyond it a beam sends next to nothing
POINTS_EACH_WAY = 3  # over a face whose light is not even; a grid's beam needs more
GRID_POINTS_EACH_WAY, GRID_SLIDE_PIXELS = 5, 128
LEAST_LOOKED_FOR = 0.3  # how often paths look for a lamp that does not light the face, of all [-]
BEHIND_M = 1e-3  # the other side of an umbrella lies so far behind
BEFORE_WALL_M = 2e-3  # a window in a wall lies so far before it: else rays meet either


@dataclass(frozen=True, kw_only=True, eq=False)
class Source:
    """One thing that sends light of its own.

    Attributes
    ----------
    name : str
        What the photographer calls it.
    faces : tuple of Part
        Surfaces that stand in the room, shining where they shine evenly.
    beams : tuple of Beam
        Light that is not even.
    uneven : tuple of UnevenFace
        Which of the surfaces a mirror shows brighter from one side than from another.
    """

    name: str
    faces: tuple[Part, ...]
    beams: tuple[Beam, ...] = field(default=())
    uneven: tuple[UnevenFace, ...] = field(default=())

    def dark(self) -> "Source":
        """Return the same thing switched off: its surfaces alone."""
        return replace(
            self,
            faces=tuple(one.dark() for one in self.faces),
            beams=(),
            uneven=(),
        )

    @property
    def shines(self) -> bool:
        """Whether it sends anything."""
        return bool(self.beams) or any(one.shines for one in self.faces)


def sources_of(scene: Scene, *, colors: dict[str, Rgb]) -> tuple[Source, ...]:
    """Return lights, windows and screens of a scene, in its order.

    Parameters
    ----------
    scene : Scene
        With its emitters.
    colors : dict of str to three floats
        Of their light, by name, of luminance 1.
    """
    sending = [one for one in scene.emitters if one.kind in SENDING_KINDS]
    found = [_source(one, colors.get(one.name, (1.0, 1.0, 1.0))) for one in sending]
    light = np.array([_light_at(one, scene.pose.origin) for one in sending])
    mean = float(light.mean()) if len(light) else 0.0
    shares = light / mean if mean > 0.0 else np.ones(len(light))
    return tuple(
        _looked_for(one, LEAST_LOOKED_FOR + (1.0 - LEAST_LOOKED_FOR) * float(share))
        for one, share in zip(found, shares, strict=True)
    )


def _light_at(emitter: Emitter, place: FloatArray) -> float:
    """Return about how much light of an emitter arrives at a place. [lx·s]"""
    face = emitter.face
    away = place - face.center
    distance = float(np.linalg.norm(away))
    along = away / distance
    cosine = max(float(along @ face.axes[:, 1]), 0.0)
    share = float(np.mean(emitter.relative_brightness(along)))
    return emitter.brightness * share * face.sending_area_m2 * cosine / distance**2


def _looked_for(source: Source, weight: float) -> Source:
    """Return a source that paths look for so often, against the others."""
    return replace(
        source,
        faces=tuple(replace(one, weight=weight) for one in source.faces),
        beams=tuple(replace(one, weight=one.weight * weight) for one in source.beams),
    )


def room_lamps(ceiling: Part, *, brightness: float, color: Rgb) -> Source:
    """Return the room's own lamps: a ceiling that shines evenly. [cd·s/m²]"""
    lit = replace(ceiling, sends=_times(color, brightness))
    return Source(name=ROOM_LAMPS, faces=(lit,))


def _source(emitter: Emitter, color: Rgb) -> Source:
    housing = Material(color=(0.02, 0.02, 0.02))
    if emitter.brightness <= 0.0 or emitter.even:
        faces = [
            Part(
                name=emitter.name,
                kind="lamp",
                mesh=_face_mesh(emitter),
                material=housing,
                sends=_times(color, emitter.brightness),
            )
        ]
        if emitter.back_brightness > 0.0:
            faces.append(_back(emitter, color))
        return Source(name=emitter.name, faces=tuple(faces))
    body = Part(name=emitter.name, kind="lamp", mesh=_face_mesh(emitter), material=housing)
    uneven = UnevenFace(emitter=emitter, color=color, body=body)
    beams = _beams(emitter, color)
    return Source(name=emitter.name, faces=(body,), beams=beams, uneven=(uneven,))


def _face_mesh(emitter: Emitter) -> Mesh:
    face = emitter.face
    if isinstance(face, FlatFace):
        before = BEFORE_WALL_M if emitter.kind == "window" else 0.0
        corners = face.sending_outline() + before * face.axes[:, 1]
        return polygon_mesh(corners, facing=face.axes[:, 1])
    return _bowl_mesh(face)


def _bowl_mesh(face: BowlFace) -> Mesh:
    return cap_mesh(
        face.center,
        axes=face.axes,
        radius_m=face.diameter_m / 2.0,
        depth_m=face.depth_m,
        forwards=not face.hollow_front,
    )


def _back(emitter: Emitter, color: Rgb) -> Part:
    """Return the other side of something that lets light through backwards."""
    face = emitter.face
    behind = _face_mesh(emitter)
    moved = replace(behind, points=behind.points - BEHIND_M * face.axes[:, 1])
    return Part(
        name=f"{emitter.name}, behind",
        kind="lamp",
        mesh=moved.flipped(),
        material=Material(color=BLACK),
        sends=_times(color, emitter.back_brightness),
    )


def _beams(emitter: Emitter, color: Rgb) -> tuple[Beam, ...]:
    face, gridded = emitter.face, emitter.grid_rad is not None
    each_way = GRID_POINTS_EACH_WAY if gridded else POINTS_EACH_WAY
    field_deg = BEAM_FIELD_DEG
    if emitter.grid_rad is not None:
        field_deg = min(field_deg, float(np.rad2deg(emitter.grid_rad)))
    places = face.samples(each_way)
    area = face.sending_area_m2 / len(places)
    pixels = GRID_SLIDE_PIXELS if gridded else SLIDE_PIXELS
    half = np.tan(np.deg2rad(field_deg / 2.0))
    steps = ((np.arange(pixels) + 0.5) / pixels * 2.0 - 1.0) * half
    local = np.stack(np.broadcast_arrays(steps[None, :], np.ones((1, 1)), -steps[:, None]), axis=-1)
    local = normalize(local)
    cosine = local[..., 1]
    share = emitter.relative_brightness(local @ face.axes.T)
    slide = emitter.brightness * area * cosine * share
    return tuple(
        Beam(
            name=f"{emitter.name} {number}",
            position=place + BEHIND_M * face.axes[:, 1],
            axes=face.axes,
            slide=slide,
            field_deg=field_deg,
            color=color,
            weight=1.0 / len(places),
        )
        for number, place in enumerate(places)
    )


def _times(color: Rgb, amount: float) -> Rgb:
    red, green, blue = color
    return red * amount, green * amount, blue * amount
