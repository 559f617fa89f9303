"""The face in its light: zones in stops, shadows, readings and shine, as the camera sees them."""

import numpy as np

from tapemark.analysis import Exposure, FaceZones, Modelling, Scene
from tapemark.drawing.face_light.face_light_notes import draw_notes
from tapemark.drawing.face_light.face_marks import (
    draw_nose_shadow,
    draw_readings,
    draw_shining,
    nose_way,
    taken_places,
)
from tapemark.drawing.face_light.zone_bands import (
    define_shadows,
    draw_zone_numbers,
    zone_numbers,
    zones_met,
)
from tapemark.drawing.face_light.zoned_head import ZonedHead, can_be_seen
from tapemark.drawing.labels import LabelSpace
from tapemark.drawing.page import (
    A4_LONG_PT,
    A4_SHORT_PT,
    HEADER_PT,
    MARGIN_PT,
    draw_labels,
    heading,
    left_out_note,
)
from tapemark.drawing.style import BODY_PT
from tapemark.drawing.svg import Sheet

#: Left, top, right and bottom of the room for the face with its labels, and for the notes. [pt]
_PANEL = (MARGIN_PT, MARGIN_PT + HEADER_PT - 18.0, 562.0, A4_SHORT_PT - MARGIN_PT)
_NOTES = (584.0, _PANEL[1], A4_LONG_PT - MARGIN_PT, _PANEL[3])
_LABEL_LANE_PT = 30.0  # over the head


def face_light_drawing(
    scene: Scene, *, zones: FaceZones | None, modelling: Modelling, exposure: Exposure
) -> str:
    """Return a drawing of the light over a face, as SVG text.

    Parameters
    ----------
    scene : Scene
        The setup as surfaces, about the person drawn.
    zones : FaceZones or None
        Light over their face; None in the dark.
    modelling : Modelling
        How it is modelled.
    exposure : Exposure
        Readings at the face.
    """
    sheet = _sheet(scene, modelling)
    define_shadows(sheet)
    detail = "no light on the face" if zones is None else f"zones in stops against {zones.key}"
    heading(sheet, title=_title(scene), kind="The face in its light", detail=detail)
    met: list[int] = []
    if can_be_seen(scene):
        box = (_PANEL[0], _PANEL[1] + _LABEL_LANE_PT, _PANEL[2], _PANEL[3])
        head = ZonedHead(scene, zones, box=box)
        head.draw(sheet)
        if zones is not None:
            met = _draw_findings(sheet, head, zones=zones, modelling=modelling)
    else:
        words = "The camera looks away from this face."
        sheet.text(_PANEL[0], _PANEL[1] + 24.0, words, size_pt=BODY_PT)
    draw_notes(
        sheet, scene, modelling=modelling, exposure=exposure, zones=zones, met=met, box=_NOTES
    )
    return sheet.to_text()


def _title(scene: Scene) -> str:
    title, name = scene.setup.title, scene.sitter.name
    if not title:
        return name
    return f"{title}  ·  {name}" if len(scene.setup.people) > 1 else title


def _sheet(scene: Scene, modelling: Modelling) -> Sheet:
    name = scene.sitter.name
    return Sheet(
        width_pt=A4_LONG_PT,
        height_pt=A4_SHORT_PT,
        title=f"The face in its light: {scene.setup.title or name}",
        description=(
            f"{name}'s face as the camera sees it, with zones of light in stops against the key, "
            f"shadows the key does not reach, and readings. Pattern {modelling.pattern}: "
            f"{modelling.because}."
        ),
    )


def _draw_findings(
    sheet: Sheet, head: ZonedHead, *, zones: FaceZones, modelling: Modelling
) -> list[int]:
    """Draw what is read off the face, with labels beside it; return the zones it shows."""
    assert head.stops is not None
    assert head.key_seen is not None
    picture = head.picture
    space = LabelSpace(left=_PANEL[0], top=_PANEL[1], right=_PANEL[2], bottom=_PANEL[3])
    for ring in head.outlines():
        space.take_area(ring, width_pt=6.0)
    shining = draw_shining(sheet, picture, zones=zones, modelling=modelling)
    labels = []
    if modelling.nose is not None:
        labels = draw_nose_shadow(sheet, picture, head.key_seen, nose=modelling.nose)
    readings = draw_readings(sheet, picture, zones=zones, modelling=modelling)
    placed, left_out = space.place([*readings, *labels, *shining])
    leaders = [np.array(way) for one in placed for way in one.leaders]
    taken = taken_places(picture, leaders=leaders + nose_way(picture, modelling.nose))
    draw_zone_numbers(sheet, zone_numbers(picture, head.stops, kept_off=taken))
    draw_labels(sheet, placed)
    names = [label.lines[0][0] for label in left_out]
    left_out_note(sheet, names, x=MARGIN_PT, y=sheet.height_pt - MARGIN_PT + 12.0, room_pt=480.0)
    return zones_met(head.stops)
