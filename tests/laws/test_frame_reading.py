"""A frame read for a session: small pictures within bounds, and a reading that can be gone on with.

The pictures read are our own renderings; what is known of them lies beside them.
"""

import gc
import io
import json
import weakref
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageFilter

from tapemark.photo import Hints, read_photo, read_shot, reading_as_plain
from tapemark.photo.face_eyes import Picture
from tapemark.photo.frame_pictures import (
    EYES_PX_PER_MM,
    EYES_SIZE,
    MOST_BYTES,
    preview_of,
)
from tapemark.photo.strip import ABOVE_MM, HALF_WIDE_MM, PUPILS_APART_MM
from tapemark.services.photos.folder_arrivals import GIVE_UP_S, STILL_S, FolderArrivals
from tapemark.services.photos.frame_reading import fingerprint, hints_from_plain, read_frame
from tapemark.services.photos.kept_readings import reading_from_plain
from tapemark.services.photos.reading_words import eye_words, wearer_words

PICTURES = sorted((Path(__file__).resolve().parents[1] / "pictures").glob("*.jpg"))
SHOT = PICTURES[1]
A_PIXEL = 1.0
PUPILS_LIKE = 2.0  # mm, as far as a tap is looked around


@pytest.mark.parametrize("path", PICTURES, ids=lambda one: one.stem)
def test_a_kept_reading_is_the_reading_it_was_made_from(path):
    read = read_frame(path, name=path.name)
    reading = reading_from_plain(json.loads(json.dumps(read.body["reading"])))
    assert reading_as_plain(reading) == read.body["reading"]
    assert reading.verdict == read.body["reading"]["verdict"]
    assert max(map(len, read.pictures.values())) <= MOST_BYTES


@pytest.mark.parametrize("path", PICTURES, ids=lambda one: one.stem)
def test_the_eyes_lie_at_the_same_place_in_every_small_picture(path):
    """Pupils 63 mm apart, level, whatever the frame is: so two frames can be held side by side."""
    read = read_frame(path, name=path.name)
    (wearer,) = read.body["reading"]["wearers"]
    a, b, c, d, e, f = read.body["eyes"]["1"]
    for side, sign in (("right", -1), ("left", 1)):
        x, y = wearer["eyes"][side]["pupil"]
        across = (HALF_WIDE_MM + sign * PUPILS_APART_MM / 2) * EYES_PX_PER_MM
        found = np.array([a * x + b * y + c, d * x + e * y + f])
        np.testing.assert_allclose(found, [across, ABOVE_MM * EYES_PX_PER_MM], atol=A_PIXEL)


def test_the_small_picture_shows_what_lies_there_in_the_frame():
    """A frame whose every pixel says where it is: the small picture is where its matrix says."""
    photo, read = read_photo(SHOT), read_frame(SHOT, name="a.jpg")
    eyes = np.asarray(Image.open(io.BytesIO(read.pictures["eyes1"])).convert("L"), dtype=float)
    whole = np.asarray(Image.fromarray(photo.pixels).convert("L"), dtype=float)
    turn = np.array(read.body["eyes"]["1"]).reshape(2, 3)
    rows, columns = np.mgrid[40 : EYES_SIZE[1] - 40 : 9, 40 : EYES_SIZE[0] - 40 : 9]
    at = np.stack([columns + 0.5, rows + 0.5], axis=-1).reshape(-1, 2)
    back = (at - turn[:, 2]) @ np.linalg.inv(turn[:, :2]).T / photo.scale
    there = whole[back[:, 1].astype(int), back[:, 0].astype(int)]
    shown = eyes[at[:, 1].astype(int), at[:, 0].astype(int)]
    assert np.corrcoef(there, shown)[0, 1] > 0.97
    assert abs(float(np.median(there - shown))) < 2.0  # of 255


def test_a_preview_stays_within_its_bounds_however_rough_the_photo(tmp_path):
    noise = np.random.default_rng(1).integers(0, 256, (1800, 2600, 3), dtype=np.uint8)
    path = tmp_path / "noise.png"
    Image.fromarray(noise).save(path)
    found = preview_of(read_photo(path))
    assert len(found) <= MOST_BYTES
    assert max(Image.open(io.BytesIO(found)).size) <= 1400


def test_originals_are_only_read(tmp_path):
    path = tmp_path / "a.jpg"
    path.write_bytes(SHOT.read_bytes())
    path.chmod(0o400)
    before = (path.stat().st_mtime_ns, sorted(tmp_path.iterdir()))
    read_frame(path, name="a.jpg")
    assert (path.stat().st_mtime_ns, sorted(tmp_path.iterdir())) == before
    assert fingerprint(path) == fingerprint(SHOT)


def test_a_frame_that_is_not_at_hand_is_read_again_from_its_small_picture(tmp_path):
    """In pixels of the original, with its exposure, from taps that are some pixels off."""
    large = tmp_path / "large.jpg"
    with Image.open(SHOT) as picture:
        exif = Image.Exif()
        exif[0x8769] = {0x829D: 8.0, 0x8827: 100}
        size = (picture.size[0] * 4, picture.size[1] * 4)
        picture.resize(size, Image.Resampling.BICUBIC).save(large, quality=92, exif=exif)
    first = read_frame(large, name="large.jpg")
    (wearer,) = first.body["reading"]["wearers"]
    pupils = [wearer["eyes"][side]["pupil"] for side in ("right", "left")]
    apart = np.linalg.norm(np.subtract(*pupils)) / PUPILS_APART_MM
    tapped = [[x + apart, y - apart] for x, y in pupils]
    again = read_frame(
        None,
        name="large.jpg",
        hints=hints_from_plain({"pupils": tapped}),
        preview=first.pictures["preview"],
        before=first.body["reading"],
    )
    reading = again.body["reading"]
    assert reading["size"] == list(size)
    assert (reading["taken"]["aperture"], reading["taken"]["iso"]) == (8.0, 100)
    found = [reading["wearers"][0]["eyes"][side]["pupil"] for side in ("right", "left")]
    np.testing.assert_allclose(found, pupils, atol=PUPILS_LIKE * apart)
    assert reading["wearers"][0]["confidence"] == 1.0
    assert again.body["from_preview"]
    assert "preview" not in again.pictures


@pytest.fixture
def faceless(monkeypatch):
    """The pupils of a frame in which no face is found, as happens in deep shadow or profile."""
    monkeypatch.setattr("tapemark.photo.wearers.find_faces", lambda pixels: ())
    plain = json.loads(SHOT.with_suffix(".json").read_text())
    return [plain["pupils"][side] for side in ("right", "left")]


def test_known_pupils_help_where_a_frame_does_not_show_a_face(faceless):
    assert read_frame(SHOT, name="a").body["reading"]["wearers"] == []
    known = tuple((x + 3.0, y - 3.0) for x, y in faceless)  # the sitter has moved a little
    (wearer,) = read_frame(SHOT, name="a", known_pupils=known).body["reading"]["wearers"]
    found = [wearer["eyes"][side]["pupil"] for side in ("right", "left")]
    np.testing.assert_allclose(found, faceless, atol=4.0)  # pixels: two millimetres


@pytest.mark.parametrize("moved", [(40.0, 0.0), (-35.0, 10.0), (0.0, 45.0)])
def test_known_pupils_are_not_believed_where_there_is_no_iris(faceless, moved):
    known = tuple((x + moved[0], y + moved[1]) for x, y in faceless)
    assert read_frame(SHOT, name="a", known_pupils=known).body["reading"]["wearers"] == []


def test_known_pupils_where_there_are_none_change_nothing(tmp_path):
    path = tmp_path / "wall.png"
    Image.new("RGB", (900, 600), (120, 118, 110)).save(path)
    known = ((400.0, 300.0), (500.0, 300.0))
    read = read_frame(path, name="wall.png", known_pupils=known)
    assert read.body["reading"]["wearers"] == []


def test_a_tap_on_one_person_leaves_the_others_as_they_were(tmp_path):
    path = tmp_path / "two.png"
    pictures = [np.asarray(Image.open(one).convert("RGB")) for one in (PICTURES[0], PICTURES[4])]
    Image.fromarray(np.hstack(pictures)).save(path)
    before = read_frame(path, name="two.png").body["reading"]["wearers"]
    assert [one["number"] for one in before] == [1, 2]
    plain = json.loads(PICTURES[4].with_suffix(".json").read_text())["pupils"]
    wide = pictures[0].shape[1]
    pupils = [[plain[side][0] + wide, plain[side][1]] for side in ("right", "left")]
    hints = hints_from_plain({"pupils": pupils})
    after = read_frame(path, name="two.png", hints=hints).body["reading"]["wearers"]
    assert [one["number"] for one in after] == [1, 2]
    assert after[0] == before[0]
    assert after[1]["confidence"] == 1.0
    shape = {"gap_mm": 18.0, "width_mm": 50.0, "height_mm": 34.0, "exponent": 3.0}
    both = read_frame(path, name="two.png", hints=hints_from_plain({"shape": shape}))
    assert both.body["reading"]["wearers"] == before  # the glasses of one are not those of all


@pytest.mark.parametrize("content", [b"", b"\xff\xd8\xff\xe0 no", b"GIF89a" + bytes(50)])
def test_what_cannot_be_read_is_one_line(tmp_path, content):
    path = tmp_path / "a.jpg"
    path.write_bytes(content)
    read = read_frame(path, name="a.jpg")
    assert read.body["reading"] is None
    assert read.body["error"].startswith("a.jpg: ")
    assert str(tmp_path) not in read.body["error"]
    assert read.pictures == {}


@pytest.mark.parametrize("path", PICTURES, ids=lambda one: one.stem)
def test_every_eye_is_told_in_words(path):
    (wearer,) = reading_as_plain(read_shot(read_photo(path), name="a"))["wearers"]
    eyes = eye_words(wearer, {})
    assert [one.side for one in eyes] == ["right", "left"]
    for one in eyes:
        lens = wearer["eyes"][one.side]["lens"]
        assert one.verdict == ("no glasses" if lens is None else lens["verdict"])
        assert len(one.reflections) == (0 if lens is None else len(lens["reflections"]))
    assert all(wearer_words(wearer))
    assert hints_from_plain({}) == Hints()


# ---------------------------------------------------------------- arriving in a folder


def test_a_file_has_arrived_when_it_is_still_and_whole(tmp_path):
    raw = SHOT.read_bytes()
    (tmp_path / "old.jpg").write_bytes(raw)
    path, arrivals = tmp_path / "new.jpg", FolderArrivals(tmp_path, passed_over=["old.jpg"])
    path.write_bytes(raw[:9000])
    assert arrivals.look(now=0.0) == ()
    assert arrivals.look(now=STILL_S + 1.0) == ()  # still, but not whole
    path.write_bytes(raw)
    assert arrivals.look(now=2.0) == ()
    assert arrivals.look(now=3.0) == (path,)
    assert arrivals.look(now=9.0) == ()  # once
    path.write_bytes(raw + b"\0")
    assert arrivals.look(now=10.0) == ()
    assert arrivals.look(now=11.0) == (path,)  # and again when it is another one


def test_a_file_that_stays_cut_short_is_taken_as_it_is_in_the_end(tmp_path):
    path, arrivals = tmp_path / "cut.jpg", FolderArrivals(tmp_path)
    path.write_bytes(SHOT.read_bytes()[:9000])
    assert arrivals.look(now=0.0) == ()
    assert arrivals.look(now=GIVE_UP_S - 0.1) == ()
    assert arrivals.look(now=GIVE_UP_S) == (path,)


def test_lenses_that_are_known_of_a_sitter_stay_what_they_are_known_to_be():
    """What a person outlined once is looked for in the next frames, whatever else is seen."""
    photo = read_photo(SHOT)
    seen = read_shot(photo, name="a.jpg").wearers[0]
    same = read_shot(photo, name="a.jpg", hints=Hints(shape=seen.shape)).wearers[0]
    assert same.right.lens.outline == seen.right.lens.outline
    told = replace(seen.shape, height_mm=seen.shape.height_mm - 9.0)
    other = read_shot(photo, name="a.jpg", hints=Hints(shape=told)).wearers[0]
    assert abs(other.shape.height_mm - told.height_mm) < abs(
        other.shape.height_mm - seen.shape.height_mm
    )


def test_a_picture_that_was_searched_is_not_kept():
    """However long a folder is: what was made of a photo goes with it."""
    picture = Picture(read_photo(SHOT).pixels)
    assert picture.level(240) is picture.level(240)
    gone = weakref.ref(picture)
    del picture
    gc.collect()
    assert gone() is None


@pytest.mark.parametrize(
    ("made", "asked"),
    [
        (lambda image: image.point(lambda value: value // 7), "for more exposure"),
        (lambda image: image.filter(ImageFilter.GaussianBlur(8)), "whether these are glasses"),
    ],
    ids=["dark", "out of focus"],
)
def test_a_frame_that_cannot_be_told_is_not_called_sound(tmp_path, made, asked):
    path = tmp_path / "shot.png"
    with Image.open(SHOT) as image:
        made(image.convert("RGB")).save(path)
    reading = read_shot(read_photo(path), name="shot.png")
    assert reading.verdict == "unsure"
    assert any(asked in one for wearer in reading.wearers for one in wearer.questions)


def test_lenses_of_somebody_else_are_asked_about():
    photo = read_photo(SHOT)
    own = read_shot(photo, name="a.jpg").wearers[0].shape
    other = replace(own, width_mm=own.width_mm - 8.0)
    wearer = read_shot(photo, name="a.jpg", hints=Hints(shape=other)).wearers[0]
    assert wearer.verdict == "unsure"
    assert any("known of the sitter" in one for one in wearer.questions)
