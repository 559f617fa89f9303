"""Everybody in a photo: eyes, glasses and what the lenses show."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from tapemark.photo.eye_points import EyesSeen, refined_eyes
from tapemark.photo.eye_state import (
    SHARP_EDGE_MM,
    SHARP_EDGE_PX,
    is_open,
    light_around,
    sharpest_edge_mm,
)
from tapemark.photo.face_found import FaceFound, face_at
from tapemark.photo.faces import find_faces
from tapemark.photo.files import Photo
from tapemark.photo.glare import lens_glare_seen
from tapemark.photo.hints import Hints
from tapemark.photo.lens_outlines import lens_likeness, lenses_seen, shows_no_lens
from tapemark.photo.lens_regions import (
    LensesFound,
    find_lenses,
    lenses_along,
    lenses_from,
    usual_lenses,
)
from tapemark.photo.reading import EyeSeen, LensReading, ShotReading, Side, WearerReading
from tapemark.photo.reflections_seen import lens_reading
from tapemark.photo.skin import Skin, skin_beside
from tapemark.photo.strip import PUPILS_APART_MM

FACE_LEAST = 0.25  # less sure faces are passed over
ASK_BELOW = 0.38  # less sure pupils are asked for
GLASSES_FROM, GLASSES_SURE = 0.5, 0.62
CLIPPED_SKIN = 0.93  # luminance of lit skin, 1 for white
DIM_SKIN = 0.036  # of lit skin: nothing darker was in the pictures that the network was taught on
ODD_MM = 6.0  # lenses that differ so much from those that are known are others
LEAST_PX_PER_MM = 0.45  # smaller faces have lenses of a dozen pixels
_TURNED = 0.035  # one lens is seen so much wider than the other: the head is turned
_SIDES: tuple[Side, Side] = ("right", "left")


def read_shot(photo: Photo, *, name: str, hints: Hints | None = None) -> ShotReading:
    """Return what a photo shows.

    Parameters
    ----------
    photo : Photo
        As it was read.
    name : str
        Of its file.
    hints : Hints, optional
        What a person said about it, or what is known of the sitter.
    """
    hints = hints or Hints()
    found = [_wearer(photo, face, hints) for face in _faces(photo, hints)]
    kept = [one for one in found if one is not None]
    return ShotReading(
        name=name,
        kind=photo.kind,
        size=photo.full_size,
        profile=photo.profile,
        facts=photo.facts,
        wearers=tuple(one.numbered(number) for number, one in enumerate(kept, start=1)),
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class _Wearer:
    """What is known of one person before they are numbered."""

    face: FaceFound
    eyes: EyesSeen
    lenses: LensesFound
    lens_readings: tuple[LensReading, LensReading] | None
    skins: tuple[Skin, Skin]
    states: tuple[bool | None, bool | None]
    edges_mm: tuple[float, float]
    glasses: float
    confidence: float
    hints: Hints
    odd: bool
    scale: float

    @property
    def is_sharp(self) -> bool:
        """Whether the nearer eye is sharp; one of both where none is nearer."""
        near = self._near()
        judged = self.edges_mm if not near else (self.edges_mm[_SIDES.index(near)],)
        return min(judged) <= max(SHARP_EDGE_MM, SHARP_EDGE_PX / self.eyes.strip.px_per_mm)

    def numbered(self, number: int) -> WearerReading:
        """Return the reading of this person."""
        right, left = (self._eye(index) for index in (0, 1))
        half = self.face.side / 2
        left_edge, top = ((one - half) * self.scale for one in self.face.center)
        side = round(self.face.side * self.scale, 1)
        return WearerReading(
            number=number,
            face=(round(left_edge, 1), round(top, 1), side, side),
            confidence=round(self.confidence, 3),
            glasses=round(self.glasses, 3),
            right=right,
            left=left,
            near_side=self._near(),
            is_sharp=self.is_sharp,
            skin_clipped_share=round(max(one.clipped_share for one in self.skins), 4),
            skin_luminance=round(self.skins[0].lit, 4),
            questions=_questions(self),
            shape=self.lenses.shape if self.glasses >= GLASSES_SURE else None,
        )

    def _eye(self, index: int) -> EyeSeen:
        pupil = (self.eyes.right, self.eyes.left)[index]
        x, y = (round((one + 0.5) * self.scale, 1) for one in pupil)
        edge = self.edges_mm[index]
        return EyeSeen(
            side=_SIDES[index],
            pupil=(x, y),
            likeness=round(self.eyes.likeness[index], 3),
            is_open=self.states[index],
            edge_mm=round(edge, 3) if math.isfinite(edge) else 99.0,
            lens=None if self.lens_readings is None else self.lens_readings[index],
        )

    def _near(self) -> Literal["", "right", "left"]:
        wide = [one.half_width for one in (self.lenses.right, self.lenses.left)]
        if self.lens_readings is None or abs(wide[0] - wide[1]) < _TURNED * sum(wide):
            return ""
        return "right" if wide[0] > wide[1] else "left"


def _faces(photo: Photo, hints: Hints) -> tuple[FaceFound, ...]:
    if hints.pupils is not None:
        right, left = ((x / photo.scale - 0.5, y / photo.scale - 0.5) for x, y in hints.pupils)
        return (face_at(right, left),)
    found = find_faces(photo.pixels)
    sure = tuple(one for one in found if one.confidence >= ASK_BELOW)
    return sure or tuple(one for one in found if one.confidence >= FACE_LEAST)


def _wearer(photo: Photo, face: FaceFound, hints: Hints) -> _Wearer | None:
    """Return one person, or None where the face is too small to say anything."""
    if hints.pupils is None:
        eyes = refined_eyes(photo.pixels, right=face.right, left=face.left)
    else:
        eyes = refined_eyes(photo.pixels, right=face.right, left=face.left, reach_mm=2.0)
    if eyes.strip.px_per_mm < LEAST_PX_PER_MM:
        return None
    lenses, odd = _lenses(photo, eyes, hints)
    glasses = 1.0 if hints.boxes is not None or hints.shape is not None else lenses.confidence
    glasses = 0.0 if hints.bare else glasses
    outlines = (lenses.right, lenses.left)
    skins = skin_beside(eyes.strip, outlines)
    readings = _lens_readings(photo, eyes, lenses, skins) if glasses >= GLASSES_FROM else None
    sides = zip((eyes.right, eyes.left), (-1.0, 1.0), eyes.likeness, (0, 1), strict=True)
    states, edges = [], []
    for pupil, sign, likeness, index in sides:
        veil = 0.0 if readings is None else readings[index].veil
        light = light_around(eyes.strip, (sign * PUPILS_APART_MM / 2, 0.0))
        states.append(is_open(likeness, veil=veil, light=light))
        edges.append(sharpest_edge_mm(photo.pixels, pupil=pupil, px_per_mm=eyes.strip.px_per_mm))
    confidence = face.confidence if hints.pupils is None else 1.0
    return _Wearer(
        face=face,
        eyes=eyes,
        lenses=lenses,
        lens_readings=readings,
        skins=skins,
        states=(states[0], states[1]),
        edges_mm=(edges[0], edges[1]),
        glasses=glasses,
        confidence=confidence,
        hints=hints,
        odd=odd,
        scale=photo.scale,
    )


def _lenses(photo: Photo, eyes: EyesSeen, hints: Hints) -> tuple[LensesFound, bool]:
    """Return the lenses, and whether quite others are seen than those that are known.

    They are as the network sees them; else, or where others are known, as their edges tell.
    """
    if hints.boxes is not None:
        return lenses_from(hints.outlines(eyes.strip, photo.scale), eyes.strip), False
    outlines, known = lenses_seen(eyes.maps), hints.shape
    if outlines is None and known is None and shows_no_lens(eyes.maps):
        return usual_lenses(eyes.strip), False
    if outlines is None:
        return find_lenses(eyes.strip, known=known), False
    likeness = lens_likeness(eyes.maps, outlines)
    found = lenses_along(outlines, eyes.strip, likeness=likeness)
    if known is None or found.shape.is_like(known):
        return found, False
    return find_lenses(eyes.strip, known=known), not found.shape.is_like(known, within_mm=ODD_MM)


def _lens_readings(
    photo: Photo, eyes: EyesSeen, lenses: LensesFound, skins: tuple[Skin, Skin]
) -> tuple[LensReading, LensReading]:
    found = []
    for index, outline in enumerate((lenses.right, lenses.left)):
        pupil = ((index - 0.5) * PUPILS_APART_MM, 0.0)
        seen = lens_glare_seen(eyes.maps.reflection, outline, pupil_mm=pupil)
        found.append(lens_reading(eyes.strip, outline, seen, skin=skins[index], scale=photo.scale))
    return found[0], found[1]


def _questions(one: _Wearer) -> tuple[str, ...]:
    """Return what has to be asked for a sure answer."""
    asked, lit, worn = [], one.skins[0].lit, one.glasses >= GLASSES_FROM
    if one.confidence < ASK_BELOW:
        asked.append("where the pupils are: give --pupils x,y,x,y, the sitter's right eye first")
    unsure = GLASSES_FROM - 0.1 <= one.glasses < GLASSES_SURE and one.hints.shape is None
    blurred = not worn and not one.hints.bare and not one.is_sharp
    if unsure or blurred:
        asked.append(
            "whether these are glasses, and where the lenses are: give --outline with the box of "
            "each lens, or --no-glasses"
        )
    if one.odd:
        asked.append(
            "whether these are the glasses that are known of the sitter: others seem to be worn; "
            "leave --sitter out, or give --outline"
        )
    if worn and lit > CLIPPED_SKIN:
        asked.append("for less exposure: beside skin that is clipped no reflection can be told")
    if worn and lit < DIM_SKIN:
        asked.append("for more exposure: beside skin so dark reflections are passed over")
    return tuple(asked)
