"""Reading photo files: every kind, upright, in sRGB; whatever is broken is one clear line."""

import io
import struct
import zlib
from pathlib import Path

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from PIL.TiffImagePlugin import IFDRational
from tests.laws.raw_file import raw_file

from tapemark.errors import FileError
from tapemark.photo import Hints, Photo, read_photo
from tapemark.photo.color import linear_light, luminance

WIDE, TALL = 120, 80


def picture() -> Image.Image:
    """Red at the left top, blue at the right bottom, on grey."""
    pixels = np.full((TALL, WIDE, 3), 128, dtype=np.uint8)
    pixels[: TALL // 2, : WIDE // 3] = (200, 30, 30)
    pixels[TALL // 2 :, -WIDE // 3 :] = (30, 30, 200)
    return Image.fromarray(pixels)


def as_bytes(image: Image.Image, kind: str, **options: object) -> bytes:
    stream = io.BytesIO()
    image.save(stream, format=kind, **options)
    return stream.getvalue()


def read_bytes(folder: Path, data: bytes, name: str = "photo.jpg") -> Photo:
    path = folder / name
    path.write_bytes(data)
    return read_photo(path)


def heic(image: Image.Image) -> bytes:
    import pillow_heif

    pillow_heif.register_heif_opener()
    return as_bytes(image, "HEIF", quality=90)


FILES = {
    "JPEG": lambda: as_bytes(picture(), "JPEG", quality=95),
    "grey JPEG": lambda: as_bytes(picture().convert("L"), "JPEG"),
    "CMYK JPEG": lambda: as_bytes(picture().convert("CMYK"), "JPEG"),
    "PNG": lambda: as_bytes(picture(), "PNG"),
    "PNG with transparency": lambda: as_bytes(picture().convert("RGBA"), "PNG"),
    "PNG with a palette": lambda: as_bytes(picture().convert("P"), "PNG"),
    "TIFF": lambda: as_bytes(picture(), "TIFF"),
    "WebP": lambda: as_bytes(picture(), "WEBP", quality=95),
    "HEIC": lambda: heic(picture()),
}


@pytest.mark.parametrize("kind", FILES)
def test_every_kind_is_read_whatever_its_name(kind, tmp_path):
    photo = read_bytes(tmp_path, FILES[kind](), "misnamed.txt")
    assert photo.full_size == (WIDE, TALL)
    grey = "grey" in kind
    assert photo.kind in kind
    top, bottom = photo.pixels[10, 10].astype(int), photo.pixels[-10, -10].astype(int)
    assert grey or (top[0] > top[2] + 60 and bottom[2] > bottom[0] + 60)


def test_sixteen_bits_are_read_as_their_upper_eight(tmp_path):
    wide = (np.linspace(0, 65535, 100 * 60).reshape(60, 100)).astype(np.uint16)
    photo = read_bytes(tmp_path, as_bytes(Image.fromarray(wide), "PNG"))
    np.testing.assert_allclose(photo.pixels[..., 1], wide / 257.0, atol=1.0)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "packed TIFF"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_photos_stand_upright_however_the_camera_was_held(orientation, kind, tmp_path):
    way = Image.Transpose
    undo = {
        2: way.FLIP_LEFT_RIGHT,
        3: way.ROTATE_180,
        4: way.FLIP_TOP_BOTTOM,
        5: way.TRANSPOSE,
        6: way.ROTATE_90,
        7: way.TRANSVERSE,
        8: way.ROTATE_270,
    }
    lying = picture().transpose(undo[orientation]) if orientation in undo else picture()
    exif = Image.Exif()
    exif[0x0112] = orientation
    options = {"JPEG": {"quality": 95}, "packed TIFF": {"compression": "tiff_lzw"}}.get(kind, {})
    photo = read_bytes(tmp_path, as_bytes(lying, kind.split()[-1], exif=exif, **options))
    assert photo.full_size == (WIDE, TALL)
    upright = np.asarray(picture()).astype(int)
    np.testing.assert_allclose(photo.pixels.astype(int), upright, atol=70 if kind == "JPEG" else 0)
    assert photo.pixels[10, 10, 0] > 150


@pytest.mark.parametrize("samples", [np.float32, np.float64, np.int32])
def test_a_colour_tiff_of_other_numbers_is_not_called_damaged(samples, tmp_path):
    data = cv2.imencode(".tiff", np.full((80, 90, 3), 0.5).astype(samples))[1].tobytes()
    with pytest.raises(FileError, match=r"is a TIFF of (32|64)-bit") as caught:
        read_bytes(tmp_path, data, "photo.tif")
    text = str(caught.value)
    assert text.endswith("which is not read; export it as 8 or 16 bit")
    assert ("floating-point" in text) == (samples is not np.int32)
    sixteen = cv2.imencode(".tiff", np.full((80, 90, 3), 30000, dtype=np.uint16))[1].tobytes()
    assert read_bytes(tmp_path, sixteen, "photo.tif").pixels[9, 9, 0] == 30000 // 256


def test_what_lies_outside_a_photo_is_told():
    inside = Hints(pupils=((0, 0), (768, 960)), boxes=((-9, -9, 9, 9), (760, 950, 790, 990)))
    assert inside.outside((768, 960)) == ""
    pupils = Hints(pupils=((5, 5), (769, 5)))
    assert pupils.outside((768, 960)) == "the sitter's left pupil at 769,5"
    boxes = Hints(boxes=((5, 961, 90, 999), (100, 5, 200, 90)))
    assert boxes.outside((768, 960)) == "the box 5,961,90,999 of the right lens"


def test_exposure_lens_and_time_are_read(tmp_path):
    exif = Image.Exif()
    exif[0x010F], exif[0x0110] = "Quillmere", "Quillmere One"
    own = exif.get_ifd(0x8769)
    own[0x829A], own[0x829D] = IFDRational(1, 160), IFDRational(8, 1)
    own[0x8827], own[0x920A] = 100, IFDRational(85, 1)
    own[0x9003], own[0xA434] = "2026:05:01 10:11:12", "85 mm f/1.8"
    facts = read_bytes(tmp_path, as_bytes(picture(), "JPEG", exif=exif)).facts
    assert facts.text == "1/160 s, f/8, ISO 100, 85 mm"
    assert (facts.camera, facts.lens) == ("Quillmere One", "85 mm f/1.8")
    assert facts.taken == "2026-05-01 10:11:12"


def linear_profile() -> bytes:
    """An ICC profile with the primaries of sRGB (adapted to D50) and a straight curve."""

    def place(*values: float) -> bytes:
        return b"XYZ \0\0\0\0" + struct.pack(">3i", *(round(one * 65536) for one in values))

    name = b"desc\0\0\0\0" + struct.pack(">I", 7) + b"linear\0" + b"\0" * 78
    straight = b"curv\0\0\0\0" + struct.pack(">I", 0)
    tags = {
        b"desc": name,
        b"cprt": b"text\0\0\0\0none\0",
        b"wtpt": place(0.9642, 1.0, 0.8249),
        b"rXYZ": place(0.4361, 0.2225, 0.0139),
        b"gXYZ": place(0.3851, 0.7169, 0.0971),
        b"bXYZ": place(0.1431, 0.0606, 0.7139),
        **dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), straight),
    }
    table, body = struct.pack(">I", len(tags)), b""
    for key, value in tags.items():
        padded = value + b"\0" * (-len(value) % 4)
        table += key + struct.pack(">2I", 132 + 12 * len(tags) + len(body), len(value))
        body += padded
    head = struct.pack(
        ">I4sI4s4s4s12s4s", 0, b"none", 0x02100000, b"mntr", b"RGB ", b"XYZ ", bytes(12), b"acsp"
    ) + bytes(28)
    head += struct.pack(">3i", 63190, 65536, 54061) + bytes(48)
    whole = head + table + body
    return struct.pack(">I", len(whole)) + whole[4:]


def test_a_colour_profile_is_followed(tmp_path):
    # In a linear profile 128 of 255 is half the light, which is 188 in sRGB.
    profile = linear_profile()
    grey = Image.new("RGB", (80, 80), (128, 128, 128))
    plain = read_bytes(tmp_path, as_bytes(grey, "PNG"))
    other = read_bytes(tmp_path, as_bytes(grey, "PNG", icc_profile=profile))
    assert plain.profile == ""
    assert other.profile == "linear"
    np.testing.assert_allclose(plain.pixels[40, 40], 128, atol=0)
    np.testing.assert_allclose(other.pixels[40, 40].astype(int), 188, atol=1)


def test_a_damaged_profile_is_passed_over(tmp_path):
    photo = read_bytes(tmp_path, as_bytes(picture(), "PNG", icc_profile=b"\0" * 400))
    assert photo.profile == ""
    np.testing.assert_array_equal(photo.pixels, np.asarray(picture()))


def test_large_photos_are_made_small_and_keep_their_size(tmp_path):
    large = picture().resize((4200, 2800))
    photo = read_bytes(tmp_path, as_bytes(large, "JPEG", quality=50))
    assert photo.full_size == (4200, 2800)
    assert 1400 <= photo.pixels.shape[1] <= 2100
    assert photo.scale == pytest.approx(4200 / photo.pixels.shape[1])


def test_raw_files_are_read_by_the_preview_in_them(tmp_path):
    photo = read_bytes(tmp_path, raw_file(picture().resize((360, 240))), "shot.dng")
    assert photo.kind == "raw preview"
    assert photo.full_size == (640, 480)
    assert photo.pixels.shape == (240, 360, 3)
    assert photo.pixels[30, 30, 0] > photo.pixels[30, 30, 2] + 60
    assert photo.facts.camera == "Quillmere One"
    assert photo.facts.taken == ""  # the camera said nothing of it


def bomb() -> bytes:
    """A small PNG that says it has 400 million pixels."""
    small = bytearray(as_bytes(Image.new("1", (64, 64)), "PNG"))
    small[16:24] = struct.pack(">2I", 20_000, 20_000)
    small[29:33] = struct.pack(">I", zlib.crc32(bytes(small[12:29])))
    return bytes(small)


BROKEN = {
    "empty": (lambda: b"", "is empty"),
    "text": (lambda: b"not a picture at all", "no picture"),
    "GIF": (lambda: b"GIF89a" + b"\0" * 60, "a GIF picture"),
    "PDF": (lambda: b"%PDF-1.7 " + b"\0" * 60, "a PDF"),
    "cut JPEG": (lambda: FILES["JPEG"]()[:900], "damaged or cut short"),
    "cut PNG": (lambda: FILES["PNG"]()[:150], "damaged or cut short"),
    "cut HEIC": (lambda: FILES["HEIC"]()[:600], "damaged or cut short"),
    "only a start": (lambda: b"\xff\xd8\xff\xe0", "damaged or cut short"),
    "too many pixels": (bomb, "20000 x 20000 pixels"),
    "too small": (lambda: as_bytes(Image.new("RGB", (20, 20)), "PNG"), "only 20 x 20"),
    "broken raw": (lambda: b"FUJIFILMCCD-RAW " + b"\0" * 300, "damaged or cut short"),
}


@pytest.mark.parametrize("case", BROKEN)
def test_what_cannot_be_read_is_one_clear_line(case, tmp_path):
    made, said = BROKEN[case]
    with pytest.raises(FileError) as caught:
        read_bytes(tmp_path, made())
    text = str(caught.value)
    assert said in text
    assert "\n" not in text
    assert ";" in text  # and what to do next


def test_a_folder_and_a_missing_file_are_said_to_be_such(tmp_path):
    with pytest.raises(FileError, match="is a folder"):
        read_photo(tmp_path)
    with pytest.raises(FileError, match="no such file"):
        read_photo(tmp_path / "none.jpg")


@given(
    kind=st.sampled_from(["JPEG", "JPEG with Exif", "PNG", "TIFF", "WebP", "HEIC", "raw"]),
    cut=st.floats(0.0, 1.0),
    changes=st.lists(st.tuples(st.floats(0.0, 1.0), st.integers(0, 255)), max_size=6),
)
def test_no_damage_does_anything_but_refuse_or_read(tmp_path_factory, kind, cut, changes):
    data = bytearray(SOUND[kind])
    for where, value in changes:
        data[int(where * (len(data) - 1))] = value
    path = tmp_path_factory.mktemp("fuzz") / "photo.jpg"
    path.write_bytes(bytes(data[: max(int(cut * 1.2 * len(data)), 1)]))
    before = path.read_bytes()
    said, photo = "", None
    try:
        photo = read_photo(path)
    except FileError as error:
        said = str(error)
    assert "\n" not in said
    assert said or (photo.pixels.ndim == 3 and photo.pixels.dtype == np.uint8)
    assert path.read_bytes() == before


def with_exif() -> bytes:
    exif = Image.Exif()
    exif[0x0112], exif[0x0110] = 6, "Quillmere One"
    own = exif.get_ifd(0x8769)
    own[0x829A], own[0x829D] = IFDRational(1, 160), IFDRational(8)
    return as_bytes(picture(), "JPEG", exif=exif)


SOUND = {kind: FILES[kind]() for kind in ("JPEG", "PNG", "TIFF", "WebP", "HEIC")}
SOUND |= {"JPEG with Exif": with_exif(), "raw": raw_file(picture(), size=(64, 48))}


@given(start=st.binary(max_size=24), rest=st.binary(max_size=400))
def test_no_made_up_exif_or_preview_does_anything_but_refuse_or_read(tmp_path_factory, start, rest):
    block = b"Exif\0\0" + start + rest
    exif = b"\xff\xe1" + struct.pack(">H", len(block) + 2) + block
    sound = SOUND["JPEG"]
    for data in (sound[:2] + exif + sound[2:], b"II*\0" + start + rest):
        path = tmp_path_factory.mktemp("fuzz") / "photo.jpg"
        path.write_bytes(data)
        said, photo = "", None
        try:
            photo = read_photo(path)
        except FileError as error:
            said = str(error)
        assert "\n" not in said
        assert said or photo.pixels.dtype == np.uint8


def test_linear_light_has_the_ends_and_the_middle_of_srgb():
    codes = np.array([0, 118, 255], dtype=np.uint8)
    np.testing.assert_allclose(linear_light(codes), [0.0, 0.181, 1.0], atol=5e-4)
    assert luminance(np.array([255, 255, 255], dtype=np.uint8)) == pytest.approx(1.0, abs=1e-6)
    assert (np.diff(linear_light(np.arange(256, dtype=np.uint8))) > 0).all()
