"""What is read from rendered pictures against what the renderer knows is in them.

A handful of pictures, to hold still what is reached; how often it is right over many is measured
by scripts/labelled_pictures.py and scripts/score_readings.py.
"""

from dataclasses import replace

import numpy as np
import pytest
import skimage.data
import skimage.filters
from tests.cross.photo_labels import NAMES, PICTURES, ROOM, filled, known_of, labelled, overlap

from tapemark.photo import Hints, Photo, ShotFacts, read_photo, read_shot

PUPIL_MM = 3.0  # of 63 between pupils; a lens moves the image of an eye by a millimetre or two
WORN = {name: known_of(name)["setup"]["sitter"].get("glasses", {}).get("rim") for name in NAMES}
RIMMED = tuple(name for name, rim in WORN.items() if rim == "full")


def test_there_are_pictures_with_and_without_glasses():
    assert {labelled(name).glasses for name in NAMES} == {True, False}
    assert len(RIMMED) >= 2


@pytest.mark.parametrize("name", NAMES)
def test_one_face_and_both_pupils_are_found(name):
    shot = labelled(name)
    assert len(shot.wearers) == 1
    for eye in shot.wearers[0].eyes:
        away = np.linalg.norm(np.array(eye.pupil) - shot.known["pupils"][eye.side])
        assert away / shot.apart * 63.0 < PUPIL_MM + 2.0 * (eye.likeness < 0.6)


@pytest.mark.parametrize("name", NAMES)
def test_glasses_are_told_from_bare_eyes(name):
    shot = labelled(name)
    assert (shot.wearers[0].right.lens is not None) == shot.glasses
    assert (shot.wearers[0].verdict == "no glasses") == (not shot.glasses)


@pytest.mark.parametrize("name", RIMMED)
@pytest.mark.parametrize("side", ["right", "left"])
def test_lens_regions_lie_on_the_lenses(name, side):
    shot = labelled(name)
    eye = getattr(shot.wearers[0], side)
    assert overlap(filled(eye.lens.outline, shot.marks.shape), shot.lens(side)) > 0.85


#: Fainter than a third of a stop over lit skin, so not worth finding as docs/photos.md has it; a
#: person sees it, and an earlier finder, which took much bare skin for reflections too, found it.
TOO_FAINT = pytest.mark.xfail(strict=True, reason="a reflection of 0.14 of lit skin is not found")


@pytest.mark.parametrize(
    ("name", "side"),
    [
        pytest.param(
            name, side, marks=[TOO_FAINT] if (name, side) == ("shot-0006", "right") else []
        )
        for name in NAMES
        if WORN[name]
        for side in ("right", "left")
    ],
)
def test_reflections_are_found_where_they_are_and_only_there(name, side):
    shot = labelled(name)
    lens = getattr(shot.wearers[0], side).lens
    share = shot.mirrored_share(side)
    if share == 0.0:
        assert lens.lens_cover < 0.03
    elif share > 4 * ROOM:
        assert 0.25 * share < lens.lens_cover < 2.5 * share


def test_a_strong_reflection_is_outlined_as_the_renderer_has_it():
    shot = labelled("shot-0001")
    for side in ("right", "left"):
        found = np.zeros(shot.marks.shape, dtype=bool)
        for one in getattr(shot.wearers[0], side).lens.reflections:
            found |= filled(one.outline, shot.marks.shape)
            assert one.color == "white"
        assert overlap(found, ((shot.marks & 12) > 0) & shot.lens(side)) > 0.7
        assert getattr(shot.wearers[0], side).lens.verdict == "veiled"
        assert getattr(shot.wearers[0], side).lens.stops_over_skin > 0.3


def portrait() -> Photo:
    """The public-domain portrait of an astronaut, who wears no glasses."""
    pixels = skimage.data.astronaut()
    return Photo(pixels=pixels, full_size=(512, 512), kind="PNG", profile="", facts=ShotFacts())


def test_a_person_without_glasses_is_found_and_has_none():
    (wearer,) = read_shot(portrait(), name="portrait").wearers
    assert wearer.verdict == "no glasses"
    assert wearer.is_open
    assert wearer.is_sharp
    right, left = wearer.right.pupil, wearer.left.pupil
    np.testing.assert_allclose(right, (203, 103), atol=5)  # as the eye sees them in the picture
    np.testing.assert_allclose(left, (247, 105), atol=5)


def test_a_picture_out_of_focus_is_told_from_a_sharp_one():
    sharp = read_photo(PICTURES / "shot-0001.jpg")
    soft = skimage.filters.gaussian(sharp.pixels, sigma=5.0, channel_axis=-1, preserve_range=True)
    blurred = replace(sharp, pixels=soft.astype(np.uint8))
    assert read_shot(sharp, name="sharp").wearers[0].is_sharp
    told = Hints(pupils=((260.0, 351.0), (381.0, 334.0)))
    assert not read_shot(blurred, name="soft", hints=told).wearers[0].is_sharp


@pytest.mark.parametrize(
    "pixels", [skimage.data.coffee(), skimage.data.chelsea()], ids=["cup", "cat"]
)
def test_pictures_without_people_have_no_wearer_for_sure(pixels):
    photo = replace(portrait(), pixels=pixels, full_size=pixels.shape[1::-1])
    found = read_shot(photo, name="still").wearers
    assert [one for one in found if one.verdict in {"clear", "edge", "veiled"}] == []


def test_a_person_may_say_where_the_pupils_are():
    told = ((262.6, 339.2), (383.9, 339.2))
    shot = labelled("shot-0000", Hints(pupils=told))
    for eye, given in zip(shot.wearers[0].eyes, told, strict=True):
        np.testing.assert_allclose(eye.pupil, given, atol=0.04 * shot.apart)
    assert shot.wearers[0].confidence == 1.0


def test_a_person_may_outline_the_lenses():
    shot = labelled("shot-0000")
    boxes = []
    for side in ("right", "left"):
        row, column = np.nonzero(shot.lens(side))
        boxes.append(
            tuple(float(one) for one in (column.min(), row.min(), column.max() + 1, row.max() + 1))
        )
    told = labelled("shot-0000", Hints(boxes=(boxes[0], boxes[1])))
    for side in ("right", "left"):
        outline = getattr(told.wearers[0], side).lens.outline
        assert overlap(filled(outline, shot.marks.shape), shot.lens(side)) > 0.85


def test_what_is_known_of_a_sitter_is_looked_for_in_the_next_frame():
    shape = labelled("shot-0001").wearers[0].shape
    again = labelled("shot-0001", Hints(shape=shape)).wearers[0]
    assert again.shape.width_mm == pytest.approx(shape.width_mm, abs=2.0)
    assert again.shape.height_mm == pytest.approx(shape.height_mm, abs=2.0)
    assert again.verdict == "veiled"
