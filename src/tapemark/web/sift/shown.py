"""What the page Sift shows of frames: thumbnails, choices, and findings in words."""

from typing import Any

from tapemark.services.photos.sift_results import VERDICTS, Found, Results
from tapemark.services.plain import Plain

Shown = dict[str, Any]

_CLIPPED = 0.05  # of the skin: what a contact sheet calls clipped
_WORDS = {
    "unreadable": "cannot be read",
    "unsure": "to be looked at",
}
_LENS = {
    "clear": "clear",
    "edge": "a reflection beside the eye",
    "veiled": "a reflection over the eye",
}


def thumbnail(found: Found) -> Shown:
    """Return what a contact sheet shows of a frame."""
    frame = found.frame
    return {
        "key": found.key,
        "file": frame.file,
        "line": found.line,
        "ring": _ring(found),
        "verdict": frame.verdict,
        "eyes": frame.reading is not None,
    }


def _ring(found: Found) -> str:
    """Return how a frame is ringed: ``bad``, ``mild`` where all it has is an edge, or not."""
    if found.frame.trouble < 1.0:
        return ""
    return "mild" if found.line == found.frame.verdict == "edge" else "bad"


def choices(results: Results) -> Shown:
    """Return what can be filtered by: value and words of each, with how many frames."""
    verdicts = [
        (one, f"{_WORDS.get(one, one)} ({results.counts[one]})")
        for one in VERDICTS
        if one in results.counts
    ]
    bare = sum(0 in one.wears for one in results.frames)
    wearers = [
        (
            str(one.number),
            f"glasses {one.number}: about {one.width_mm:.0f} × {one.height_mm:.0f} mm"
            f" ({one.frames})",
        )
        for one in results.glasses
    ]
    if bare:
        wearers.append(("none", f"somebody without glasses ({bare})"))
    return {"verdict": verdicts, "wearer": wearers}


def shown_people(found: Found) -> list[Shown]:
    """Return everybody in a frame, with what was found of them in words."""
    reading = found.frame.reading
    if reading is None:
        return []
    return [
        {
            "number": number,
            "verdict": one["verdict"],
            "words": _words(one),
            "lenses": [_lens(one, side) for side in ("right", "left")],
            "asks": list(one["questions"]),
            "outlines": _outlines(one),
        }
        for number, one in enumerate(reading["wearers"], start=1)
    ]


def _words(person: Plain) -> list[str]:
    """Return what is not about a lens."""
    told = []
    if person["open"] is False:
        told.append("An eye is closed: a blink.")
    elif person["open"] is None:
        told.append("It cannot be told whether both eyes are open.")
    if not person["sharp"]:
        near = person.get("near_eye")
        told.append(f"The {near} eye, the nearer one, is not sharp." if near else "Not sharp.")
    share = float(person["skin"]["clipped_share"])
    if share > _CLIPPED:
        told.append(f"{100 * share:.0f} % of the lit skin is clipped: expose less.")
    return told or ["Eyes open, sharp, and the skin is within range."]


def _lens(person: Plain, side: str) -> str:
    """Return what one lens shows, in a sentence."""
    lens = person["eyes"][side]["lens"]
    name = f"{side[:1].upper()}{side[1:]} lens"
    if lens is None:
        return f"{name}: none was found."
    text = f"{name}: {_LENS.get(str(lens['verdict']), str(lens['verdict']))}"
    if not lens["reflections"]:
        return f"{text}."
    veil, cover = 100 * float(lens["veil"]), 100 * float(lens["lens_cover"])
    text += f", {veil:.0f} % of the eye and {cover:.0f} % of the lens"
    main = lens["reflections"][0]
    over = float(main["stops_over_skin"])
    color = "" if main["color"] == "white" else f"{main['color']}, "
    text += f"; {color}{abs(over):.1f} stops {'over' if over >= 0 else 'under'} the lit skin"
    return (
        f"{text}. {'What lies behind can be brought out.' if main['recoverable'] else ''}".strip()
    )


def _outlines(person: Plain) -> list[tuple[str, str]]:
    """Return the outlines of lenses and reflections: their class, and points for a drawing."""
    found = []
    for side in ("right", "left"):
        lens = person["eyes"][side]["lens"]
        if lens is None:
            continue
        found.append(("lens", _points(lens["outline"])))
        found += [("glare", _points(one["outline"])) for one in lens["reflections"]]
    return found


def _points(outline: list[list[float]]) -> str:
    return " ".join(f"{float(x):.0f},{float(y):.0f}" for x, y in outline)
