"""What is read off a zoned face: where readings apply, the nose's shadow, what shines."""

import numpy as np

from tapemark.analysis import FaceZones, Modelling, NoseShadow
from tapemark.analysis.face_points import CHEEK, FOREHEAD, mirrored, named_places
from tapemark.analysis.sheen import PLACES, SOME_STOPS
from tapemark.anatomy import SIDES
from tapemark.drawing.face_light.face_light_words import (
    eye_lines,
    nose_lines,
    reading_lines,
    shine_lines,
)
from tapemark.drawing.face_light.zone_bands import (
    ZonePlate,
    draw_shine,
    nose_shadow_outline,
    zone_plate,
)
from tapemark.drawing.labels import Label, LabelSpace
from tapemark.drawing.picture import Picture
from tapemark.drawing.spectacles import rim_outline
from tapemark.drawing.style import FINE, INK, PAPER, THICK, WHITE, Paint, filled, line
from tapemark.drawing.svg import Sheet
from tapemark.geometry import FloatArray, dot, normalize
from tapemark.units import MM

PageAt = tuple[float, float]

_MARK_PT = 3.4
_EDGEWISE = 0.05  # places that face the camera less are not pointed at: cosine [-]
#: Length drawn of a shadow of the nose without an end, and how far its outline is followed.
_OPEN_MM, _AROUND_MM = 34.0, 9.0
_EYE_BOX_PT = (30.0, 13.0)  # half the room that an eye takes
_FEATURES_MM = (((-27.0, -67.0), (27.0, -67.0)), ((-14.0, -44.0), (14.0, -44.0)))  # mouth, nostrils


def draw_readings(
    sheet: Sheet, picture: Picture, *, zones: FaceZones, modelling: Modelling
) -> list[Label]:
    """Mark where readings apply; return their labels and those of the eyes."""
    scene = picture.scene
    labels = []
    for name, places, reading in (
        ("forehead", FOREHEAD, modelling.forehead),
        ("right cheek", CHEEK, modelling.right_cheek),
        ("left cheek", mirrored(CHEEK), modelling.left_cheek),
    ):
        at = _middle(picture, places)
        if at is not None:
            _reading_mark(sheet, at)
            labels.append(Label(lines=reading_lines(name, reading, scene), target=at))
    for index, side in enumerate(SIDES):
        at = _eye(picture, index)
        if at is not None:
            lines = eye_lines(side, modelling.eyes[index], zones, index=index, scene=scene)
            labels.append(Label(lines=lines, target=at))
    return labels


def draw_nose_shadow(
    sheet: Sheet, picture: Picture, key_seen: ZonePlate, *, nose: NoseShadow
) -> list[Label]:
    """Outline the nose's shadow and draw the way it falls; return its label."""
    way = _way(picture, nose)
    if len(way) < 4:
        return []
    with sheet.group("nose shadow"):
        if nose.length_mm is not None:  # one without an end runs into the cheek's
            _nose_outline(sheet, picture, key_seen, nose=nose, around=way[len(way) // 2])
        _arrow(sheet, way, broken=nose.length_mm is None)
    lines = nose_lines(nose, system=picture.scene.setup.units)
    return [Label(lines=lines, target=(float(way[-1, 0]), float(way[-1, 1])))]


def _nose_outline(
    sheet: Sheet, picture: Picture, key_seen: ZonePlate, *, nose: NoseShadow, around: FloatArray
) -> None:
    """Draw around the nose's shadow, half-way between its middle and the full light."""
    assert nose.length_mm is not None
    for run in nose_shadow_outline(
        picture,
        key_seen,
        level=nose.darkest_share + 0.5 * (1.0 - nose.darkest_share),
        around=around,
        reach_pt=(nose.length_mm / 2 + _AROUND_MM) * picture.points_per_mm,
    ):
        sheet.line(run, line(THICK * 1.4), name="outline")


def draw_shining(
    sheet: Sheet, picture: Picture, *, zones: FaceZones, modelling: Modelling
) -> list[Label]:
    """Ring the parts of the face that shine; return their labels."""
    shining = [one for one in modelling.sheen if one.risk != "low"]
    if not shining:
        return []
    shine = zone_plate(picture, zones.points, zones.shine_stops)
    found = []
    for one in shining:
        at = _middle(picture, PLACES[one.region])
        if at is not None:
            spot = draw_shine(sheet, picture, shine, near=at, level_stops=SOME_STOPS)
            found.append(Label(lines=shine_lines(one), target=spot))
    return found


def taken_places(picture: Picture, *, leaders: list[FloatArray]) -> np.ndarray:
    """Return which lattice places eyes, mouth, rims, marks and leaders take."""
    plate, scene = picture.plate, picture.scene
    low, high = picture.place(
        np.array([(plate.left, plate.top), (plate.across[-1], plate.down[-1])])
    )
    space = LabelSpace(left=low[0], top=low[1], right=high[0], bottom=high[1])
    across, down = _EYE_BOX_PT
    for index in (0, 1):
        x, y = picture.on_page(scene.eyes.opening_center[index])
        space.take_box(x - across, y - down, x + across, y + down)
        if scene.lenses is not None:
            rim = picture.on_page(rim_outline(scene, index=index))
            space.take_line(np.concatenate([rim, rim[:1]]), width_pt=8.0)
    for flat in _FEATURES_MM:
        page = picture.on_page(picture.on_skin(np.array(flat)))
        (left, top), (right, bottom) = page.min(axis=0), page.max(axis=0)
        space.take_box(left, top - 9.0, right, bottom + 12.0)
    for places in (FOREHEAD, CHEEK, mirrored(CHEEK)):
        at = _middle(picture, places)
        if at is not None:
            space.take_box(at[0] - 7.0, at[1] - 7.0, at[0] + 7.0, at[1] + 7.0)
    for way in leaders:
        space.take_line(way, width_pt=3.0)
    lattice = np.stack(np.meshgrid(plate.across, plate.down), axis=-1)
    return space.taken_at(picture.place(lattice))


def nose_way(picture: Picture, nose: NoseShadow | None) -> list[FloatArray]:
    """Return the way the nose's shadow falls on the page, for labels to keep off."""
    return [] if nose is None else [_way(picture, nose)]


def _middle(picture: Picture, places: tuple[tuple[float, float], ...]) -> PageAt | None:
    """Return the middle of a part of the face on the page; None where it is not seen."""
    scene = picture.scene
    skin = named_places(scene.head, places).in_world(scene.pose)
    facing = dot(skin.normals, normalize(scene.camera - skin.points))
    seen = picture.seen(skin.points) & (facing > _EDGEWISE)
    if seen.mean() < 0.5:
        return None
    page = picture.on_page(skin.points[seen]).mean(axis=0)
    return float(page[0]), float(page[1])


def _eye(picture: Picture, index: int) -> PageAt | None:
    """Return the outer part of an iris on the page; None where the head hides it."""
    eyes, pose = picture.scene.eyes, picture.scene.pose
    middle = eyes.opening_center[index]
    if not picture.seen(middle[None], margin_m=14.0 * MM)[0]:
        return None
    page = picture.on_page(middle + pose.axes[:, 0] * float(eyes.outward[index]) * 4.0 * MM)
    return float(page[0]), float(page[1])


def _reading_mark(sheet: Sheet, at: PageAt) -> None:
    with sheet.group("reading"):
        sheet.circle(*at, _MARK_PT + 1.6, filled(PAPER))
        sheet.circle(*at, _MARK_PT, Paint(fill=WHITE, stroke=INK, width=THICK))
        sheet.circle(*at, 1.0, filled(INK))


def _way(picture: Picture, nose: NoseShadow) -> FloatArray:
    """Return the way from the tip of the nose along its shadow on the page, (n, 2) [pt]."""
    turn = np.deg2rad(nose.falls_deg)
    tip = np.array(picture.scene.head.landmarks().nose_tip) / MM
    run = np.linspace(0.0, _OPEN_MM if nose.length_mm is None else nose.length_mm, 24)
    flat = np.stack([tip[0] + run * np.sin(turn), tip[2] - run * np.cos(turn)], axis=-1)
    page = picture.on_page(picture.on_skin(flat, raised_mm=1.0))
    return page[np.isfinite(page).all(axis=1)]


def _arrow(sheet: Sheet, way: FloatArray, *, broken: bool) -> None:
    along = way[-1] - way[-3]
    along = along / max(float(np.hypot(*along)), 1e-6)
    across, end = np.array([-along[1], along[0]]), way[-1]
    sheet.line(way, Paint(stroke=PAPER, width=3.6))
    sheet.line(way, line(THICK, dash=(3.0, 2.2) if broken else ()), name="way")
    head = np.array([end, end - 7 * along + 3 * across, end - 7 * along - 3 * across])
    sheet.area([head], Paint(fill=INK, stroke=PAPER, width=FINE))
