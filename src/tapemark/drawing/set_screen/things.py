"""What plan and elevation of the screen share: how things look, what is said about them.

Both drawings are made of the same groups, in millimetres of the room; see `set_style` for the
classes.
"""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np

from tapemark.analysis import Emitter, LensGlare, Scene, Verdict, frame_view, rigs
from tapemark.analysis.camera_frame import HEAD_MARKS, head_marks
from tapemark.anatomy import Body, LensStack, edge_outline
from tapemark.drawing.gear import Gear, camera_gear, light_gear
from tapemark.drawing.projection import ParallelView
from tapemark.drawing.set_screen.svg import SetSheet, convex, fewer, offset
from tapemark.drawing.stands import StandShape, stand_shape
from tapemark.geometry import FloatArray
from tapemark.studio import Camera, Light, Panel, Place, Screen, Setup, Sitter, aim_point_m
from tapemark.units import format_length, format_side

_ANGLE = np.linspace(np.pi / 2, 3 * np.pi / 2, 7)
_HALF_RING = np.stack([np.cos(_ANGLE), np.sin(_ANGLE)], axis=-1)
HIT_MM = 180.0  # half a target: 22 px where a pixel is 8 mm of the room
MARK_MM = 46.0  # radius of a verdict's mark
_EDGE_ON = 0.06  # breadth over length of what is seen edge on
_MOST_STEPS = 6
_LETTER_MM, _LINE_MM = 62.0, 138.0  # room that type takes where a pixel is 8 mm
_ROUND = 10  # corners of what is rounded off
_THICK_M = 0.03  # of panels, screens and the backdrop as drawn
_FLATS = ("panel", "screen", "window", "backdrop")
#: Rows of a body's parts, as `tapemark.anatomy.body` orders them.
HEAD, NECK, TRUNK = (0, 1), (2,), (3, 4)
ARMS, LEGS = ((5, 7), (6, 8)), ((9, 13), (10, 14))  # legs from above: thigh and foot
THIGHS = ((9,), (10,))
SHINS = ((11, 13), (12, 14))
NEAR_LIMBS = ((9,), (11,), (13,), (5,), (7,))  # those on camera-left, from behind to in front
_CORNERS, _COARSE_MM = 20, 8.0  # of outlines: how many at most, and how far they may be off


@dataclass(frozen=True, kw_only=True, eq=False)
class SetPerson:
    """A person on the set.

    Attributes
    ----------
    scene : Scene
        About them.
    lenses : tuple of LensGlare
        What their lenses show, right first; empty without glasses.
    """

    scene: Scene
    lenses: tuple[LensGlare, ...]

    @property
    def verdicts(self) -> tuple[Verdict, ...]:
        """Of right and left lens; empty without glasses."""
        return tuple(one.verdict for one in self.lenses)


@dataclass(frozen=True, kw_only=True, eq=False)
class SetShown:
    """Everything that plan and elevation of the screen show.

    Attributes
    ----------
    people : tuple of SetPerson
        The sitter, then everybody else.
    readings : mapping of str to str
        What each light meters and its power, in words, by its name.
    reach_m : mapping of str to (float, float)
        Lowest and highest that the middle of each light may hang. [m]
    """

    people: tuple[SetPerson, ...]
    readings: Mapping[str, str] = field(default_factory=dict)
    reach_m: Mapping[str, tuple[float, float]] = field(default_factory=dict)

    @property
    def scene(self) -> Scene:
        """About the sitter."""
        return self.people[0].scene

    @property
    def setup(self) -> Setup:
        """The setup."""
        return self.scene.setup

    def reading(self, light: Light) -> str:
        """Return what is said under a light's name."""
        return self.readings.get(light.name, "") if light.on else "off"

    def said(self, light: Light) -> Hashable:
        """Return what decides, besides a light itself, what is said of it."""
        return self.state(light), self.reading(light), self.reach_m.get(light.name)

    def state(self, light: Light) -> str:
        """Return the classes of a light: whether it is lit, and what lenses show of it."""
        if not light.on:
            return "off"
        found = [
            (lens.verdict, part.veil)
            for one in self.people
            for lens in one.lenses
            for part in lens.reflections
            if part.source == light.name and lens.verdict != "clear"
        ]
        if any(verdict == "veiled" and veil > 0.0 for verdict, veil in found):
            return "lit veils"
        return "lit shows" if found else "lit"


def standing_places(setup: Setup) -> list[Place]:
    """Return where lights, panels, screens and the camera are."""
    things: tuple[Light | Panel | Screen | Camera, ...] = (
        *setup.lights,
        *setup.panels,
        *setup.screens,
        setup.camera,
    )
    return [one.place for one in things]


def aim_key(setup: Setup) -> Hashable:
    """Return what decides, besides a thing itself, where it points."""
    return setup.room, setup.backdrop, setup.sitter.eye_height_m


def camera_key(setup: Setup) -> tuple[Hashable, ...]:
    """Return what decides how the camera looks."""
    camera = setup.camera
    return camera.place, camera.aim, camera.orientation, aim_key(setup), setup.units


def frame_key(scene: Scene) -> tuple[Hashable, ...]:
    """Return what decides where things lie in the camera's picture."""
    setup = scene.setup
    lens = (setup.camera.focal_length_mm, setup.camera.sensor)
    return (*camera_key(setup), *lens, setup.sitter)


def frame_edges(shown: SetShown, *, across: bool) -> FloatArray:
    """Return two edges of the camera's frame, meeting in its lens, (3, 3) [m].

    Parameters
    ----------
    shown : SetShown
        For camera, room and backdrop: edges run as far as the wall or backdrop behind the sitter.
    across : bool
        The edges to the sides; else those above and below.
    """
    scene, room, backdrop = shown.scene, shown.setup.room, shown.setup.backdrop
    frame = frame_view(scene)
    behind = room.y_min_m if backdrop is None else -backdrop.distance_m
    half = (frame.half_width, 0.0) if across else (0.0, frame.half_height)
    ends = []
    for sign in (-1.0, 1.0):
        along = frame.axes @ np.array([sign * half[0], 1.0, sign * half[1]])
        reach = (behind - scene.camera[1]) / along[1] if along[1] < -1e-6 else 1.0
        ends.append(scene.camera + reach * along)
    return np.stack([ends[0], scene.camera, ends[1]])


@lru_cache(maxsize=16)
def rims(lenses: LensStack) -> tuple[FloatArray, FloatArray]:
    """Return the edges of right and left lens, world, with few points. [m]"""
    right, left = (edge_outline(lenses, index=index, count=20) for index in (0, 1))
    return right, left


def light_label(light: Light, shown: SetShown) -> str:
    """Return what a screen reader says of a light."""
    system, place = shown.setup.units, light.place
    parts = [
        light.name,
        f"{format_length(place.distance_m, system=system)} out",
        format_side(place.side_deg),
        f"{format_length(place.height_m, system=system)} high",
        shown.readings.get(light.name, "") if light.on else "off",
        {"lit veils": "over an eye", "lit shows": "on a lens"}.get(shown.state(light), ""),
    ]
    return ", ".join(one for one in parts if one)


def camera_label(setup: Setup) -> str:
    """Return what a screen reader says of the camera."""
    camera, system = setup.camera, setup.units
    out, up = (
        format_length(one, system=system)
        for one in (camera.place.distance_m, camera.place.height_m)
    )
    return f"camera, {out} out, {format_side(camera.place.side_deg)}, lens {up} high"


def sitter_label(sitter: Sitter, setup: Setup) -> str:
    """Return what a screen reader says of a person."""
    up = format_length(sitter.eye_height_m, system=setup.units)
    turn = "straight ahead" if abs(sitter.turn_deg) < 0.25 else format_side(sitter.turn_deg)
    return f"{sitter.name}, eyes {up} high, face {turn}"


def sitter_thing(sitter: Sitter, setup: Setup) -> str:
    """Return how edits call a person."""
    return "sitter" if sitter is setup.sitter else f"companion.{sitter.name}"


def draw_stand(sheet: SetSheet, light: Light, *, setup: Setup, view: ParallelView) -> None:
    """Draw what carries a light."""
    shape = _stand(light, setup)
    runs = [view(leg) for leg in shape.legs]
    runs += [view(one) for one in (shape.column, shape.arm) if one is not None]
    if runs:
        sheet.lines(runs, "stand")
    if shape.counterweight is not None:
        sheet.area([convex(view(shape.counterweight))], "weight")


def _stand(light: Light, setup: Setup) -> StandShape:
    return stand_shape(next(one for one in rigs(setup) if one.name == light.name))


def draw_gear(sheet: SetSheet, gear: Gear, *, view: ParallelView) -> list[FloatArray]:
    """Draw the parts of a thing as they come, back to front; return their outlines."""
    outlines = []
    for part in gear.parts:
        page = view(part.points)
        if part.role != "rod":
            page = fewer(convex(page, directions=_CORNERS), tolerance=_COARSE_MM)
        outlines.append(page)
        if part.role == "rod":
            sheet.line(page, "rod")
        else:
            sheet.area([page], part.role)
    return outlines


def gear_of(light: Light, *, setup: Setup) -> Gear:
    """Return the shape of a light (kept for reuse)."""
    return _gear(_Aimed(light=light, key=aim_key(setup), setup=setup))


@dataclass(frozen=True, kw_only=True)
class _Aimed:
    """A light with what decides where it points."""

    light: Light
    key: Hashable
    setup: Setup = field(compare=False)


@lru_cache(maxsize=256)
def _gear(one: _Aimed) -> Gear:
    return light_gear(one.light, setup=one.setup)


def camera_of(scene: Scene) -> Gear:
    """Return the shape of the camera."""
    return camera_gear(scene.setup, axes=frame_view(scene).axes)


def flats(shown: SetShown) -> tuple[Emitter, ...]:
    """Return panels, screens, windows and the backdrop."""
    return tuple(one for one in shown.scene.emitters if one.kind in _FLATS)


def flat_thing(emitter: Emitter) -> str:
    """Return how edits call a panel, a screen, a window or the backdrop."""
    return emitter.kind if emitter.kind == "backdrop" else f"{emitter.kind}.{emitter.name}"


def draw_flats(sheet: SetSheet, shown: SetShown, *, view: ParallelView) -> None:
    """Draw panels, screens, windows and the backdrop, each to be taken hold of."""
    for emitter in flats(shown):
        face = emitter.face
        rim = face.outline()
        outline = convex(view(np.concatenate([rim, rim - _THICK_M * face.axes[:, 1]])))
        at = view(face.center)
        thing, name = flat_thing(emitter), emitter.name
        with sheet.thing(emitter.kind, thing=thing, at_m=_at_m(emitter), label=name):
            sheet.hit(at, HIT_MM)
            sheet.area([outline], "body")
            _draw_face(sheet, view(rim))


def draw_aim(sheet: SetSheet, light: Light, *, setup: Setup, view: ParallelView) -> None:
    """Draw the way a light points, and where it is aimed if not at the face."""
    start = np.array(light.place.position_m)
    end = np.array(aim_point_m(light, setup=setup))
    page = view(np.stack([start, end]))
    sheet.line(page, "beam")
    if light.aim == "face":
        return
    label = f"aim of {light.name}"
    with sheet.thing("aim", thing=f"light.{light.name}.aim", at_m=end.tolist(), label=label):
        sheet.hit(page[1], HIT_MM * 0.75)
        sheet.circle(page[1], MARK_MM * 0.7, "dot")


def draw_ray(sheet: SetSheet, light: Light, *, shown: SetShown, view: ParallelView) -> None:
    """Draw the way of a light over an eye or a lens into the camera."""
    state = shown.state(light)
    if state not in ("lit veils", "lit shows"):
        return
    for one in shown.people:
        sources = {p.source for lens in one.lenses for p in lens.reflections}
        if light.name in sources and any(v != "clear" for v in one.verdicts):
            scene = one.scene
            ends = np.stack([np.array(light.place.position_m), scene.pose.origin, scene.camera])
            sheet.line(view(ends), "ray over" if state == "lit veils" else "ray beside")


def draw_words(sheet: SetSheet, words: "Words") -> None:
    """Set the name of a thing and what is said of it; drawn last, so that nothing hides it."""
    with sheet.group(f"label {words.name}".strip(), **{"data-of": words.thing}):
        for number, (text, kind) in enumerate(words.lines):
            if text:
                down = words.down + 1.2 * number
                sheet.text(words.at, text, kind, anchor=words.anchor, down=down)


def apart(found: Iterable["Words"]) -> list["Words"]:
    """Return labels moved down as far as they would lie on each other."""
    kept: list[Words] = []
    for words in found:
        for _ in range(_MOST_STEPS):
            met = [one for one in kept if _overlap(one.box, words.box)]
            if not met:
                break
            lower = max(one.box[3] for one in met) - words.box[1] + 6.0
            words = replace(words, at=offset(words.at, 0.0, lower))
        kept.append(words)
    return kept


def _overlap(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


@dataclass(frozen=True, kw_only=True, eq=False)
class Words:
    """A label on the set.

    Attributes
    ----------
    thing, name : str
        What it belongs to, and further classes.
    at : (2,) array
        Where.
    lines : tuple of (str, str)
        Text and class of each line.
    anchor : str
        ``start``, ``middle`` or ``end``.
    down : float
        Of the first line's foot. [lines]
    """

    thing: str
    name: str
    at: FloatArray
    lines: tuple[tuple[str, str], ...]
    anchor: str = "middle"
    down: float = 0.3

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of the room that it takes, about."""
        x, y = (float(one) for one in self.at)
        wide = _LETTER_MM * max(len(text) for text, _ in self.lines)
        start = x - wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor]
        count = sum(bool(text) for text, _ in self.lines)
        top = y + (self.down - 0.8) * _LINE_MM / 1.2
        return start, top, start + wide, top + count * _LINE_MM


def draw_verdict(sheet: SetSheet, at: FloatArray, verdict: Verdict, side: str) -> None:
    """Draw the mark of one eye: a ring with a dot, one half filled, or one filled and barred."""
    with sheet.group(f"verdict {verdict} {side}"):
        sheet.circle(at, MARK_MM, "ring")
        if verdict == "clear":
            sheet.circle(at, MARK_MM * 0.28, "dot")
        elif verdict == "edge":
            sheet.area([at + MARK_MM * _HALF_RING], "half")
        else:
            sheet.line(at + MARK_MM * np.array([(-0.6, 0.0), (0.6, 0.0)]), "bar")


def nose_tip(scene: Scene) -> FloatArray:
    """Return the tip of the nose, head frame. [m]"""
    return np.asarray(head_marks(scene.head)[HEAD_MARKS.index("nose tip")])


def body_outline(body: Body, rows: Sequence[int], *, view: ParallelView) -> FloatArray:
    """Return the outline around some parts of a body, to be rounded off."""
    page = np.concatenate([view(ellipsoid(body, row)) for row in rows])
    return convex(page, directions=_ROUND)


def ellipsoid(body: Body, index: int) -> FloatArray:
    """Return points on a part of a body, world, (n, 3). [m]"""
    return np.asarray(body.centers[index] + (_ball() * body.radii[index]) @ body.axes[index].T)


@lru_cache(maxsize=1)
def _ball() -> FloatArray:
    """Return points spread over a unit ball, (n, 3)."""
    count = 180
    up = 1.0 - 2.0 * (np.arange(count) + 0.5) / count
    around = np.pi * (1.0 + 5.0**0.5) * np.arange(count)
    level = np.sqrt(1.0 - up * up)
    return np.stack([level * np.cos(around), level * np.sin(around), up], axis=-1)


def _at_m(emitter: Emitter) -> list[float]:
    place: list[float] = emitter.face.center.tolist()
    return place


def _draw_face(sheet: SetSheet, ring: FloatArray) -> None:
    """Draw the working side of something flat: a line where it is seen edge on."""
    first = ring[np.argmax(((ring - ring.mean(axis=0)) ** 2).sum(axis=1))]
    last = ring[np.argmax(((ring - first) ** 2).sum(axis=1))]
    along = last - first
    size = max(float(np.hypot(*along)), 1e-6)
    away = np.abs((ring - first) @ np.array([-along[1], along[0]])) / size
    if float(away.max()) < _EDGE_ON * size:
        sheet.line(np.stack([first, last]), "face")
    else:
        sheet.area([convex(ring)], "face")
