"""Forms of own things: every field of a room, a sitter, glasses or a piece of gear, as typed."""

import functools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from tapemark.studio import GLASSES_PRESETS, HEAD_PRESETS, MODIFIER_PRESETS, STAND_PRESETS
from tapemark.web.set_screen.set_fields import field_tables

Body = dict[str, Any]

LONGEST_ANSWER = 300
TABLE_OF = {"room": "Room", "glasses": "Glasses", "sitter": "Sitter"}
GEAR_TABLES = {"head": "Head", "modifier": "Modifier", "stand": "Stand"}
PRESETS = {"head": HEAD_PRESETS, "modifier": MODIFIER_PRESETS, "stand": STAND_PRESETS}
GEAR_WORDS = {
    "head": "a head: what makes the light",
    "modifier": "a modifier: what shapes the light",
    "stand": "a stand or boom",
    "panel": "a reflector panel or flag",
    "backdrop": "a backdrop",
}
#: Not of the person or the thing, but of how it stands in a set.
NOT_KEPT = ("turn", "chin", "tip", "gaze")
_PART_TITLES = {
    "right": "Right lens",
    "left": "Left lens",
    "face": "Measures of the face",
    "glasses": "Glasses",
    "look": "Looks, for the rendered picture only",
    "base": "Where its column stands",
}
_SIZE = "A length with its unit, such as 1.2 m or 4 ft."


@dataclass(frozen=True, kw_only=True, slots=True)
class PartField:
    """One field of the form.

    Attributes
    ----------
    path : str
        Keys with dots between, as in a file.
    label, why : str
        What it is; one line on it.
    options : tuple of str
        What can be chosen; empty for text.
    flag : bool
        Whether it is yes or no.
    number : bool
        Whether a plain number is meant.
    usual : str
        What counts if it is left empty.
    """

    path: str
    label: str
    why: str
    options: tuple[str, ...] = ()
    flag: bool = False
    number: bool = False
    usual: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class PartGroup:
    """Fields that belong together.

    Attributes
    ----------
    title : str
        Heading; empty for the first.
    fields : tuple of PartField
        The fields.
    """

    title: str
    fields: tuple[PartField, ...]


@functools.cache
def groups_for(kind: str, what: str = "") -> tuple[PartGroup, ...]:
    """Return the form of a kind of thing; of gear, of what it is."""
    if kind != "gear":
        return tuple(_groups(TABLE_OF[kind], path="", title=""))
    if what in GEAR_TABLES:
        name = PartField(path="name", label="Name", why="What you call it on set.")
        inner = tuple(_groups(GEAR_TABLES[what], path=f"{what}.", title=""))
        first = PartGroup(title="", fields=(name, *inner[0].fields))
        return (first, *inner[1:])
    size = (
        PartField(path="width", label="Width", why=_SIZE),
        PartField(path="height", label="Height", why=_SIZE),
        PartField(
            path="reflectance",
            label="Reflectance",
            why="Share of the light given back: 0.8 white, 0.18 mid grey, 0.05 black.",
            number=True,
            usual="0.8" if what == "panel" else "0.2",
        ),
    )
    if what == "panel":
        called = PartField(path="name", label="Name", why="What you call it on set.")
        return (PartGroup(title="", fields=(called, *size)),)
    return (PartGroup(title="", fields=size),)


def _groups(table: str, *, path: str, title: str) -> Iterator[PartGroup]:
    fields, parts = [], []
    for field in field_tables()[table]:
        if field["key"] in NOT_KEPT and table == "Sitter":
            continue
        if field["kind"] == "part":
            parts.append(field)
            continue
        fields.append(
            PartField(
                path=path + field["key"],
                label=field["label"],
                why=field["why"],
                options=tuple(field.get("options", ())),
                flag=field["kind"] == "flag",
                number=field.get("number", False),
                usual=str(field.get("usual", "")),
            )
        )
    yield PartGroup(title=title, fields=tuple(fields))
    for part in parts:
        name = _PART_TITLES.get(part["key"], str(part["label"]))
        title_in = f"{title}: {name.lower()}" if title else name
        yield from _groups(part["part"], path=f"{path}{part['key']}.", title=title_in)


def answers_of(body: Mapping[str, Any], *, path: str = "") -> dict[str, str]:
    """Return the values of a body as they stand in a form, by path."""
    found: dict[str, str] = {}
    for key, value in body.items():
        if isinstance(value, Mapping):
            found |= answers_of(value, path=f"{path}{key}.")
        elif isinstance(value, bool):
            found[path + key] = "yes" if value else "no"
        elif isinstance(value, int | float):
            found[path + key] = f"{value:g}"
        elif isinstance(value, str):
            found[path + key] = value
    return found


def body_from(
    fields: Mapping[str, str], groups: tuple[PartGroup, ...], *, before: Mapping[str, Any]
) -> Body:
    """Return a body after a form was filled in; what the form does not have stays.

    Parameters
    ----------
    fields : mapping of str to str
        The form.
    groups : tuple of PartGroup
        What was asked.
    before : mapping
        The body that the form was made from.
    """
    body = _copy(before)
    shown = answers_of(before)
    for group in groups:
        for one in group.fields:
            text = " ".join(fields.get(one.path, "").split())[:LONGEST_ANSWER]
            if one.path in fields and text != shown.get(one.path, ""):
                _put(body, one.path.split("."), _value(one, text))
    return _without_empty(body)


def _value(field: PartField, text: str) -> object:
    if not text:
        return None
    if field.flag:
        return text == "yes"
    if field.number and len(text) < 20:
        try:
            number = float(text)
        except ValueError:
            return text
        return int(number) if number.is_integer() and "." not in text else number
    return text


def _put(body: Body, path: list[str], value: object) -> None:
    for key in path[:-1]:
        inner = body.get(key)
        if not isinstance(inner, dict):
            inner = body[key] = {"preset": inner} if isinstance(inner, str) else {}
        body = inner
    if value is None:
        body.pop(path[-1], None)
    else:
        body[path[-1]] = value


def _copy(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _copy(one) for key, one in value.items()}
    return [_copy(one) for one in value] if isinstance(value, list) else value


def _without_empty(body: Body) -> Body:
    found = {
        key: _without_empty(value) if isinstance(value, dict) else value
        for key, value in body.items()
    }
    return {key: value for key, value in found.items() if value != {}}


def fact_lines(body: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Return a body as lines of words and values, for reading."""
    return [
        (path.replace("_", " ").replace(".", ", "), value)
        for path, value in answers_of(body).items()
        if path not in ("units", "what", "tapemark") and value
    ]


def beginning(kind: str, what: str, *, preset: str = "", units: str = "metric") -> Body:
    """Return the body that a new thing begins with."""
    body: Body = {"units": units} if units == "us" else {}
    if kind == "room":
        us = units == "us"
        size = ("13 ft", "20 ft", "9 ft") if us else ("4 m", "6 m", "2.7 m")
        return body | dict(zip(("width", "length", "height"), size, strict=True))
    if kind == "glasses":
        chosen = preset if preset in GLASSES_PRESETS else "mild short-sighted, medium frame"
        return body | {"preset": chosen}
    if kind == "sitter":
        return body | {"name": "sitter"}
    body["what"] = what
    if what in PRESETS:
        chosen = preset if preset in PRESETS[what] else next(iter(PRESETS[what]))
        return body | {"name": chosen, what: {"preset": chosen}}
    if what == "panel":
        return body | {"name": "white panel", "width": "0.9 m", "height": "1.2 m"}
    return body | {"width": "2.7 m", "height": "2.4 m", "reflectance": 0.2}
