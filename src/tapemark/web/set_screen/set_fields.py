"""The fields of a setup as the set screen shows them: made from the schema of a setup file.

So that a field added to the studio can be seen and typed without a word here.
"""

from collections.abc import Mapping
from typing import Any

from tapemark.services import json_schema

#: Where the key of a file is not what one would say.
LABELS = {
    "on": "lit",
    "place": "place",
    "turn": "face turned",
    "tip": "head tipped",
    "chin": "chin up or down",
    "output": "light output",
    "iso": "ISO",
    "bridge": "bridge (DBL)",
    "lens_width": "lens width (A)",
    "lens_height": "lens height (B)",
    "grid": "grid angle",
    "gel": "gel",
    "meter": "your meter reading",
    "ambient": "room light",
    "ambient_color": "colour of the room light",
    "color": "colour",
    "power_step": "power step",
    "sync": "flash sync",
    "circle_of_confusion": "blur that counts as sharp",
    "behind_sitter": "sitter to the wall behind",
    "camera_left": "sitter to the wall camera-left",
    "other_load": "other load",
    "across": "beside the sitter",
    "back": "behind the sitter",
}
#: Not typed by a person: the version, and what is read from a lamp's file.
LEFT_OUT = ("tapemark", "luminaire", "photometric_file")

Table = list[dict[str, Any]]


def field_tables() -> dict[str, Table]:
    """Return the fields of each table of a setup, by the table's name.

    Returns
    -------
    dict of str to list of dict
        Each field with ``key``, ``label``, ``why`` (one line), ``kind`` (text, choice, flag or
        part), ``needed``, and where there are any ``options``, ``presets``, ``part`` (name of its
        table), ``optional``, ``example``, ``usual`` (what stands when nothing is typed) and
        ``number``.
    """
    definitions: dict[str, Any] = json_schema()["$defs"]
    return {
        name: _table(_own(definition), definitions)
        for name, definition in definitions.items()
        if name != "Luminaire"
    }


def _own(definition: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return the table of a definition that may also be the name of a preset."""
    both = definition.get("anyOf")
    return definition if both is None else next(one for one in both if "properties" in one)


def _table(table: Mapping[str, Any], definitions: Mapping[str, Any]) -> Table:
    needed = table.get("required", ())
    return [
        _field(key, entry, needed=key in needed, definitions=definitions)
        for key, entry in table["properties"].items()
        if key not in LEFT_OUT
    ]


def _field(
    key: str, entry: Mapping[str, Any], *, needed: bool, definitions: Mapping[str, Any]
) -> dict[str, Any]:
    branches = [one for one in entry.get("anyOf", entry.get("oneOf", (entry,)))]
    real = [one for one in branches if one.get("type") != "null"]
    label = LABELS.get(key, key.replace("_", " "))
    field: dict[str, Any] = {
        "key": key,
        "label": label[0].upper() + label[1:],
        "why": _why(entry, real),
        "needed": needed,
        **_kind(real, definitions),
    }
    usual = entry.get("default")
    if usual not in (None, "", [], {}) and not isinstance(usual, dict):
        field["usual"] = usual if isinstance(usual, str) else str(usual).lower()
    if len(real) < len(branches):
        field["optional"] = True
    return field


def _kind(real: list[Mapping[str, Any]], definitions: Mapping[str, Any]) -> dict[str, Any]:
    """Return how a field is filled in."""
    found: dict[str, Any] = {"kind": "text"}
    for one in real:
        if "$ref" in one:
            part = one["$ref"].rpartition("/")[2]
            found |= {"kind": "part", "part": part, **_presets(definitions[part])}
        elif "enum" in one:
            found["options"] = one["enum"]
            found["kind"] = found["kind"] if "part" in found else "choice"
        elif one.get("type") == "boolean":
            found["kind"] = "flag"
        elif one.get("type") in ("number", "integer"):
            found["number"] = True
        if one.get("examples"):
            found.setdefault("example", one["examples"][0])
    return found


def _presets(definition: Mapping[str, Any]) -> dict[str, Any]:
    both = definition.get("anyOf", ())
    found = next((one["enum"] for one in both if "enum" in one), None)
    return {} if found is None else {"presets": found}


def _why(entry: Mapping[str, Any], real: list[Mapping[str, Any]]) -> str:
    """Return what a field means and what is allowed, in one line without code marks."""
    text = str(entry.get("description", ""))
    allowed = next((one["description"] for one in real if "description" in one), "")
    if allowed and "Allowed:" not in text and allowed not in text:
        text = f"{text} Allowed: {allowed}"
    return text.replace("``", '"').replace('""', '"')
