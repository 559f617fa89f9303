"""An entry of a session's log in words, for the page and the terminal."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from tapemark.services.photos.reading_words import VERDICT_WORDS, eye_words, wearer_words
from tapemark.services.photos.session_match import named_reflections
from tapemark.services.plain import Plain
from tapemark.store.library_log import Entry, Log

__all__ = ["change_text", "clock_of", "entry_as_plain", "entry_text", "event_text"]

_AMONG_FRAMES = ("setup", "reading", "match", "taught")  # told with their frame, or not at all


def event_text(log: Log, entry: Entry) -> str:
    """Return an entry that is no frame in one line; empty for what is told with a frame."""
    body = entry.body
    if entry.kind in _AMONG_FRAMES:
        return ""
    if entry.kind == "note":
        return str(body["text"])
    if entry.kind == "meter":
        what = body.get("aperture") or body.get("illuminance")
        whose = body["light"] or "all lights together"
        return f"Meter: {whose} {what}. {body.get('words', '')}".strip()
    if entry.kind == "sitter":
        return f"{body['name']} sits from here on."
    if entry.kind == "follow":
        return f"Taken with {body['name']} from here on."
    if entry.kind == "back":
        name = log.get(entry.about).body["name"] if entry.about else ""
        return f"Back to frame {name}: {body['name']}, version {body['version']}."
    if entry.kind == "decided":
        return "The setup was corrected." if body.get("take") else "The setup was left as it was."
    if entry.kind == "imported":
        return "All before this came with a file."
    if entry.kind == "watch":
        folder = body.get("folder", "")
        return f"Watching {folder}." if body.get("on") else "No folder is watched any more."
    return entry.kind


def change_text(changed: Plain | None) -> str:
    """Return what was changed before a frame, or a warning; empty where nothing is known."""
    if not changed:
        return ""
    text = str(changed.get("warning") or changed.get("words") or "")
    return f"{text[:1].upper()}{text[1:]}" if changed.get("warning") else text


def entry_text(log: Log, entry: Entry) -> str:
    """Return an entry as lines for a terminal; empty where a frame tells it."""
    if entry.kind != "frame":
        text = event_text(log, entry)
        return f"{entry.number:4d}  {clock_of(entry.at):>5}  {text}" if text else ""
    lines = []
    changed = change_text(entry.body.get("changed"))
    if changed:
        lines.append(f"             {changed}")
    reading = log.last("reading", about=entry.number)
    plain = None if reading is None else reading.body.get("reading")
    told = "not read yet"
    if reading is not None:
        told = VERDICT_WORDS[plain["verdict"]] if plain else str(reading.body.get("error"))
    lines.append(f"{entry.number:4d}  {clock_of(entry.at):>5}  {entry.body['name']}: {told}")
    match = log.last("match", about=entry.number)
    for wearer in plain["wearers"] if plain else ():
        lines += _wearer_lines(wearer, None if match is None else match.body)
    return "\n".join(lines)


def entry_as_plain(log: Log, entry: Entry) -> Plain:
    """Return an entry as plain data; a frame with its newest reading and match."""
    found: dict[str, Any] = {
        "number": entry.number,
        "about": entry.about,
        "at": entry.at,
        "kind": entry.kind,
        **entry.body,
    }
    if entry.kind == "frame":
        for kind in ("reading", "match"):
            one = log.last(kind, about=entry.number)
            found[kind] = None if one is None else one.body
    return found


def clock_of(stamp: str) -> str:
    """Return a time in UTC as the clock here has it."""
    try:
        local = datetime.fromisoformat(stamp).astimezone()
    except ValueError:
        return ""
    return f"{local.hour}:{local.minute:02d}"


def _wearer_lines(wearer: Plain, match: Plain | None) -> list[str]:
    lines = []
    for eye in eye_words(wearer, named_reflections(match, wearer["number"])):
        if eye.verdict == "no glasses":
            continue
        lines.append(f"             {eye.side} eye: {eye.text}")
        lines += [f"               {one}" for one in eye.reflections]
    lines += [f"             {one}" for one in wearer_words(wearer)]
    for one in () if match is None else match["wearers"]:
        if one["number"] != wearer["number"]:
            continue
        if one["move"] is not None and wearer["verdict"] != "clear":
            lines.append(f"             move: {one['move']['text']}")
        lines += [f"             {text}" for text in one["contradictions"]]
    return lines
