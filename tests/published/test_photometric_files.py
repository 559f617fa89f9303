"""Photometric files are read as their formats say, and lamps are summed up as handbooks do."""

import numpy as np
import pytest

from tapemark.photometry import (
    beam_angle_rad,
    distribution_from_table,
    luminous_flux,
    zonal_flux,
)
from tapemark.store import read_luminaire

FOOT_M = 0.3048


@pytest.fixture
def read(tmp_path):
    """Read a lamp from the text of a file with that ending."""

    def reader(text, *, ending):
        path = tmp_path / f"lamp{ending}"
        path.write_bytes(text if isinstance(text, bytes) else text.encode("iso-8859-1"))
        return read_luminaire(path)

    return reader


def ies(heading="IESNA:LM-63-2002", *, numbers="1 -1 1 3 1 1 2 0 0 0", later="1 1 50", **more):
    angles = more.get("angles", "0 45 90\n0")
    lines = [heading, "[LUMINAIRE] ours", more.get("tilt", "TILT=NONE"), numbers, later, angles]
    return "\n".join(line for line in [*lines, more.get("candela", "100 80 0")] if line)


# SOURCE    [lm-63-2002] first lines of the five editions
# ASSUMES   1986 has no such line
# PRINTED   heading, year
HEADINGS = [
    ("", 1986),
    ("IESNA91", 1991),
    ("IESNA:LM-63-1995", 1995),
    ("IESNA:LM-63-2002", 2002),
    ("IES:LM-63-2019", 2019),
]


@pytest.mark.parametrize(("heading", "year"), HEADINGS)
def test_ies_edition_is_known_by_its_first_line(read, heading, year):
    lamp = read(ies(heading), ending=".ies")
    assert (lamp.source, lamp.name) == (f"IES LM-63-{year}", "ours")


# SOURCE    [lm-63-2002] type of photometry
# PRINTED   number, letter
@pytest.mark.parametrize(("number", "letter"), [(1, "C"), (2, "B"), (3, "A")])
def test_ies_types_of_photometry(read, number, letter):
    text = ies(
        numbers=f"1 -1 1 3 2 {number} 2 0 0 0", angles="0 45 90\n0 90", candela="9 8 7 6 5 4"
    )
    lamp = read(text, ending=".ies")
    assert lamp.photometry == letter
    assert lamp.candela == ((9.0, 8.0, 7.0), (6.0, 5.0, 4.0))


# SOURCE    [lm-63-2002] units of the sizes
# PRINTED   1 feet, 2 metres; 1 ft = 0.3048 m
@pytest.mark.parametrize(("number", "unit_m"), [(1, FOOT_M), (2, 1.0)])
def test_ies_units_of_the_opening(read, number, unit_m):
    lamp = read(ies(numbers=f"1 -1 1 3 1 1 {number} 0.5 2 0.1"), ending=".ies")
    found = (lamp.opening_c90_m, lamp.opening_c0_m, lamp.opening_depth_m)
    np.testing.assert_allclose(found, np.array([0.5, 2.0, 0.1]) * unit_m, rtol=1e-12)
    assert lamp.opening_shape == "rectangle"


# SOURCE    [photompy] table of signs, after LM-63-19 table 1; the last from memory
# PRINTED   width, length, height; shape; our sizes along the angles 0 and 90
OPENINGS = [
    ("0 0 0", "rectangle", 0.0, 0.0),
    ("0.3 0.6 0", "rectangle", 0.6, 0.3),
    ("-0.3 -0.3 0", "round", 0.3, 0.3),
    ("-0.3 -0.6 0", "round", 0.6, 0.3),
    ("-0.2 1.2 -0.2", "rectangle", 1.2, 0.2),
    ("-0.3 0 0", "round", 0.3, 0.3),
]


@pytest.mark.parametrize(("sizes", "shape", "along_m", "across_m"), OPENINGS)
def test_ies_signs_tell_the_shape_of_the_opening(read, sizes, shape, along_m, across_m):
    lamp = read(ies(numbers=f"1 -1 1 3 1 1 2 {sizes}"), ending=".ies")
    assert lamp.opening_shape == shape
    assert (lamp.opening_c0_m, lamp.opening_c90_m) == (along_m, across_m)


# SOURCE    [lm-63-2002] factors; that of 1995 from memory
# PRINTED   multiplier 2, ballast factor 0.5, second number 0.8: a factor of 1, before 2002 0.8
@pytest.mark.parametrize(("year", "factor"), [(1995, 0.8), (2002, 1.0), (2019, 1.0)])
def test_ies_factors_scale_the_intensities(read, year, factor):
    text = ies(f"IESNA:LM-63-{year}", numbers="1 500 2 3 1 1 2 0 0 0", later="0.5 0.8 50")
    lamp = read(text, ending=".ies")
    np.testing.assert_allclose(lamp.candela, [[100 * factor, 80 * factor, 0]], rtol=1e-12)
    assert lamp.lamp_lumens == 500.0
    assert lamp.mains_w == 50.0


def test_ies_minus_one_lumen_is_absolute(read):
    # SOURCE    [lm-63-2002] lumens per lamp
    # PRINTED   -1 for absolute photometry
    assert read(ies(), ending=".ies").lamp_lumens is None
    lamp = read(ies(numbers="3 400 1 3 1 1 2 0 0 0"), ending=".ies")
    assert lamp.lamp_lumens == 1200.0


# SOURCE    [lm-63-2002] delimiters, and the four lines of TILT=INCLUDE
# PRINTED   comma, spaces, CR/LF; how the lamp sits, number of pairs, angles, factors
SAME = [
    ies().replace("\n", "\r\n").encode(),
    ies(numbers="1,-1,1,3,1,1,2,0,0,0", later="1, 1, 50").encode(),
    ies(
        numbers="1 -1\n1 3\n1 1 2\n0 0 0 1", later="1 50 0", angles="45 90\n0 100", candela="80 0"
    ).encode(),
    ies(tilt="TILT=INCLUDE\n1\n3\n0 45 90\n1 0.9 0.8").encode(),
    ies(tilt="TILT=lamp.tlt").encode(),
    b"\xef\xbb\xbf" + ies().encode() + b"\r\n\x1a",
]


@pytest.mark.parametrize("raw", SAME)
def test_ies_delimiters_and_tilt_change_nothing(read, raw):
    assert read(raw, ending=".ies") == read(ies(), ending=".ies")


# SOURCE    [lm-63-2002] what the last horizontal angle stands for
# PRINTED   0 the same all round, 90 each quarter, 180 and 90 to 270 each half, 360 all
# A lamp of 1 + horizontal angle/100 cd, asked at three angles that each symmetry folds.
PLANES = [
    ([0.0], (1.0, 1.0, 1.0)),
    ([0.0, 90.0], (1.3, 1.3, 1.6)),  # 30, 150 -> 30, 300 -> 60
    ([0.0, 180.0], (1.3, 2.5, 1.6)),  # 30, 150, 300 -> 60
    ([90.0, 270.0], (2.5, 2.5, 3.4)),  # 30 -> 150, 150, 300 -> 240
    ([0.0, 360.0], (1.3, 2.5, 4.0)),
]


@pytest.mark.parametrize(("horizontal", "expected"), PLANES)
def test_ies_symmetry_by_the_last_horizontal_angle(read, horizontal, expected):
    rows = " ".join(f"{1 + angle / 100:g} " * 3 for angle in horizontal)
    angles = f"0 90 180\n{' '.join(f'{angle:g}' for angle in horizontal)}"
    numbers = f"1 -1 1 3 {len(horizontal)} 1 2 0 0 0"
    lamp = read(ies(numbers=numbers, angles=angles, candela=rows), ending=".ies")
    around = np.deg2rad([30.0, 150.0, 300.0])
    aside = np.stack([np.cos(around), np.zeros(3), np.sin(around)], axis=-1)
    np.testing.assert_allclose(shine(lamp).intensity(aside), expected, rtol=1e-12)


def eulumdat(symmetry, planes, rows, **more):
    """The text of a EULUMDAT file with the angles 0, 90 and 180."""
    lines = ["maker", 1, symmetry, len(planes), 360 / len(planes), 3, 90, "report", "ours"]
    lines += [
        "number",
        "file",
        "date",
        500,
        300,
        80,
        *more.get("opening", (400, 200, 10, 30, 20, 0)),
    ]
    lines += [100, 80, more.get("factor", 1), 0, 1, more.get("lamps", 2), "LED"]
    lines += [more.get("lumens", 2000), "5600 K", "95", 60, *[0.5] * 10, *planes, 0, 90, 180]
    return "\r\n".join(str(line) for line in [*lines, *(one for row in rows for one in row)])


# SOURCE    [stockmar-1990] Isym and the planes that are filed for it
# PRINTED   0 none: all; 1 about the axis: one; 2 C0-C180: C0 to C180; 3 C90-C270: C270 to C90;
#           4 both: C0 to C90
# A lamp of 100 + C cd per 1000 lm where nothing folds; asked at C 45, 135 and 300 as above.
FILED = [
    (0, [0, 90, 180, 270], (145.0, 235.0, 370.0 * 2 / 3 + 100.0 / 3)),  # C360 is C0
    (1, [0], (100.0, 100.0, 100.0)),
    (2, [0, 90, 180], (145.0, 235.0, 160.0)),
    (3, [270, 0, 90], (145.0, 145.0, 370.0 * 2 / 3 + 100.0 / 3)),
    (4, [0, 90], (145.0, 145.0, 160.0)),
]


@pytest.mark.parametrize(("symmetry", "filed", "expected"), FILED)
def test_eulumdat_symmetries(read, symmetry, filed, expected):
    rows = [[100 + plane] * 3 for plane in filed]
    lamp = read(eulumdat(symmetry, [0, 90, 180, 270], rows), ending=".ldt")
    around = np.deg2rad([45.0, 135.0, 300.0])
    aside = np.stack([np.cos(around), np.zeros(3), np.sin(around)], axis=-1)
    found = shine(lamp).intensity(aside) / 2.0  # the lamps give 2000 lm
    np.testing.assert_allclose(found, expected, rtol=1e-12)


def test_eulumdat_intensities_are_per_thousand_lumens(read):
    # SOURCE    [stockmar-1990] intensities in cd/klm, the conversion factor; absolute from memory
    # PRINTED   cd per 1000 lm of the lamps
    rows = [[100, 50, 0]]
    lamp = read(eulumdat(1, [0], rows, factor="0,9", lumens="2000,0"), ending=".ldt")
    np.testing.assert_allclose(lamp.candela, [[180.0, 90.0, 0.0]], rtol=1e-12)
    assert (lamp.lamp_lumens, lamp.mains_w, lamp.source) == (2000.0, 60.0, "EULUMDAT")
    assert read(eulumdat(1, [0], rows, lamps=-1), ending=".ldt").lamp_lumens is None


def test_eulumdat_opening_in_millimetres(read):
    # SOURCE    [stockmar-1990] sizes in mm, width 0 for a round one; that C0 is across from memory
    # PRINTED   length 400, width 200, heights 10 30 20 0
    lamp = read(eulumdat(1, [0], [[1, 1, 1]]), ending=".ldt")
    found = (lamp.opening_c0_m, lamp.opening_c90_m, lamp.opening_depth_m)
    np.testing.assert_allclose(found, (0.2, 0.4, 0.03), rtol=1e-12)
    opening = (250, 0, 0, 0, 0, 0)
    disc = read(eulumdat(1, [0], [[1, 1, 1]], opening=opening), ending=".ldt")
    assert (disc.opening_shape, disc.opening_c0_m, disc.opening_c90_m) == ("round", 0.25, 0.25)


def test_eulumdat_is_iso_8859_1(read):
    # SOURCE    [stockmar-1990] ISO-8859-1
    text = eulumdat(1, [0], [[1, 1, 1]]).replace("ours", "Strahler für Köpfe")
    assert read(text, ending=".ldt").name == "Strahler für Köpfe"


# SOURCE    [lighting-handbook] zonal constants for zones of 10 degrees (from memory)
# ASSUMES   the same intensity all over a zone, here 1 cd all over
# PRINTED   from [deg], light for each candela [lm]
ZONES = [
    (0, 0.095),
    (10, 0.283),
    (20, 0.463),
    (30, 0.628),
    (40, 0.774),
    (50, 0.897),
    (60, 0.993),
    (70, 1.058),
    (80, 1.091),
]


@pytest.mark.parametrize(("start_deg", "constant"), ZONES)
def test_zonal_constants(start_deg, constant):
    even = table([0.0, 90.0, 180.0], [[1.0, 1.0, 1.0]])
    edges = np.deg2rad([start_deg, start_deg + 10])
    np.testing.assert_allclose(zonal_flux(even, edges_rad=edges), constant, rtol=0, atol=0.5e-3)


def test_even_lamp_gives_four_pi():
    even = table([0.0, 90.0, 180.0], [[7.0, 7.0, 7.0]])
    np.testing.assert_allclose(luminous_flux(even), 4 * np.pi * 7.0, rtol=1e-14)


# SOURCE    [lighting-handbook] beam angle to half, field angle to a tenth (from memory)
# ASSUMES   intensity a power of the cosine: full angle 2 acos(share^(1/power))
@pytest.mark.parametrize("power", [1.0, 2.0, 10.0, 80.0])
@pytest.mark.parametrize("share", [0.5, 0.1])
def test_beam_and_field_angle_of_a_power_of_the_cosine(power, share):
    angles = np.linspace(0.0, 90.0, 361)
    lamp = table(angles, [np.cos(np.deg2rad(angles)) ** power])
    expected = 2 * np.arccos(share ** (1 / power))
    found = beam_angle_rad(lamp, share=share)
    np.testing.assert_allclose(found, expected, rtol=0, atol=np.deg2rad(0.02))


def table(vertical_deg, candela):
    return distribution_from_table(
        candela, photometry="C", vertical_rad=np.deg2rad(vertical_deg), horizontal_rad=[0.0]
    )


def shine(lamp):
    return distribution_from_table(
        lamp.candela,
        photometry=lamp.photometry,
        vertical_rad=np.deg2rad(lamp.vertical_deg),
        horizontal_rad=np.deg2rad(lamp.horizontal_deg),
    )
