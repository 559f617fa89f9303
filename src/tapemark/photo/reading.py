"""What was read from one photo: results, as plain numbers, in pixels of the upright original."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from tapemark.photo.lens_regions import LensShape
from tapemark.photo.shot_facts import ShotFacts

Point = tuple[float, float]
Side = Literal["right", "left"]
Verdict = Literal["clear", "edge", "veiled", "unsure", "no glasses"]

#: As the check of a setup judges: veil and cover from which a reflection matters. [-]
VEIL_LIMIT, COVER_LIMIT = 0.005, 0.03
_WORST = ("veiled", "unsure", "edge", "clear", "no glasses")


@dataclass(frozen=True, kw_only=True, slots=True)
class ReflectionSeen:
    """One reflection in one lens.

    Attributes
    ----------
    center : tuple of two floats
        Column and row. [px]
    outline : tuple of points
        Around it. [px]
    lens_cover, veil : float
        Share of the lens and of the opening of the eye. [-]
    stops_over_skin : float
        Luminance of its brighter part over that of the lit skin beside the glasses. [stops]
    clipped_share : float
        Of its pixels, in every colour. [-]
    recoverable : bool
        Whether what lies behind can still be brought out: little is clipped, and it is not far
        over the skin.
    color : str
        ``white``, or what a coating makes of it: ``green``, ``blue``, ``magenta``, ``amber``.
    """

    center: Point
    outline: tuple[Point, ...]
    lens_cover: float
    veil: float
    stops_over_skin: float
    clipped_share: float
    recoverable: bool
    color: str


@dataclass(frozen=True, kw_only=True, slots=True)
class LensReading:
    """One lens.

    Attributes
    ----------
    outline : tuple of points
        Within the rim. [px]
    lens_cover, veil : float
        Share of the lens, and of the opening of the eye, with reflections. [-]
    stops_over_skin : float or None
        Of the brightest reflection. [stops]
    reflections : tuple of ReflectionSeen
        Largest first.
    """

    outline: tuple[Point, ...]
    lens_cover: float
    veil: float
    stops_over_skin: float | None
    reflections: tuple[ReflectionSeen, ...]

    @property
    def verdict(self) -> Verdict:
        """``clear``, ``edge`` or ``veiled``."""
        if self.veil >= VEIL_LIMIT:
            return "veiled"
        return "edge" if self.lens_cover >= COVER_LIMIT else "clear"


@dataclass(frozen=True, kw_only=True, slots=True)
class EyeSeen:
    """One eye and the lens before it.

    Attributes
    ----------
    side : str
        The sitter's own ``right`` or ``left``.
    pupil : tuple of two floats
        Its centre. [px]
    likeness : float
        How much it looks like an iris, 0 to 1.
    is_open : bool or None
        None where it cannot be told.
    edge_mm : float
        How wide its sharpest edges are, for pupils 63 mm apart. [mm]
    lens : LensReading or None
        None without glasses.
    """

    side: Side
    pupil: Point
    likeness: float
    is_open: bool | None
    edge_mm: float
    lens: LensReading | None


@dataclass(frozen=True, kw_only=True, slots=True)
class WearerReading:
    """One person in a photo.

    Attributes
    ----------
    number : int
        From camera-left, from 1.
    face : tuple of four floats
        Left, top, width, height. [px]
    confidence : float
        That eyes and lenses are where they are said to be, 0 to 1.
    glasses : float
        That glasses are worn, 0 to 1.
    right, left : EyeSeen
        The sitter's own eyes.
    near_side : str
        Which eye is nearer to the camera; empty where they are about as near.
    is_sharp : bool
        Whether the near eye is.
    skin_clipped_share : float
        Of the skin around the glasses, in any colour. [-]
    skin_luminance : float
        Of its lit side, 1 for white. [-]
    questions : tuple of str
        What a person has to say for a sure answer.
    shape : LensShape or None
        Of the lenses, to be looked for in the next frames; None without sure glasses.
    """

    number: int
    face: tuple[float, float, float, float]
    confidence: float
    glasses: float
    right: EyeSeen
    left: EyeSeen
    near_side: Literal["", "right", "left"]
    is_sharp: bool
    skin_clipped_share: float
    skin_luminance: float
    questions: tuple[str, ...]
    shape: LensShape | None = None

    @property
    def eyes(self) -> tuple[EyeSeen, EyeSeen]:
        """The right and the left eye."""
        return self.right, self.left

    @property
    def verdict(self) -> Verdict:
        """The worse one of both lenses."""
        lenses = [one.lens for one in self.eyes if one.lens is not None]
        if self.questions:
            return "unsure"
        return worst(tuple(one.verdict for one in lenses)) if lenses else "no glasses"

    @property
    def is_open(self) -> bool | None:
        """Whether both eyes are open; None where it cannot be told."""
        states = [one.is_open for one in self.eyes]
        if False in states:
            return False
        return None if None in states else True


@dataclass(frozen=True, kw_only=True, slots=True)
class ShotReading:
    """One photo.

    Attributes
    ----------
    name : str
        Of its file.
    kind : str
        ``JPEG``, ``raw preview``, ...
    size : tuple of two ints
        Columns and rows of the upright original.
    profile : str
        Name of its colour profile; empty for none.
    facts : ShotFacts
        How it was taken.
    wearers : tuple of WearerReading
        Everybody found, from camera-left.
    """

    name: str
    kind: str
    size: tuple[int, int]
    profile: str
    facts: ShotFacts
    wearers: tuple[WearerReading, ...]

    @property
    def verdict(self) -> Verdict:
        """The worst one of everybody; ``unsure`` where no face was found."""
        return worst(tuple(one.verdict for one in self.wearers))

    @property
    def trouble(self) -> float:
        """How much is wrong, to sort by: more is worse; 0 for a sound frame."""
        return max((_trouble(one) for one in self.wearers), default=5.0)


def worst(verdicts: tuple[Verdict, ...]) -> Verdict:
    """Return the worst of some verdicts; ``unsure`` for none."""
    for one in _WORST:
        if one in verdicts:
            return one
    return "unsure"


def _trouble(wearer: WearerReading) -> float:
    lenses = [one.lens for one in wearer.eyes if one.lens is not None]
    veil = max((one.veil for one in lenses), default=0.0)
    cover = max((one.lens_cover for one in lenses), default=0.0)
    found = 10.0 * (veil >= VEIL_LIMIT) + 10.0 * veil + 2.0 * (cover >= COVER_LIMIT) + cover
    found += 8.0 * (wearer.is_open is False) + 6.0 * (not wearer.is_sharp)
    found += 3.0 * bool(wearer.questions) + 3.0 * (wearer.skin_clipped_share > 0.05)
    return round(float(found), 3)
