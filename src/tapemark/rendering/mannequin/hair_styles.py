"""How hair can be worn: where it ends, how full it is, how it is parted and in what locks it lies.

Everything is drawn. Heights are millimetres of the reference head over the pupils.
"""

from dataclasses import dataclass

from tapemark.studio.appearance import HairStyle

Table = tuple[tuple[float, float], ...]

#: Azimuth from the face [deg], height of the edge of the hair there [mm of the reference head].
_SHORT_EDGE: Table = (
    (0.0, 66.0),
    (12.0, 67.5),
    (24.0, 71.0),
    (33.0, 71.5),
    (42.0, 65.0),
    (50.0, 52.0),
    (58.0, 42.0),
    (63.0, 30.0),
    (68.0, 12.0),
    (73.0, -6.0),
    (78.0, -20.0),
    (82.0, -18.0),
    (86.0, 4.0),
    (93.0, 18.0),
    (102.0, 12.0),
    (110.0, -22.0),
    (124.0, -58.0),
    (150.0, -84.0),
    (180.0, -90.0),
)
_BACK_EDGE: Table = (
    *_SHORT_EDGE[:14],
    (110.0, -14.0),
    (124.0, -44.0),
    (150.0, -66.0),
    (180.0, -72.0),
)
_FULLNESS: Table = (
    (-90.0, 2.0),
    (-20.0, 4.0),
    (30.0, 7.0),
    (60.0, 11.0),
    (90.0, 16.0),
    (116.0, 18.0),
)
_SIDES_SHORT: Table = (
    (-90.0, 1.5),
    (-20.0, 2.5),
    (30.0, 4.5),
    (60.0, 8.0),
    (90.0, 13.0),
    (116.0, 15.0),
)
_LONG_FULL: Table = (
    (-230.0, 4.0),
    (-60.0, 5.0),
    (20.0, 7.0),
    (60.0, 10.0),
    (90.0, 13.0),
    (116.0, 14.0),
)


def _falling(low: float) -> Table:
    """Return the edge of hair that frames the face and falls to a height."""
    return (
        (0.0, 68.0),
        (14.0, 67.0),
        (30.0, 62.0),
        (42.0, 52.0),
        (51.0, 34.0),
        (56.5, 8.0),
        (57.5, -25.0),
        (59.0, 0.35 * low - 18.0),
        (62.0, 0.76 * low),
        (68.0, 0.91 * low),
        (80.0, 0.98 * low),
        (130.0, low - 2.0),
        (180.0, low - 6.0),
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Style:
    """One way to wear hair.

    `edge` and `full` are heights by azimuth and fullness by height; `ramp_mm` is how far behind
    the edge the hair stands at its full height, with a front that is upright (`front` 0.5) or
    gentle (1.5); `lift_mm` makes the front of the top
    fuller and `rise` turns it upwards, `fall` says that hair hangs beside the
    face, `part_mm` is where the parting runs, to the sitter's right.  Over the mass lie `locks`
    locks, `lock_mm` long and half of `wide_mm` wide on either side.
    """

    edge: Table
    full: Table = _FULLNESS
    ramp_mm: float = 30.0
    front: float = 0.9
    lift_mm: float = 0.0
    rise: float = 1.4
    part_mm: float | None = None
    fall: bool = False
    curls_mm: float = 0.0
    bun: bool = False
    lock_mm: float = 60.0
    wide_mm: float = 5.0
    locks: int = 380


STYLES: dict[HairStyle, Style] = {
    "short": Style(
        edge=_SHORT_EDGE,
        full=_SIDES_SHORT,
        ramp_mm=36.0,
        front=1.1,
        part_mm=34.0,
        lift_mm=7.0,
        lock_mm=62.0,
        wide_mm=3.3,
        locks=900,
    ),
    "swept": Style(
        edge=_BACK_EDGE,
        ramp_mm=34.0,
        front=1.0,
        lift_mm=8.0,
        rise=1.0,
        lock_mm=70.0,
        wide_mm=3.5,
        locks=800,
    ),
    "cropped": Style(
        edge=_SHORT_EDGE,
        full=((-90, 1.0), (0, 2), (60, 4), (116, 5)),
        ramp_mm=12.0,
        lock_mm=6.5,
        wide_mm=1.0,
        locks=900,
    ),
    "bob": Style(
        edge=_falling(-96.0),
        full=_LONG_FULL,
        ramp_mm=26.0,
        front=0.9,
        part_mm=-22.0,
        fall=True,
        rise=0.5,
        lock_mm=170.0,
        wide_mm=3.4,
        locks=850,
    ),
    "long": Style(
        edge=_falling(-222.0),
        full=_LONG_FULL,
        ramp_mm=26.0,
        front=0.9,
        part_mm=8.0,
        fall=True,
        rise=0.5,
        lock_mm=250.0,
        wide_mm=3.6,
        locks=950,
    ),
    "bun": Style(
        edge=_BACK_EDGE,
        full=((-90, 3), (0, 4), (60, 6), (116, 8)),
        ramp_mm=22.0,
        front=1.0,
        bun=True,
        lock_mm=110.0,
        wide_mm=2.6,
        locks=700,
    ),
    "curly": Style(
        edge=_SHORT_EDGE,
        full=((-90, 5), (-20, 11), (40, 17), (80, 24), (116, 26)),
        ramp_mm=15.0,
        front=0.6,
        curls_mm=4.4,
        locks=1500,
    ),
}
