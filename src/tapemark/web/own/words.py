"""Words for own things: what each kind is called, and what a thing is in one line."""

from collections.abc import Mapping
from typing import Any

from tapemark.errors import TapemarkError
from tapemark.services.library.calibrating import calibration_of
from tapemark.services.library.new_setups import setup_summary
from tapemark.studio import setup_from_mapping

KINDS = {
    "setup": ("Setups", "setup", "room, sitter, camera and lights at one moment"),
    "room": ("Rooms", "room", "where you photograph: size, walls, ceiling"),
    "gear": ("Gear", "piece of gear", "heads with your own meter readings, modifiers, stands"),
    "glasses": ("Glasses", "pair of glasses", "what somebody wears, as far as you know it"),
    "sitter": ("Sitters", "sitter", "people you photograph again"),
    "session": (
        "Sessions",
        "session",
        "days with their run order, test shots with their log, briefs",
    ),
}
_BRIEFLY = ("preset", "width", "length", "height", "posture", "body_height", "eye_height", "look")


def summary(kind: str, body: Mapping[str, Any]) -> str:
    """Return one line about a thing; nothing where it cannot be read."""
    try:
        if kind == "setup":
            return setup_summary(setup_from_mapping(body, name="setup"))
        if kind == "gear":
            return _gear(body)
    except TapemarkError:
        return ""
    if kind == "session":
        return _session(body)
    parts = [str(body[key]) for key in _BRIEFLY if isinstance(body.get(key), str)]
    if kind == "room":
        return " × ".join(parts)
    if kind == "sitter":
        parts.append("with glasses" if body.get("glasses") else "no glasses")
    return ", ".join(parts)


def _gear(body: Mapping[str, Any]) -> str:
    what = str(body.get("what", "head"))
    found = calibration_of(body)
    if found is None:
        return what
    return f"{what}, calibrated by your meter reading"


def _session(body: Mapping[str, Any]) -> str:
    if body.get("what") == "day":
        turns = len((body.get("order") or {"turns": ()})["turns"])
        return f"a day: {turns} in the order, {len(body.get('done', ()))} done"
    if body.get("what") == "shoot":
        return "test shots, with a log"
    if body.get("what") == "brief":
        return "a brief, with its plans" if body.get("plans") else "a brief"
    if body.get("what") == "sitter notes":
        return "your notes on somebody"
    return ""


def address(kind: str, thing_id: str, body: Mapping[str, Any]) -> tuple[str, str]:
    """Return where a thing is used, and what the way there is called; empty without."""
    if kind == "setup":
        return f"/set/{thing_id}", "Open on the set"
    if kind == "session" and body.get("what") == "day":
        return f"/day/{thing_id}", "Open the day"
    if kind == "session" and body.get("what") == "shoot":
        return f"/session/{thing_id}", "Open the session"
    if kind == "session" and body.get("what") == "brief":
        return f"/start?brief={thing_id}", "Open the brief"
    if kind == "session" and body.get("what") == "sitter notes":
        return f"/sitters/{body.get('sitter', '')}", "Open the sitter"
    if kind == "sitter":
        return f"/sitters/{thing_id}", "Say and ask"
    return "", ""
