"""Answers of the form on the page Start, read as a brief; what is wrong goes beside its field."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from tapemark.errors import Problem, SetupError
from tapemark.studio import brief_from_mapping
from tapemark.web.form_words import in_form_words
from tapemark.web.start.around import around_field, around_mapping
from tapemark.web.start.fields import ASKED, MOST_OF_A_KIND, NO_GLASSES, STEPS

Answers = dict[str, str]
Plain = dict[str, Any]

LONGEST_ANSWER = 300
PANEL = {"name": "white panel", "width": "0.9 m", "height": "1.2 m"}

#: Which field a key of a brief was typed into, the longest fitting beginning first.
_FIELD_OF = (
    ("sitter.glasses.right", "right_sphere"),
    ("sitter.glasses.left", "left_sphere"),
    ("sitter.glasses.lens_width", "lens_width"),
    ("sitter.glasses.lens_height", "lens_height"),
    ("sitter.glasses.bridge", "bridge"),
    ("sitter.glasses.look_through", "look_through"),
    ("sitter.glasses", "glasses"),
    ("sitter.eye_height", "eyes"),
    ("sitter.body_height", "height"),
    ("sitter.age", "age"),
    ("sitter.name", "name"),
    ("room.width", "width"),
    ("room.length", "length"),
    ("room.height", "ceiling"),
    ("room.behind_sitter", "behind"),
    ("camera.lenses", "lenses"),
    ("camera.sensor", "sensor"),
    ("camera.highest_iso", "iso"),
    ("aperture", "aperture"),
    ("time", "time"),
    ("title", "title"),
    ("mood", "mood"),
    ("backdrop", "backdrop"),
)


@dataclass(frozen=True, kw_only=True)
class ReadBrief:
    """What came of reading the answers.

    Attributes
    ----------
    brief : dict or None
        Of the shape of a brief file; None where something is wrong.
    errors : dict of str to str
        What is wrong, by field; under "" what belongs to none.
    """

    brief: Plain | None
    errors: dict[str, str] = field(default_factory=dict)

    @property
    def first_step(self) -> str:
        """The first step with an error."""
        for step in STEPS:
            if any(one.key in self.errors for group in step.groups for one in group.asked):
                return step.key
        return STEPS[0].key


def usual_answers(units: str) -> Answers:
    """Return what stands in an untouched form."""
    return {"units": units} | {one.key: one.usual_in(units) for one in ASKED.values()}


def tidy_answers(fields: Mapping[str, str]) -> Answers:
    """Return the answers among the fields of a form; what is no answer is passed over."""
    units = "us" if fields.get("units") == "us" else "metric"
    found = {key: " ".join(fields[key].split())[:LONGEST_ANSWER] for key in ASKED if key in fields}
    own = {
        key: fields[key][:8]
        for key in fields
        if re.fullmatch(r"own:[0-9a-f]{32}", key) and fields[key].strip()
    }
    return {"units": units} | found | own


def in_units(answers: Answers, units: str) -> Answers:
    """Return answers in other units: what was never touched changes, what was typed stays."""
    before = answers.get("units", "metric")
    changed = {
        key: ASKED[key].usual_in(units)
        for key, value in answers.items()
        if key in ASKED and value == ASKED[key].usual_in(before)
    }
    return answers | changed | {"units": units}


def read_brief(answers: Answers, *, own: Sequence[tuple[Plain, int]] = ()) -> ReadBrief:
    """Return the answers as a brief, or what is wrong with them.

    Parameters
    ----------
    answers : dict of str to str
        By field.
    own : sequence of pairs
        Own gear as it is kept, and how many of it.
    """
    errors: dict[str, str] = {}
    brief = _mapping(answers, errors)
    for body, count in own:
        piece = {key: value for key, value in body.items() if key not in ("what", "units")}
        what = body.get("what", "head")
        if what == "backdrop":
            brief["backdrop"] = piece
        else:
            brief.setdefault(what, []).append(piece | {"count": count})
    _need_gear(brief, errors)
    try:
        brief_from_mapping(brief, name="the brief")
    except SetupError as error:
        for problem in error.problems:
            errors.setdefault(_field_of(problem.key, answers), _in_words(problem))
    return ReadBrief(brief=None if errors else brief, errors=errors)


def _mapping(answers: Answers, errors: dict[str, str]) -> Plain:
    sitter: Plain = {"posture": answers.get("posture") or "seated"}
    sitter |= _given(answers, name="name", body_height="height", eye_height="eyes")
    if answers.get("age"):
        sitter["age"] = _whole(answers, "age", errors)
    if answers.get("sensitive") == "bright":
        sitter["light_sensitive"] = True
    if answers.get("sensitive") == "seizures":
        sitter["photosensitive"] = True
    glasses = _glasses(answers)
    if glasses is not None:
        sitter["glasses"] = glasses
    brief: Plain = {
        "tapemark": 1,
        "units": answers.get("units", "metric"),
        "sitter": sitter,
        "room": _room(answers),
        "camera": _camera(answers, errors),
        "head": _counted(answers, "head", errors),
        "modifier": _counted(answers, "modifier", errors),
    }
    stands = _counted(answers, "stand", errors)
    brief |= {"stand": stands} if stands else {}
    panels = _whole(answers, "panels", errors, otherwise=0)
    brief |= {"panel": [PANEL | {"count": panels}]} if panels else {}
    if _chosen(answers, "backdrop"):
        brief["backdrop"] = {"reflectance": float(answers["backdrop"])}
    brief |= around_mapping(answers)
    wishes = ("title", "framing", "mood", "pattern", "background", "aperture", "time")
    return brief | {key: answers[key] for key in wishes if answers.get(key)}


def _given(answers: Answers, **keys: str) -> Plain:
    return {key: answers[name] for key, name in keys.items() if answers.get(name)}


def _glasses(answers: Answers) -> Plain | None:
    which = answers.get("glasses", NO_GLASSES)
    if which == NO_GLASSES:
        return None
    found: Plain = {"preset": which} if which in dict(ASKED["glasses"].options[2:]) else {}
    found |= _given(
        answers,
        lens_width="lens_width",
        lens_height="lens_height",
        bridge="bridge",
        look_through="look_through",
        edge="edge",
        coating="coating",
    )
    for eye in ("right", "left"):
        if answers.get(f"{eye}_sphere"):
            found[eye] = {"sphere": answers[f"{eye}_sphere"]}
    return found


def _room(answers: Answers) -> Plain:
    room = _given(answers, width="width", length="length", height="ceiling", behind_sitter="behind")
    for key, name in (("wall_reflectance", "walls"), ("ceiling_reflectance", "ceiling_tone")):
        if _chosen(answers, name):
            room[key] = float(answers[name])
    return room


def _chosen(answers: Answers, key: str) -> str:
    """Return a choice that is one of those offered, else nothing."""
    value = answers.get(key, "")
    return value if value in dict(ASKED[key].options) else ""


def _camera(answers: Answers, errors: dict[str, str]) -> Plain:
    lenses = [one.strip() for one in re.split(r"[,;]", answers.get("lenses", "")) if one.strip()]
    camera: Plain = {"lenses": lenses} | _given(answers, sensor="sensor")
    if answers.get("iso"):
        camera["highest_iso"] = max(100, _whole(answers, "iso", errors))
    return camera


def _counted(answers: Answers, prefix: str, errors: dict[str, str]) -> list[Plain]:
    found = []
    for key in ASKED:
        kind, _, preset = key.partition(":")
        if kind == prefix and preset:
            count = _whole(answers, key, errors, otherwise=0)
            if count:
                found.append({prefix: preset, "count": count})
    return found


def _whole(answers: Answers, key: str, errors: dict[str, str], *, otherwise: int = 1) -> int:
    text = answers.get(key, "")
    if not text:
        return otherwise
    most = MOST_OF_A_KIND if ASKED[key].kind == "count" else 1_000_000
    if not (text.isascii() and text.isdigit()) or len(text) > 7 or int(text) > most:
        errors[key] = f'"{text}" is no whole number from 0 to {most}.'
        return otherwise
    return int(text)


def _need_gear(brief: Plain, errors: dict[str, str]) -> None:
    """Say in the form's own words that something is needed to light with."""
    for key, what in (("head", "head"), ("modifier", "modifier")):
        if not brief.get(key) and not any(one.startswith(f"{key}:") for one in errors):
            first = next(one for one in ASKED if one.startswith(f"{key}:"))
            errors.setdefault(first, f"Count at least one {what}: nothing can be lit without.")


def _field_of(key: str, answers: Answers) -> str:
    if around := around_field(key, answers):
        return around
    for begins, name in _FIELD_OF:
        if key == begins or key.startswith((f"{begins}.", f"{begins}[")):
            return name
    if key.startswith("head"):
        return "head:400 Ws studio head"
    if key.startswith("modifier"):
        return "modifier:medium softbox 60x90 cm"
    if key.startswith("stand"):
        return "stand:light stand"
    return ""


def _in_words(problem: Problem) -> str:
    given = f"{problem.given}: " if problem.given else ""
    advice = problem.advice[:1].upper() + problem.advice[1:] if not given else problem.advice
    return in_form_words(f"{given}{advice} (allowed: {problem.allowed})")
