"""What the labels of the floor plan say."""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis import Rig
from tapemark.drawing.labels import Label
from tapemark.drawing.projection import ParallelView
from tapemark.drawing.style import SOFT_INK
from tapemark.studio import Light, Setup, Sitter
from tapemark.units import UnitSystem, format_length, format_side


@dataclass(frozen=True, kw_only=True, slots=True)
class ReferencePoint:
    """A point on the floor from which distances are taped as well.

    Attributes
    ----------
    name : str
        As marked on the plan, such as ``A``.
    x_m, y_m : float
        Place on the floor, world frame. [m]
    """

    name: str
    x_m: float
    y_m: float


def corner_references(setup: Setup) -> tuple[ReferencePoint, ReferencePoint]:
    """Return the two corners of the room behind the sitter, camera-left first."""
    room = setup.room
    return (
        ReferencePoint(name="A", x_m=room.x_max_m, y_m=room.y_min_m),
        ReferencePoint(name="B", x_m=room.x_min_m, y_m=room.y_min_m),
    )


def with_references(
    label: Label, references: tuple[ReferencePoint, ...], view: ParallelView, setup: Setup
) -> Label:
    """Return the label of a light or the camera with its distances from the references."""
    stands = {light.name: light.place for light in setup.lights} | {"camera": setup.camera.place}
    place = stands.get(label.lines[0][0])
    if not references or place is None:
        return label
    x, y, _ = place.position_m
    lines = (*label.lines, _from_references(x, y, references, setup))
    return Label(lines=lines, target=label.target, color=label.color)


def _from_references(
    x: float, y: float, references: tuple[ReferencePoint, ...], setup: Setup
) -> tuple[str, int]:
    """Return the line of a label with distances from the references."""
    parts = [
        f"{one.name} {format_length(float(np.hypot(x - one.x_m, y - one.y_m)), system=setup.units)}"
        for one in references
    ]
    return "from " + ", ".join(parts), 400


def light_label(light: Light, setup: Setup, view: ParallelView, *, reading: str = "") -> Label:
    """Return the label of a light: name, tape distance and side, height, reading and power."""
    at = view(np.array(light.place.position_m))
    height = format_length(light.place.height_m, system=setup.units)
    name = light.name if light.on else f"{light.name} (off)"
    lines = [(name, 600), (place_words(light, setup), 400), (f"{height} high", 400)]
    if reading:
        lines.append((reading, 400))
    return Label(lines=tuple(lines), target=(float(at[0]), float(at[1])))


def column_label(
    rig: Rig, setup: Setup, view: ParallelView, *, references: tuple[ReferencePoint, ...] = ()
) -> Label:
    """Return the label at the foot of a column that does not stand under its head."""
    x, y = rig.base_m
    distance = format_length(float(np.hypot(x, y)), system=setup.units)
    side = format_side(float(np.degrees(np.arctan2(x, y))))
    lines = [(f"column {distance}, {side}", 400), (f"carries {rig.name}", 400)]
    if references:
        lines.append(_from_references(x, y, references, setup))
    at = view(np.array([x, y, 0.0]))
    return Label(lines=tuple(lines), target=(float(at[0]), float(at[1])), color=SOFT_INK)


def place_words(light: Light, setup: Setup) -> str:
    """Return how a light is taped: distance along the floor and side."""
    distance = format_length(light.place.distance_m, system=setup.units)
    return f"{distance}, {format_side(light.place.side_deg)}"


def camera_label(setup: Setup, view: ParallelView) -> Label:
    """Return the label of the camera: tape distance, side and height."""
    camera = setup.camera
    at = view(np.array(camera.place.position_m))
    distance = format_length(camera.place.distance_m, system=setup.units)
    height = format_length(camera.place.height_m, system=setup.units)
    side = "" if camera.place.side_deg == 0 else f", {format_side(camera.place.side_deg)}"
    lines = (("camera", 600), (f"{distance}{side}", 400), (f"{height} high", 400))
    return Label(lines=lines, target=(float(at[0]), float(at[1])))


def sitter_label(sitter: Sitter, view: ParallelView, *, system: UnitSystem) -> Label:
    """Return the label of a person: name, eye height and the way the face is turned."""
    x, y = sitter.mark_m
    at = view(np.array([x, y - 0.14, 0.0]))
    eyes = f"eyes {format_length(sitter.eye_height_m, system=system)} high"
    lines = [(sitter.name, 600), (eyes, 400)]
    if sitter.turn_deg:
        lines.append((f"face {format_side(sitter.turn_deg)}", 400))
    return Label(lines=tuple(lines), target=(float(at[0]), float(at[1])))
