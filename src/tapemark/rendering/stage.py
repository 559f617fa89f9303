"""Everything that a picture of a setup needs, built once."""

from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from tapemark.analysis import Scene
from tapemark.anatomy import bare_edge
from tapemark.geometry import FloatArray
from tapemark.rendering.corneas import cornea_mesh
from tapemark.rendering.kept_people import kept_person
from tapemark.rendering.lens_solids import LensSolid, lens_solid
from tapemark.rendering.meshes import Mesh
from tapemark.rendering.parts import LUMINANCE, Beam, Material, Part, Rgb
from tapemark.rendering.sitter_parts import Person
from tapemark.rendering.source_colors import ROOM_LAMPS, neutral
from tapemark.rendering.sources import Source, room_lamps, sources_of
from tapemark.rendering.surroundings import room_parts, standing_parts
from tapemark.rendering.tracer import Tracer
from tapemark.rendering.uneven_faces import UnevenFace
from tapemark.rendering.view import View, Window

CLAY = Material(color=(0.41, 0.41, 0.41))
ROOM_DEPTH, ROOM_SAMPLES, ROOM_PIXELS = 8, 32, 12


@dataclass(frozen=True, kw_only=True, eq=False)
class Stage:
    """A setup as things for the path tracer.

    Attributes
    ----------
    tracer : Tracer
        The path tracer.
    people : tuple of Person
        The sitter first.
    room : tuple of Part
        Room, backdrop and panels.
    sources : tuple of Source
        Everything that sends light of its own.
    lenses : tuple of tuples of LensSolid
        Of each person; empty without glasses.
    corneas : tuple of tuples of Mesh
        Of each person, right and left eye.
    clay : bool
        Whether everything is of the same matt grey.
    cache : Path or None
        Folder in which mannequins are kept.
    """

    tracer: Tracer
    people: tuple[Person, ...]
    room: tuple[Part, ...]
    sources: tuple[Source, ...]
    lenses: tuple[tuple[LensSolid, ...], ...]
    corneas: tuple[tuple[Mesh, ...], ...]
    clay: bool = False
    cache: Path | None = None

    @property
    def scene(self) -> Scene:
        """The setup about its sitter."""
        return self.people[0].scene

    @property
    def bodies(self) -> tuple[Part, ...]:
        """All people without their frames."""
        return tuple(part for person in self.people for part in person.body)

    @property
    def frames(self) -> tuple[Part, ...]:
        """Rims and arms of everybody's glasses."""
        return tuple(part for person in self.people for part in person.frame)

    def people_of(self, fineness: float) -> tuple[Person, ...]:
        """Return the same people as mannequins of another fineness."""
        scenes = tuple(one.scene for one in self.people)
        return _people(scenes, fineness=fineness, clay=self.clay, cache=self.cache)

    def lit_by(self, names: "tuple[str, ...] | None" = None) -> "Lighting":
        """Return the light of some sources, or of all; the others stand there switched off."""
        own = [one if names is None or one.name in names else one.dark() for one in self.sources]
        kept = [one for one in own if one.name != ROOM_LAMPS or one.shines]
        room = self.room
        if any(one.name == ROOM_LAMPS for one in kept):
            room = tuple(one for one in room if one.name != "ceiling")
        return Lighting(
            room=room,
            faces=tuple(part for one in kept for part in one.faces),
            beams=tuple(beam for one in kept for beam in one.beams),
            uneven=tuple(face for one in kept for face in one.uneven),
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Lighting:
    """The room under the light of some sources.

    Attributes
    ----------
    room, faces : tuples of Part
        Room, and the surfaces of the sources as they stand.
    beams : tuple of Beam
        Uneven light.
    uneven : tuple of UnevenFace
        Which of the surfaces send it: for mirrors.
    """

    room: tuple[Part, ...]
    faces: tuple[Part, ...]
    beams: tuple[Beam, ...] = field(default=())
    uneven: tuple[UnevenFace, ...] = field(default=())

    @property
    def dark(self) -> bool:
        """Whether nothing shines at all."""
        return not self.beams and not any(one.shines for one in (*self.room, *self.faces))


def build_stage(
    scenes: tuple[Scene, ...],
    *,
    tracer: Tracer,
    colors: dict[str, Rgb],
    clay: bool = False,
    fineness: float = 1.0,
    cache: Path | None = None,
) -> Stage:
    """Return the stage of a setup.

    Parameters
    ----------
    scenes : tuple of Scene
        About every person in it, the sitter first.
    tracer : Tracer
        The path tracer.
    colors : dict of str to three floats
        Of the light of every source, by name.
    clay : bool
        Whether everything is of the same matt grey and glasses have no lenses.
    fineness : float
        Of the mannequins. [-]
    cache : Path, optional
        Folder in which mannequins are kept.
    """
    scene = scenes[0]
    room = room_parts(scene) + standing_parts(scene)
    people = _people(scenes, fineness=fineness, clay=clay, cache=cache)
    if clay:
        colors = neutral(colors)
        room = tuple(replace(one, material=CLAY) for one in room)
    sources = sources_of(scene, colors=colors)
    if scene.setup.room.ambient_lx > 0.0:
        lamps = _metered_lamps(
            tracer, room, scene=scene, color=colors.get(ROOM_LAMPS, (1.0, 1.0, 1.0))
        )
        sources = (*sources, lamps)
    glasses = [() if clay or one.lenses is None else _solids(one) for one in scenes]
    corneas = [
        () if clay else tuple(cornea_mesh(one.eyes, index=i) for i in (0, 1)) for one in scenes
    ]
    return Stage(
        tracer=tracer,
        people=people,
        room=room,
        sources=sources,
        lenses=tuple(glasses),
        corneas=tuple(corneas),
        clay=clay,
        cache=cache,
    )


def _people(
    scenes: tuple[Scene, ...], *, fineness: float, clay: bool, cache: Path | None
) -> tuple[Person, ...]:
    people = tuple(kept_person(one, fineness=fineness, folder=cache) for one in scenes)
    return tuple(_of_clay(one) for one in people) if clay else people


def _solids(scene: Scene) -> tuple[LensSolid, ...]:
    glasses = scene.sitter.glasses
    assert scene.lenses is not None
    assert glasses is not None
    edge = bare_edge(glasses)
    return tuple(lens_solid(scene.lenses, index=one, bare_edge_m=edge) for one in (0, 1))


def _of_clay(person: Person) -> Person:
    return replace(
        person,
        body=tuple(replace(one, material=CLAY) for one in person.body),
        frame=tuple(replace(one, material=CLAY) for one in person.frame),
    )


def _metered_lamps(tracer: Tracer, room: tuple[Part, ...], *, scene: Scene, color: Rgb) -> Source:
    """Return the room's lamps, as bright as a dome at the sitter was said to read.

    The ceiling shines, the room throws its light about, and a dome in front of the empty mark,
    turned to the camera, weighs what comes from each direction with (1 + cos)/2.
    """
    setup = scene.setup
    ceiling, *others = room
    lamps = room_lamps(ceiling, brightness=1.0, color=(1.0, 1.0, 1.0))
    lit = tracer.scene([*lamps.faces, *others])
    reading, place = 0.0, scene.pose.origin + 0.02 * scene.pose.axes[:, 1]
    towards = (scene.camera - place) / np.linalg.norm(scene.camera - place)
    for axes in _six_ways():
        window = _cube_side(place, axes)
        image = tracer.picture(
            lit, window, samples=ROOM_SAMPLES, depth=ROOM_DEPTH, seed=1, pinhole=True
        )
        directions = window.directions()
        cosine = directions @ axes[:, 1]
        pixel = (2.0 / ROOM_PIXELS) ** 2 * cosine**3
        weight = pixel * (1.0 + directions @ towards) / 2.0
        reading += float(((image @ LUMINANCE) * weight).sum())
    wanted = setup.room.ambient_lx * setup.camera.shutter_s
    return room_lamps(ceiling, brightness=wanted / max(reading, 1e-12), color=color)


def _cube_side(place: FloatArray, axes: FloatArray) -> Window:
    view = View(position=place, axes=axes, half_width=1.0, aperture_m=0.0, focus_m=1.0)
    size = (ROOM_PIXELS, ROOM_PIXELS)
    return Window(view=view, whole_size=size, left=0, top=0, columns=size[0], rows=size[1])


def _six_ways() -> list[FloatArray]:
    """Return the axes of six cameras that together look everywhere."""
    found = []
    for y in np.concatenate([np.eye(3), -np.eye(3)]):
        z = np.eye(3)[2] if abs(y[2]) < 0.5 else np.eye(3)[0]
        found.append(np.stack([np.cross(y, z), y, z], axis=-1))
    return found
