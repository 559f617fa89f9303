"""Whatever is in a photometric file, it is read, or refused in one way that helps."""

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.errors import FileError, SetupError
from tapemark.photometry import distribution_from_table, luminous_flux, zonal_flux
from tapemark.store import LARGEST_PHOTOMETRIC_FILE, read_luminaire, read_setup
from tapemark.studio import Luminaire, setup_from_mapping, setup_to_mapping, setup_to_toml

IES = """IESNA:LM-63-2002
[TEST] 1
[LUMINAIRE] reading-room spot
TILT=NONE
1 1000 1 4 3 1 2 0.1 0.2 0
1 1 40
0 30 60 90
0 45 90
900 500 100 0
900 400 80 0
900 300 60 0
"""
TILTED = IES.replace("TILT=NONE", "TILT=INCLUDE\n1\n3\n0 45 90\n1 0.9 0.8")
_LDT = (
    "maker 1 4 4 90 3 45 report panel number file date 500 300 80 400 200 0 0 0 0 100 80 1 0 1 "
    "1 LED 2000 5600 95 40 0 0 0 0 0 0 0 0 0 0 0 90 180 270 0 45 90 500 300 0 500 200 0"
)
LDT = _LDT.replace(" ", "\n")
FILES = {"spot.ies": IES, "tilted.ies": TILTED, "panel.ldt": LDT}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("lamps")


def read(folder, name, text):
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_luminaire(path)


def with_line(text, number, line):
    lines = text.split("\n")
    lines[number - 1] = line
    return "\n".join(lines)


# What is broken, in which file, and the line and words that the message must have.
BROKEN = [
    ("spot.ies", with_line(IES, 4, "TILT"), 4, "TILT=NONE"),
    ("spot.ies", with_line(IES, 4, "TILT NONE"), 4, "TILT=NONE"),
    ("spot.ies", IES.replace("TILT=NONE\n", ""), 10, "the end of the file"),
    ("spot.ies", with_line(IES, 5, "1 1000 1 4 3 4 2 0 0 0"), 5, "photometry (1 C, 2 B, 3 A)"),
    ("spot.ies", with_line(IES, 5, "1 1000 1 4 3 1 3 0 0 0"), 5, "unit of lengths"),
    ("spot.ies", with_line(IES, 5, "1 1000 0 4 3 1 2 0 0 0"), 5, 'found "0"'),
    ("spot.ies", with_line(IES, 5, "1 1000 1 4.5 3 1 2 0 0 0"), 5, "a whole number"),
    ("spot.ies", with_line(IES, 5, "1 1000 1 999999 3 1 2 0 0 0"), 5, "from 2 to 721"),
    ("spot.ies", with_line(IES, 5, "1 1000 1 721 721 1 2 0 0 0"), 6, "721 x 721 intensities"),
    ("spot.ies", with_line(IES, 5, "1 1000 1 4 3 1 2 0 x 0"), 5, 'found "x"'),
    ("spot.ies", with_line(IES, 7, "0 30 30 90"), 7, "30 after 30"),
    ("spot.ies", with_line(IES, 7, "5 30 60 90"), 7, "from 0 or 90 on"),
    ("spot.ies", with_line(IES, 7, "0 30 60 190"), 7, "from 0 to 180"),
    ("spot.ies", with_line(IES, 8, "0 45 80"), 8, "0 to 90, 0 to 180"),
    ("spot.ies", with_line(IES, 10, "900 400 -80 0"), 10, 'found "-80"'),
    ("spot.ies", with_line(IES, 10, "900 nan 80 0"), 10, 'found "nan"'),
    ("spot.ies", with_line(IES, 10, "900 1e999 80 0"), 10, 'found "1e999"'),
    ("spot.ies", with_line(IES, 10, "900 400 80"), 11, "the end of the file"),
    ("spot.ies", with_line(IES, 10, "900 400 80 0 7"), 11, "nothing more"),
    ("spot.ies", IES.replace("900 500 100 0\n900 400 80 0\n900 300 60 0", "0 " * 12), 9, "above 0"),
    ("tilted.ies", with_line(TILTED, 5, "4"), 5, "how the lamp sits"),
    ("tilted.ies", with_line(TILTED, 7, "0 45 40"), 7, "40 after 45"),
    ("tilted.ies", with_line(TILTED, 8, "1 x 0.8"), 8, "factor for a tilt"),
    ("panel.ldt", with_line(LDT, 3, "5"), 3, "symmetry, a whole number from 0 to 4"),
    ("panel.ldt", with_line(LDT, 4, "6"), 4, "a multiple of 4 for symmetry 4"),
    ("panel.ldt", with_line(LDT, 6, "1"), 6, "number of angles"),
    ("panel.ldt", with_line(LDT, 17, "wide"), 17, "width of the opening"),
    ("panel.ldt", with_line(LDT, 26, "0"), 26, "number of lamp sets"),
    ("panel.ldt", with_line(LDT, 29, "0"), 29, "lumens of the lamps"),
    ("panel.ldt", with_line(LDT, 29, ""), 29, "an empty line"),
    ("panel.ldt", with_line(LDT, 44, "0"), 44, "0 after 0"),
    ("panel.ldt", with_line(LDT, 44, "80"), 46, "from 0 to 90 for symmetry 4"),
    ("panel.ldt", with_line(LDT, 47, "10"), 49, "from 0 or 90 on"),
    ("panel.ldt", LDT.rsplit("\n", 1)[0], 54, "the end of the file"),
    ("panel.ldt", f"{LDT}\n3", 56, "nothing more"),
    ("spot.ies", "", 1, "TILT=NONE"),
    ("panel.ldt", "", 1, "the end of the file"),
    ("panel.ldt", IES, 3, "symmetry"),
    ("spot.ies", LDT, 55, "the end of the file"),
]


@pytest.mark.parametrize(("name", "text", "line", "words"), BROKEN)
def test_malformed_file_is_refused_with_its_line(folder, name, text, line, words):
    with pytest.raises(FileError) as refused:
        read(folder, name, text)
    message = str(refused.value)
    assert name in message
    assert "allowed: " in message
    assert words in message
    assert f"line {line}: found " in message


@pytest.mark.parametrize("name", FILES)
@given(data=st.data())
def test_mutated_files_raise_nothing_but_the_one_error(folder, name, data):
    raw = bytearray(FILES[name].encode())
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(raw) - 1))
        new = data.draw(
            st.one_of(
                st.binary(max_size=4),
                st.sampled_from([b"-1", b"1e9", b"\n", b",", b" 0 ", b"9" * 50, b".", b"\x00"]),
            )
        )
        raw[at : at + data.draw(st.integers(0, 6))] = new
        raw = raw or bytearray(b" ")
    assert is_read_or_refused(folder, name, bytes(raw))


@pytest.mark.parametrize("name", FILES)
@given(raw=st.binary(max_size=300))
def test_anything_at_all_is_read_or_refused(folder, name, raw):
    assert is_read_or_refused(folder, name, raw)


@pytest.mark.parametrize("name", FILES)
def test_a_file_cut_off_anywhere_is_refused_or_whole(folder, name):
    text = FILES[name].rstrip()
    whole = read(folder, name, text)
    for end in range(0, len(text), 7):
        assert is_read_or_refused(folder, name, text[:end].encode())
    assert read(folder, name, text) == whole


def is_read_or_refused(folder, name, raw):
    try:
        return isinstance(read(folder, name, raw), Luminaire)
    except FileError as error:
        return name in str(error) and "; " in str(error)


STEPS = st.integers(2, 9)
CANDELA = st.floats(0.0, 1e6).map(lambda value: float(f"{value:.6g}"))


@st.composite
def lamps(draw, photometry="C"):
    """Luminaires with any symmetry that a file can say."""
    vertical = np.linspace(0.0, draw(st.sampled_from([90.0, 180.0])), draw(STEPS))
    first, last = draw(st.sampled_from([(0, 0), (0, 90), (0, 180), (90, 270), (0, 360)]))
    horizontal = np.linspace(first, last, 1 if first == last else draw(STEPS))
    rows = [[draw(CANDELA) for _ in vertical] for _ in horizontal]
    rows[0][0] = draw(st.floats(1.0, 1e6))
    return Luminaire(
        name="lamp",
        photometry=photometry,
        vertical_deg=tuple(vertical),
        horizontal_deg=tuple(horizontal),
        candela=tuple(tuple(row) for row in rows),
        opening_c0_m=draw(st.sampled_from([0.0, 0.25])),
        opening_c90_m=draw(st.sampled_from([0.0, 0.5])),
    )


def ies_of(lamp):
    """The text of the IES file that describes a lamp."""
    counts = f"{len(lamp.vertical_deg)} {len(lamp.horizontal_deg)}"
    number = {"C": 1, "B": 2, "A": 3}[lamp.photometry]
    lines = ["IESNA:LM-63-2002", "TILT=NONE"]
    lines += [f"1 -1 1 {counts} {number} 2 {lamp.opening_c90_m} {lamp.opening_c0_m} 0", "1 1 0"]
    rows = [lamp.vertical_deg, lamp.horizontal_deg, *lamp.candela]
    return "\n".join([*lines, *(" ".join(map(repr, row)) for row in rows)])


@given(lamp=lamps())
def test_a_lamp_survives_its_ies_file(folder, lamp):
    again = read(folder, "again.ies", ies_of(lamp))
    assert again.model_copy(update={"source": ""}) == lamp


@given(lamp=lamps())
def test_a_lamp_survives_a_setup_in_json(lamp):
    data = setup_data({"kind": "continuous", "luminaire": inline(lamp)})
    setup = setup_from_mapping(data)
    assert setup.lights[0].head.luminaire == lamp
    assert setup_from_mapping(setup_to_mapping(setup)) == setup


def shine(lamp):
    return distribution_from_table(
        lamp.candela,
        photometry=lamp.photometry,
        vertical_rad=np.deg2rad(lamp.vertical_deg),
        horizontal_rad=np.deg2rad(lamp.horizontal_deg),
    )


def towards(seed, count=60):
    directions = np.random.default_rng(seed).normal(size=(count, 3))
    return directions / np.linalg.norm(directions, axis=-1, keepdims=True)


@given(lamp=lamps(), seed=st.integers(0, 1000))
def test_intensity_lies_between_the_least_and_the_most_of_the_table(lamp, seed):
    found = shine(lamp).intensity(towards(seed))
    assert np.all(found >= 0.0)
    assert np.all(found <= np.max(lamp.candela) * (1 + 1e-12))


@given(lamp=lamps(), seed=st.integers(0, 1000))
def test_symmetry_of_the_table_is_that_of_the_light(lamp, seed):
    last = lamp.horizontal_deg[-1]
    across, out, up = np.moveaxis(towards(seed), -1, 0)
    mirrors = {0.0: ["x", "z"], 90.0: ["x", "z"], 180.0: ["z"], 270.0: ["x"], 360.0: []}[last]
    light = shine(lamp)
    for axis in mirrors:
        image = np.stack([-across if axis == "x" else across, out, -up if axis == "z" else up], -1)
        there = light.intensity(np.stack([across, out, up], axis=-1))
        np.testing.assert_allclose(light.intensity(image), there, rtol=1e-9, atol=1e-6)


@given(lamp=lamps())
def test_zones_add_up_to_all_the_light(lamp):
    light = shine(lamp)
    zones = zonal_flux(light, edges_rad=np.deg2rad([0.0, 13.0, 45.0, 90.0, 118.0, 180.0]))
    np.testing.assert_allclose(zones.sum(), luminous_flux(light), rtol=1e-9)
    assert np.all(zones >= -1e-9 * zones.sum())


@pytest.mark.parametrize("shape", [(3,), (6, 3), (2, 3, 3)])
@pytest.mark.parametrize("photometry", ["A", "B", "C"])
def test_kernel_keeps_leading_axes_and_nan(shape, photometry):
    lamp = distribution_from_table(
        [[5.0, 3.0], [4.0, 2.0]],
        photometry=photometry,
        vertical_rad=[0.0, 1.5],
        horizontal_rad=[0.0, np.pi / 2],
    )
    directions = towards(1, 18)[: int(np.prod(shape)) // 3].reshape(shape)
    one_by_one = [float(lamp.intensity(one)) for one in directions.reshape(-1, 3)]
    np.testing.assert_allclose(lamp.intensity(directions).ravel(), one_by_one, rtol=1e-15)
    assert np.isnan(lamp.intensity(directions * np.nan)).all()
    assert lamp.intensity(np.empty((0, 3))).shape == (0,)


def test_wrong_shape_and_zones_about_another_axis_are_misuse():
    angles = {"vertical_rad": [0.0, 1.0], "horizontal_rad": [0.0, 1.0]}
    with pytest.raises(ValueError, match="intensities for"):
        distribution_from_table([[1.0, 2.0]], photometry="C", **angles)
    spot = distribution_from_table([[1.0, 2.0], [3.0, 4.0]], photometry="B", **angles)
    with pytest.raises(ValueError, match="type C"):
        zonal_flux(spot, edges_rad=[0.0, 1.0])


# Setups that name a file.


def setup_data(head, modifier=None):
    light = {
        "name": "key",
        "head": head,
        "modifier": modifier or {"kind": "bare", "diameter": "0.2 m"},
        "place": {"distance": "1.5 m", "side": "40 deg camera-left", "height": "1.8 m"},
    }
    return {
        "room": {"width": "5.4 m", "length": "7 m", "height": "2.75 m"},
        "camera": {"place": {"distance": "2 m", "height": "1.2 m"}, "focal_length": "85 mm"},
        "light": [light],
    }


def inline(lamp):
    return lamp.model_dump(mode="json", by_alias=True, exclude_unset=True)


def toml(file_name, more=""):
    return f"""
room = {{ width = "5.4 m", length = "7 m", height = "2.75 m" }}
[camera]
place = {{ distance = "2 m", height = "1.2 m" }}
focal_length = "85 mm"
[[light]]
name = "key"
head = {{ kind = "continuous", photometric_file = "{file_name}"{more} }}
modifier = {{ kind = "bare", diameter = "0.2 m" }}
place = {{ distance = "1.5 m", side = "40 deg camera-left", height = "1.8 m" }}
"""


@pytest.fixture
def rig(tmp_path):
    """A folder with a setup file and a lamp's file, and the reading of the setup."""
    (tmp_path / "lamps").mkdir()

    def reading(file_name, *, more="", lamp=IES, at="spot.ies"):
        (tmp_path / at).write_text(lamp)
        (tmp_path / "setup.toml").write_text(toml(file_name, more))
        return read_setup(tmp_path / "setup.toml")

    return SimpleNamespace(read=reading, folder=tmp_path)


@pytest.mark.parametrize("name", ["spot.ies", "lamps/spot.ies", "lamps/../spot.IES"])
def test_setup_gets_the_lamp_of_the_file_beside_it(rig, name):
    setup = rig.read(name, at=name.replace("lamps/..", "lamps/.."))
    head = setup.lights[0].head
    assert head.luminaire.name == "reading-room spot"
    assert head.photometric_file == name


def test_setup_with_its_lamp_needs_no_file_any_more(rig):
    setup = rig.read("spot.ies")
    (rig.folder / "spot.ies").unlink()
    (rig.folder / "again.toml").write_text(setup_to_toml(setup))
    assert read_setup(rig.folder / "again.toml") == setup


def test_missing_file_is_one_error_with_the_key_of_the_light(rig):
    with pytest.raises(SetupError) as refused:
        rig.read("other.ies")
    (problem,) = refused.value.problems
    assert problem.key == 'light[1] "key" head.photometric_file'
    assert "other.ies" in problem.given
    assert "there is no such file" in problem.given


def test_malformed_file_is_one_error_with_its_line(rig):
    with pytest.raises(SetupError) as refused:
        rig.read("spot.ies", lamp=IES.replace("0 45 90\n", "0 45 80\n"))
    (problem,) = refused.value.problems
    assert problem.key == 'light[1] "key" head.photometric_file'
    assert problem.given.startswith('"spot.ies": line 8: found horizontal angles from 0 to 80')


@pytest.mark.parametrize("name", ["setup.toml", "spot.txt", "spot", ".ies/"])
def test_other_files_are_not_opened(rig, name):
    with pytest.raises(SetupError) as refused:
        rig.read(name)
    assert "photometric_file" in str(refused.value)
    assert "reading-room" not in str(refused.value)


def test_too_large_a_file_and_a_folder_are_refused(tmp_path):
    large = tmp_path / "large.ies"
    large.write_bytes(b" " * (LARGEST_PHOTOMETRIC_FILE + 1))
    with pytest.raises(FileError, match="larger than 1000 kB"):
        read_luminaire(large)
    (tmp_path / "folder.ldt").mkdir()
    with pytest.raises(FileError, match="is a folder"):
        read_luminaire(tmp_path / "folder.ldt")
    with pytest.raises(FileError, match="no photometric file by its name"):
        read_luminaire(tmp_path / "lamp.txt")


# What a lamp that is typed into a setup may not be.
MISFITS = [
    ({"vertical": [5, 90]}, "vertical"),
    ({"vertical": [0, 0]}, "follows 0"),
    ({"vertical": [0, "x"]}, "plain numbers|in place of 'x'"),
    ({"vertical": 3}, "a list of plain numbers"),
    ({"horizontal": [0, 45]}, "0 alone, 0 to 90"),
    ({"candela": [[1.0]]}, "2 intensities in each row"),
    ({"candela": [[1.0, 1.0], [2.0, 2.0]]}, "1 row, one for each horizontal angle"),
    ({"candela": [[0.0, 0.0]]}, "at least one intensity above 0"),
    ({"candela": [[-1.0, 0.0]]}, "in place of -1"),
    ({"candela": [["9", 0.0]]}, "in place of '9'"),
    ({"photometry": "B"}, "from 0, or from -90"),
]


@pytest.mark.parametrize(("change", "words"), MISFITS)
def test_lamp_typed_into_a_setup_is_checked(change, words):
    lamp = {"vertical": [0, 90], "horizontal": [0], "candela": [[100.0, 0.0]], **change}
    with pytest.raises(SetupError, match=words) as refused:
        setup_from_mapping(setup_data({"kind": "continuous", "luminaire": lamp}))
    assert "head.luminaire" in str(refused.value)
