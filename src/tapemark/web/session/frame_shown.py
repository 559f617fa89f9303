"""A frame of a session as its page shows it: what was found, in words and as outlines to draw."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tapemark.services.photos.kept_readings import facts_from_plain
from tapemark.services.photos.reading_words import (
    VERDICT_WORDS,
    EyeWords,
    eye_words,
    light_words,
    wearer_words,
)
from tapemark.services.photos.session_log import hints_for, setup_of
from tapemark.services.photos.session_match import can_match, named_reflections, wants_move
from tapemark.services.photos.session_words import change_text, clock_of
from tapemark.store.library_log import Entry, Log

EYES_MM = (130.0, 90.0)  # what is shown large where the pupils are tapped
_PUPILS_MM = 63.0
_OF_SETUP = ("setup_id", "version", "name")


@dataclass(frozen=True, kw_only=True, slots=True)
class Person:
    """Somebody in a frame, in words.

    Attributes
    ----------
    number : int
        From camera-left, from 1.
    name : str
        Who of the setup it is, as far as that is known.
    verdict : str
        Of both lenses together.
    eyes : tuple of EyeWords
        Each eye.
    lines : tuple of str
        What else there is to say, and what is asked.
    move : dict or None
        The one move: ``text``, ``verdict_after``, ``side_effects``, ``losses``.
    notes : tuple of str
        What stands in the way of a sure answer.
    """

    number: int
    name: str
    verdict: str
    eyes: tuple[EyeWords, ...]
    lines: tuple[str, ...]
    move: Mapping[str, Any] | None
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Mark:
    """An outline drawn over a frame.

    Attributes
    ----------
    kind : str
        ``lens`` or ``glare``.
    points : str
        As SVG has them, in pixels of the upright original.
    label : str
        Whose light it is; empty without.
    at : tuple of two floats
        Where the label goes. [px]
    """

    kind: str
    points: str
    label: str = ""
    at: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, kw_only=True, slots=True)
class Eyes:
    """The eyes of one person, level, to be compared.

    Attributes
    ----------
    address : str
        Of the small picture.
    marks : tuple of Mark
        In pixels of that picture.
    verdict : str
        Of this person.
    """

    address: str
    marks: tuple[Mark, ...]
    verdict: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Frame:
    """A frame as a page shows it.

    Attributes
    ----------
    number : int
        Its entry in the log.
    name, clock, facts, sitter : str
        File, when it came, exposure, who sat.
    state : str
        ``waiting``, ``unreadable`` or ``read``.
    error : str
        Why it cannot be read.
    verdict, verdict_words : str
        The worst one of everybody.
    size : tuple of two ints
        Of the upright original. [px]
    near : tuple of four floats
        Around the eyes: left, top, width, height; of the whole where no face is known. [px]
    marks : tuple of Mark
        To be drawn over it.
    people : tuple of Person
        Everybody.
    eyes : tuple of Eyes
        Of everybody.
    preview : str
        Address of the small picture; empty where there is none.
    setup, changed : dict or None
        What it was taken with, and what was changed since the frame before.
    contradictions : tuple of str
        Where it contradicts the setup.
    offer : str
        ``open``, ``taken``, ``left``, or empty where nothing is offered.
    naming : str
        ``light`` where it is yet to be found whose it is, ``move`` where that is yet to be found.
    notes : tuple of str
        What was noted of it.
    pupils : tuple of four floats
        Right and left, as read; zeros where none are known. [px]
    bare : bool
        Whether somebody said that no glasses are worn, of it or of this sitter before.
    """

    number: int
    name: str
    clock: str
    facts: str
    sitter: str
    state: str
    error: str
    verdict: str
    verdict_words: str
    size: tuple[int, int]
    near: tuple[float, float, float, float]
    marks: tuple[Mark, ...]
    people: tuple[Person, ...]
    eyes: tuple[Eyes, ...]
    preview: str
    setup: Mapping[str, Any] | None
    changed: Mapping[str, Any] | None
    contradictions: tuple[str, ...]
    offer: str
    naming: str
    notes: tuple[str, ...]
    pupils: tuple[float, float, float, float]
    bare: bool


def frame_shown(log: Log, frame: Entry, session: str, *, brief: bool = False) -> Frame:
    """Return one frame as a page shows it; brief for a line of the log, without what is drawn."""
    reading = log.last("reading", about=frame.number)
    body = {} if reading is None else reading.body
    plain = body.get("reading")
    match = log.last("match", about=frame.number)
    if match is not None and reading is not None and match.number < reading.number:
        match = None  # of an earlier reading
    told = None if match is None else match.body
    state = "waiting" if reading is None else "read" if plain else "unreadable"
    version = 0 if reading is None else reading.number
    setup = setup_of(log, frame)
    wearers = plain["wearers"] if plain and not brief else []
    decided = log.last("decided", about=frame.number)
    offered = told is not None and told.get("corrected") is not None
    return Frame(
        number=frame.number,
        name=str(frame.body["name"]),
        clock=clock_of(frame.at),
        facts=facts_from_plain(plain["taken"]).text if plain else "",
        sitter=str(frame.body.get("sitter") or ""),
        state=state,
        error=str(body.get("error", "")),
        verdict=str(plain["verdict"]) if plain else "",
        verdict_words=VERDICT_WORDS[plain["verdict"]] if plain else "",
        size=(int(plain["size"][0]), int(plain["size"][1])) if plain else (3, 2),
        near=_near(plain),
        marks=_marks(wearers, told),
        people=tuple(_person(one, told) for one in wearers),
        eyes=_eyes(session, frame.number, version, body, brief=brief) if plain else (),
        preview=f"/session/{session}/{frame.number}/preview.jpg" if plain else "",
        setup=None if setup is None else {key: str(setup.body[key]) for key in _OF_SETUP},
        changed=_changed(frame.body.get("changed")),
        contradictions=tuple(
            str(text) for one in (told or {}).get("wearers", ()) for text in one["contradictions"]
        ),
        offer=_offer(decided) if offered else "",
        naming=_asked(plain, told) if setup is not None else "",
        notes=tuple(
            str(one.body["text"]) for one in reversed(log.entries(("note",), about=frame.number))
        ),
        pupils=_pupils(wearers),
        bare=not brief and hints_for(log, frame).get("bare") is True,
    )


def _asked(plain: dict[str, Any] | None, match: Mapping[str, Any] | None) -> str:
    """Return what is yet to be found about a frame."""
    if plain is None or not can_match(plain):
        return ""
    if match is None:
        return "light"
    return "move" if wants_move(plain) and not match.get("moves", True) else ""


def _offer(decided: Entry | None) -> str:
    if decided is None:
        return "open"
    return "taken" if decided.body.get("take") else "left"


def _person(wearer: Mapping[str, Any], match: Mapping[str, Any] | None) -> Person:
    number = wearer["number"]
    told = next((one for one in (match or {}).get("wearers", ()) if one["number"] == number), None)
    return Person(
        number=int(number),
        name="" if told is None else str(told["person"]),
        verdict=str(wearer["verdict"]),
        eyes=eye_words(dict(wearer), named_reflections(_plain(match), number)),
        lines=wearer_words(dict(wearer)),
        move=None if told is None or wearer["verdict"] == "clear" else _move(told["move"]),
        notes=() if told is None else tuple(map(str, told["notes"])),
    )


def _move(move: Any) -> Mapping[str, Any] | None:
    """Return the one move as it is shown; texts, whatever a file from elsewhere says."""
    if move is None:
        return None
    return {
        "text": str(move["text"]),
        "verdict_after": str(move["verdict_after"]),
        "side_effects": tuple(map(str, move["side_effects"])),
        "losses": tuple(map(str, move["losses"])),
    }


def _changed(changed: Any) -> Mapping[str, Any] | None:
    if not changed:
        return None
    return {"since": int(changed["since"]), "text": change_text(changed)} | {
        key: str(changed[key]) for key in ("words", "warning")
    }


def _plain(match: Mapping[str, Any] | None) -> dict[str, Any] | None:
    return None if match is None else dict(match)


def _marks(
    wearers: Sequence[Mapping[str, Any]], match: Mapping[str, Any] | None
) -> tuple[Mark, ...]:
    found = []
    for wearer in wearers:
        named = named_reflections(_plain(match), wearer["number"])
        for side in ("right", "left"):
            lens = wearer["eyes"][side]["lens"]
            if lens is None:
                continue
            found.append(Mark(kind="lens", points=_points(lens["outline"])))
            for index, one in enumerate(lens["reflections"]):
                told = named.get((side, index))
                label = "" if told is None else light_words(told).partition(" (")[0]
                center = (one["center"][0], one["center"][1])
                mark = Mark(kind="glare", points=_points(one["outline"]), label=label, at=center)
                found.append(mark)
    return tuple(found)


def _points(outline: Sequence[Sequence[float]]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in outline)


def _eyes(
    session: str, frame: int, version: int, body: Mapping[str, Any], *, brief: bool
) -> tuple[Eyes, ...]:
    found = []
    for wearer in body["reading"]["wearers"]:
        matrix = body.get("eyes", {}).get(str(wearer["number"]))
        if matrix is None:
            continue
        a, b, c, d, e, f = matrix
        marks = tuple(
            Mark(
                kind=mark.kind,
                points=" ".join(
                    f"{a * x + b * y + c:.1f},{d * x + e * y + f:.1f}"
                    for x, y in (map(float, one.split(",")) for one in mark.points.split())
                ),
            )
            for mark in (() if brief else _marks([wearer], None))
        )
        address = f"/session/{session}/{frame}/eyes{wearer['number']}.jpg?r={version}"
        found.append(Eyes(address=address, marks=marks, verdict=wearer["verdict"]))
    return tuple(found)


def _pupils(wearers: Sequence[Mapping[str, Any]]) -> tuple[float, float, float, float]:
    if not wearers:
        return (0.0, 0.0, 0.0, 0.0)
    right, left = (wearers[0]["eyes"][side]["pupil"] for side in ("right", "left"))
    return (float(right[0]), float(right[1]), float(left[0]), float(left[1]))


def _near(plain: Mapping[str, Any] | None) -> tuple[float, float, float, float]:
    """Return what is shown large where pupils are tapped."""
    if not plain:
        return (0.0, 0.0, 3.0, 2.0)
    width, height = map(float, plain["size"])
    if not plain["wearers"]:
        return (0.0, 0.0, width, height)
    rx, ry, lx, ly = _pupils(plain["wearers"])
    per_mm = max(((lx - rx) ** 2 + (ly - ry) ** 2) ** 0.5 / _PUPILS_MM, 1e-3)
    wide, tall = (one * per_mm for one in EYES_MM)
    return ((rx + lx - wide) / 2, (ry + ly - tall) / 2, wide, tall)
