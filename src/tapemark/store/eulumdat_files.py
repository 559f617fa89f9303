"""EULUMDAT files: a lamp's intensities as European laboratories write them, a value on each line.

Intensities are in candela for each 1000 lumens of the lamps. The order of the lines: maker, type,
symmetry, planes and their step, angles and their step, report, name, number, file, date (1 to
12); length, width and height of the luminaire, then of its opening in millimetres (13 to 21);
downward share, light output ratio, factor, tilt, number of lamp sets (22 to 26); six lines for
each set of lamps; ten direct ratios; the planes; the angles; the intensities.
"""

from dataclasses import dataclass

from tapemark.store.luminaire_table import (
    LARGEST_OPENING_M,
    MOST_ANGLES,
    MOST_LUMENS,
    MOST_WATTS,
    check_size,
    label,
    positive_or_none,
    read_intensities,
    read_vertical,
)
from tapemark.store.numbered_text import NumberedText
from tapemark.studio import Luminaire
from tapemark.units import MM

_MOST_SETS = 20
_DIRECT_RATIOS = 10
_AS_FILED, _AROUND, _ABOUT_C0, _ABOUT_C90, _ABOUT_BOTH = range(5)
_PLANES_IN_STEPS_OF = {_ABOUT_C0: 2, _ABOUT_C90: 4, _ABOUT_BOTH: 4}


@dataclass(frozen=True, kw_only=True, slots=True)
class _Head:
    """What stands before the planes."""

    name: str
    symmetry: int
    planes: int
    angles: int
    opening_mm: tuple[float, float, float]  # length (C90), width (C0; 0 for round), height
    candela_per_value: float
    lamp_lumens: float | None
    watts: float


def luminaire_from_eulumdat(raw: bytes) -> Luminaire:
    """Return the lamp that an EULUMDAT file describes.

    Parameters
    ----------
    raw : bytes
        What the file holds.

    Returns
    -------
    Luminaire
        Intensities with the light of the first set of lamps.

    Raises
    ------
    MalformedError
        With the line, what stands there and what may stand there.

    References
    ----------
    [stockmar-1990], [eulumdat-py]
    """
    text = NumberedText(raw, number_per_line=True)
    head = _read_head(text)
    planes = text.rising("plane", count=head.planes, low=0.0, high=360.0)
    filed = _filed_planes(text, planes, symmetry=head.symmetry)
    vertical = read_vertical(text, count=head.angles)
    table = read_intensities(text, rows=len(filed), each=head.angles, scale=head.candela_per_value)
    text.expect_end(after="the last intensity")
    horizontal, candela = _in_order(filed, table, symmetry=head.symmetry)
    length, width, depth = head.opening_mm
    return Luminaire(
        name=head.name,
        source="EULUMDAT",
        vertical_deg=vertical,
        horizontal_deg=horizontal,
        candela=candela,
        lamp_lumens=head.lamp_lumens,
        opening_shape="rectangle" if width > 0.0 else "round",
        opening_c0_m=(width or length) * MM,
        opening_c90_m=length * MM,
        opening_depth_m=depth * MM,
        mains_w=positive_or_none(head.watts),
    )


def _read_head(text: NumberedText) -> _Head:
    maker = text.next_line(allowed="the maker")
    _skip(text, 1, "the type of the luminaire")
    symmetry = int(text.number("symmetry", low=0, high=4, whole=True))
    planes = int(text.number("number of planes", low=1, high=MOST_ANGLES, whole=True))
    step = _PLANES_IN_STEPS_OF.get(symmetry, 1)
    if planes % step:
        found, allowed = f"{planes} planes", f"a multiple of {step} for symmetry {symmetry}"
        raise text.refused(found, allowed=allowed)
    _skip(text, 1, "the step of the planes")
    angles = int(text.number("number of angles in a plane", low=2, high=MOST_ANGLES, whole=True))
    check_size(text, rows=planes, each=angles)
    _skip(text, 2, "the step of the angles and the report")
    name = text.next_line(allowed="the name of the luminaire")
    _skip(text, 3, "number, file and date")
    _skip(text, 3, "the size of the luminaire")
    opening = _read_opening(text)
    _skip(text, 2, "downward share and light output ratio")
    factor = text.number("factor of the intensities", low=1e-6, high=1e6)
    _skip(text, 1, "the tilt")
    lumens, relative, watts = _read_lamps(text)
    _skip(text, _DIRECT_RATIOS, "a direct ratio")
    return _Head(
        name=label(name or maker),
        symmetry=symmetry,
        planes=planes,
        angles=angles,
        opening_mm=opening,
        candela_per_value=lumens / 1000.0 * factor,
        lamp_lumens=lumens if relative else None,
        watts=watts,
    )


def _skip(text: NumberedText, lines: int, allowed: str) -> None:
    for _ in range(lines):
        text.next_line(allowed=allowed)


def _read_opening(text: NumberedText) -> tuple[float, float, float]:
    """Return length, width and the largest of the four heights of the opening. [mm]"""
    largest = LARGEST_OPENING_M / MM
    length = text.number("length of the opening in mm", low=0.0, high=largest)
    width = text.number("width of the opening in mm", low=0.0, high=largest)
    planes = ("C0", "C90", "C180", "C270")
    return (
        length,
        width,
        max(
            text.number(f"height of the opening at {plane} in mm", low=0.0, high=largest)
            for plane in planes
        ),
    )


def _read_lamps(text: NumberedText) -> tuple[float, bool, float]:
    """Return light [lm] and power [W] of the first set, and whether its lamps stand for the light.

    A negative number of lamps marks a luminaire that was measured as a whole.
    """
    sets = int(text.number("number of lamp sets", low=1, high=_MOST_SETS, whole=True))
    first: tuple[float, bool, float] | None = None
    for _ in range(sets):
        lamps = text.number("number of lamps", low=-10_000, high=10_000, whole=True)
        _skip(text, 1, "the type of the lamps")
        lumens = text.number("lumens of the lamps", low=0.001, high=MOST_LUMENS)
        _skip(text, 2, "colour temperature and colour rendering")
        watts = text.number("watts", low=0.0, high=MOST_WATTS)
        first = first or (lumens, lamps >= 0.0, watts)
    assert first is not None
    return first


def _filed_planes(
    text: NumberedText, planes: tuple[float, ...], *, symmetry: int
) -> tuple[float, ...]:
    """Return the planes whose intensities are in the file, in its order. [deg]"""
    count = len(planes)
    if symmetry == _AROUND:
        return (0.0,)
    if symmetry == _AS_FILED:
        filed, ends = planes, (0.0, max(planes[-1], 270.0) if count > 1 else 0.0)
    elif symmetry == _ABOUT_C90:
        start = 3 * count // 4
        filed = tuple(planes[(start + step) % count] for step in range(count // 2 + 1))
        ends = (270.0, 90.0)
    else:
        filed = planes[: count // (2 if symmetry == _ABOUT_C0 else 4) + 1]
        ends = (0.0, 180.0 if symmetry == _ABOUT_C0 else 90.0)
    if (filed[0], filed[-1]) != ends:
        found = f"planes from {filed[0]:g} to {filed[-1]:g}"
        allowed = f"from {ends[0]:g} to {ends[1]:g} for symmetry {symmetry}"
        raise text.refused(found, allowed=allowed)
    return filed


def _in_order(
    filed: tuple[float, ...], table: tuple[tuple[float, ...], ...], *, symmetry: int
) -> tuple[tuple[float, ...], tuple[tuple[float, ...], ...]]:
    """Return horizontal angles that rise, with their intensities.

    Symmetry about C90-C270 files the planes from 270 over 0 to 90; its mirror image from 90 over
    180 to 270 says the same. A full turn ends with the plane that it began with.
    """
    if symmetry == _ABOUT_C90:
        mirrored = tuple((180.0 - plane) % 360.0 for plane in filed)
        return mirrored[::-1], table[::-1]
    if symmetry == _AS_FILED and filed[-1] < 360.0:
        return (*filed, 360.0), (*table, table[0])
    return filed, table
