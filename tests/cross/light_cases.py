"""Arrangements of lamps, boards and a face that are given to us and to the path tracer."""

from dataclasses import dataclass

EYES_M = 1.20  # height of the eyes above the floor

#: Name; side and height on the face [mm, head frame; the sitter's right is positive].
PLACES = (
    ("forehead, middle", 0.0, 52.0),
    ("forehead, right", 36.0, 58.0),
    ("forehead, left", -36.0, 58.0),
    ("temple, right", 66.0, 18.0),
    ("temple, left", -66.0, 18.0),
    ("between the brows", 0.0, 19.0),
    ("under the brow, right", 33.0, 8.0),
    ("under the brow, left", -33.0, 8.0),
    ("cheekbone, right", 46.0, -24.0),
    ("cheekbone, left", -46.0, -24.0),
    ("nose side, right", 9.0, -28.0),
    ("nose side, left", -9.0, -28.0),
    ("beside the nose, right", 21.0, -38.0),
    ("beside the nose, left", -21.0, -38.0),
    ("cheek, right", 36.0, -50.0),
    ("cheek, left", -36.0, -50.0),
    ("upper lip", 0.0, -56.0),
    ("chin", 0.0, -99.0),
    ("jaw, right", 52.0, -68.0),
    ("jaw, left", -52.0, -68.0),
)


@dataclass(frozen=True, kw_only=True)
class Lamp:
    """A head and what shapes it; flash.

    Attributes
    ----------
    kind : str
        "box", "hollow umbrella", "bulging umbrella" or "beam".
    distance_m, side_deg, height_m : float
        Where the middle of its face is.
    aim : str
        "face" or "ceiling": midway between lamp and sitter.
    joules, share, back_share : float
        Stored energy as set, and the shares of the light that leave the front, and the back.
    width_m, face_height_m, depth_m : float
        Size; an umbrella has a diameter and a depth. [m]
    beam_deg : float
        Full angle within which the light is at least half as strong.
    """

    kind: str
    distance_m: float
    side_deg: float
    height_m: float
    joules: float
    share: float
    back_share: float = 0.0
    aim: str = "face"
    width_m: float = 0.0
    face_height_m: float = 0.0
    depth_m: float = 0.0
    beam_deg: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Board:
    """A panel or flag, aimed at the face."""

    distance_m: float
    side_deg: float
    height_m: float
    width_m: float
    board_height_m: float
    reflectance: float


@dataclass(frozen=True, kw_only=True)
class Case:
    """One arrangement.

    Attributes
    ----------
    turn_deg : float
        Face turned to camera-left.
    room_m : four floats
        Width, length, height and sitter to the wall behind.
    room_reflectances : three floats
        Of ceiling, walls and floor, for the run with all bounces.
    bounce : str
        What sends light on in the run with one bounce: "nothing", "ceiling" or "boards".
    """

    lamps: tuple[Lamp, ...]
    boards: tuple[Board, ...] = ()
    turn_deg: float = 0.0
    room_m: tuple[float, float, float, float] = (5.4, 7.0, 2.75, 2.0)
    room_reflectances: tuple[float, float, float] = (0.8, 0.5, 0.2)
    bounce: str = "nothing"


def _box(distance_m: float, side_deg: float, height_m: float) -> Lamp:
    at = {"distance_m": distance_m, "side_deg": side_deg, "height_m": height_m}
    return Lamp(kind="box", **at, joules=100.0, share=0.45, width_m=0.6, face_height_m=0.9)


_KEY = _box(1.3, 40.0, 1.75)
_HOLLOW = Lamp(
    kind="hollow umbrella",
    distance_m=1.4,
    side_deg=-35.0,
    height_m=1.85,
    joules=100.0,
    share=0.5,
    width_m=1.1,
    depth_m=0.242,
)
_BULGING = Lamp(
    kind="bulging umbrella",
    distance_m=1.1,
    side_deg=30.0,
    height_m=1.70,
    joules=100.0,
    share=0.4,
    back_share=0.4 * 0.45 / 0.55,
    width_m=1.0,
    depth_m=0.22,
)
_AT_CEILING = Lamp(
    kind="beam",
    distance_m=2.4,
    side_deg=10.0,
    height_m=1.60,
    joules=60.0,
    share=0.9,
    aim="ceiling",
    beam_deg=70.0,
)
_FLAG = Board(
    distance_m=0.65,
    side_deg=36.0,
    height_m=1.30,
    width_m=0.30,
    board_height_m=0.30,
    reflectance=0.0,
)
_WHITE = Board(
    distance_m=0.7,
    side_deg=-50.0,
    height_m=1.10,
    width_m=0.8,
    board_height_m=1.1,
    reflectance=0.8,
)
CASES = {
    "softbox": Case(lamps=(_KEY,)),
    "softbox, face turned away": Case(lamps=(_box(1.5, 40.0, 1.75),), turn_deg=-30.0),
    "reflected umbrella": Case(lamps=(_HOLLOW,), turn_deg=20.0),
    "shoot-through umbrella": Case(lamps=(_BULGING,)),
    "softbox behind a flag": Case(lamps=(_KEY,), boards=(_FLAG,)),
    "flash at the ceiling": Case(lamps=(_AT_CEILING,), bounce="ceiling"),
    "softbox and white panel": Case(lamps=(_KEY,), boards=(_WHITE,), bounce="boards"),
}
