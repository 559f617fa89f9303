"""Which wishes of a brief does a judged setup leave unmet, and what does it give instead?"""

from dataclasses import dataclass

import numpy as np

from tapemark.planning.judge import Judged
from tapemark.studio import Brief

APERTURE_STOPS = 0.2  # a reading so near to the wished aperture meets it
RATIO_SLACK = 1.06
UNEVEN_STOPS = 1.0  # a background that differs by more is called uneven
NEARLY_BLACK, WHITE_ENOUGH = 0.01, 0.87  # levels: of the tones below, 1 is white
UNNAMED = ("none", "flat", "rim")
WORDS = {
    "framing": "framing",
    "aperture": "aperture",
    "mood": "mood",
    "pattern": "pattern",
    "face": "broad or short",
    "background": "background",
    "time": "time",
}
"""What each wish is called."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Lack:
    """One wish that is not met.

    Attributes
    ----------
    wish : str
        Its key in the brief.
    wanted, got : str
        In words.
    """

    wish: str
    wanted: str
    got: str


def ratio_of(judged: Judged) -> float | None:
    """Return highlight over shadow: as set where there is a fill, else as it falls [-]."""
    told = judged.people[0].modelling.told
    return None if told is None else told.highlight_to_shadow


def spread_stops(judged: Judged) -> float:
    """Return by how much the readings at the faces differ [stops]; 0 for one person."""
    readings = [one.exposure.stops_over for one in judged.people]
    known = [one for one in readings if one is not None]
    return max(known) - min(known) if known else 0.0


def stops_over_wish(judged: Judged, brief: Brief) -> float | None:
    """Return how far the reading is over the wish, wherever the camera is set [stops]."""
    over = judged.people[0].exposure.stops_over
    if over is None:
        return None
    return over + 2.0 * float(np.log2(judged.setup.camera.aperture / brief.aperture))


def unmet(judged: Judged, *, brief: Brief, minutes: float) -> tuple[Lack, ...]:
    """Return the wishes that a setup leaves unmet.

    Parameters
    ----------
    judged : Judged
        The setup.
    brief : Brief
        What is wished.
    minutes : float
        How long building and testing takes. [min]
    """
    found = [
        _framing(judged, brief),
        _aperture(judged, brief),
        _mood(judged, brief),
        _pattern(judged, brief),
        _face(judged, brief),
        _background(judged, brief),
    ]
    if brief.time_s is not None and minutes > brief.time_s / 60.0:
        found.append(
            Lack(wish="time", wanted=f"{brief.time_s / 60:.0f} min", got=f"{minutes:.0f} min")
        )
    return tuple(one for one in found if one is not None)


def ratio_text(ratio: float | None) -> str:
    """Return a ratio as it is said: ``3:1``, ``2.5:1``."""
    if ratio is None or ratio > 64.0:
        return "no light in the shadows"
    return f"{ratio:.0f}:1" if abs(ratio - round(ratio)) < 0.05 else f"{ratio:.1f}:1"


def _framing(judged: Judged, brief: Brief) -> Lack | None:
    got = judged.framing.crop
    return None if got == brief.framing else Lack(wish="framing", wanted=brief.framing, got=got)


def _aperture(judged: Judged, brief: Brief) -> Lack | None:
    reading = judged.people[0].exposure
    over = stops_over_wish(judged, brief)
    if over is not None and abs(over) <= APERTURE_STOPS:
        return None
    got = "no light"
    if over is not None and reading.aperture is not None:
        way = "under" if over < 0 else "over"
        got = f"f/{reading.aperture:.1f}, {abs(over):.1f} stops {way}"
    return Lack(wish="aperture", wanted=f"f/{brief.aperture:g}", got=got)


def _mood(judged: Judged, brief: Brief) -> Lack | None:
    wanted = brief.ratio_range
    if wanted is None:
        return None
    ratio = ratio_of(judged)
    size = np.inf if ratio is None else ratio
    if wanted[0] / RATIO_SLACK <= size <= wanted[2] * RATIO_SLACK or (
        wanted[2] > 64.0 and size > wanted[0]
    ):
        return None
    return Lack(wish="mood", wanted=brief.mood, got=ratio_text(ratio))


def _pattern(judged: Judged, brief: Brief) -> Lack | None:
    got = judged.people[0].modelling.pattern
    if brief.pattern in {"any", got}:
        return None
    return Lack(
        wish="pattern",
        wanted=brief.pattern,
        got="no named pattern" if got == "none" else got,
    )


def _face(judged: Judged, brief: Brief) -> Lack | None:
    got = judged.people[0].modelling.face_side
    return None if brief.face in {"any", got} else Lack(wish="face", wanted=brief.face, got=got)


def _background(judged: Judged, brief: Brief) -> Lack | None:
    if brief.background == "any":
        return None
    wrong = [
        one
        for one in judged.findings
        if one.code.startswith("background-")
        and one.severity == "caution"
        and not one.code.startswith("background-shadow")
    ]
    hung = judged.setup.backdrop
    if hung is None or hung.look != brief.background:  # findings do not tell: the tone does
        if _tone_fits(judged, brief):
            return None
    elif not wrong:
        return None
    return Lack(wish="background", wanted=brief.background, got=_background_got(judged, brief))


def _background_got(judged: Judged, brief: Brief) -> str:
    """Return how the background comes out, as a photographer says it."""
    seen = judged.background
    if seen is None:
        return "not seen"
    tone = f"sRGB {seen.mean.srgb}"
    over, uneven = seen.mean.stops_over_key, seen.evenness_stops > UNEVEN_STOPS
    if over is None or seen.mean.level <= NEARLY_BLACK:
        got = "nearly black" if brief.background == "black" else "too dark, nearly black"
    elif brief.background == "white":
        got = "too dark" if seen.mean.level < 1.0 else "too bright"
        got = "uneven" if uneven and seen.mean.level >= WHITE_ENOUGH else got
    elif brief.background == "black":
        got = "too bright for black"
    else:
        got = f"{abs(over):.1f} stops {'over' if over > 0 else 'under'} the key"
    if uneven and got != "uneven":
        got += ", and uneven"
    return f"{got} ({tone})"


def _tone_fits(judged: Judged, brief: Brief) -> bool:
    """Return whether the background comes out as wished, by its tones alone."""
    seen = judged.background
    if seen is None or seen.mean.stops_over_key is None:
        return False
    if brief.background == "white":
        return seen.darkest.level >= 0.87 and seen.brightest.level <= 1.8
    if brief.background == "black":
        return seen.mean.level <= 0.01
    return abs(seen.mean.stops_over_key) <= 0.5
