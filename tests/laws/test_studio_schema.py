"""The JSON Schema says of each key what the reader accepts, and the documents name each key."""

import re
from pathlib import Path

import pytest

from tapemark.studio import (
    GEL_PRESETS,
    GLASSES_PRESETS,
    HEAD_PRESETS,
    MATERIAL_INDEX,
    MODIFIER_PRESETS,
    SENSORS,
    STAND_PRESETS,
    Setup,
    json_schema,
    setup_from_mapping,
    setup_from_toml,
)
from tapemark.studio.fields import keys_of, quantity_in, required_keys, table_in
from tapemark.studio.lights import ASSUMED_EFFICIENCY
from tapemark.studio.schema import tables
from tapemark.studio.spelling import COLORS

TABLES = {model.__name__: model for model in tables()}
SCHEMA = json_schema()

SMALLEST = {
    "room": {"width": "5.4 m", "length": "7 m", "height": "2.75 m"},
    "camera": {"place": {"distance": "2 m", "height": "1.2 m"}, "focal_length": "85 mm"},
}


def properties_of(name: str) -> dict:
    table = SCHEMA if name == "Setup" else SCHEMA["$defs"][name]
    return (table["anyOf"][1] if "anyOf" in table else table)["properties"]


def quantities() -> list[tuple[str, str]]:
    return [
        (name, str(field.validation_alias))
        for name, model in TABLES.items()
        for field in model.model_fields.values()
        if quantity_in(field) is not None
    ]


@pytest.mark.parametrize("name", TABLES)
def test_schema_has_every_key_and_no_other(name):
    assert list(properties_of(name)) == keys_of(TABLES[name])


@pytest.mark.parametrize("name", TABLES)
def test_schema_describes_every_key(name):
    for key, entry in properties_of(name).items():
        assert entry.get("description"), f"{name}.{key}"
        assert " : " not in entry["description"], f"{name}.{key}"


@pytest.mark.parametrize(("table", "key"), quantities())
def test_examples_in_the_schema_fit_its_pattern_and_are_read(table, key):
    field = next(
        field for field in TABLES[table].model_fields.values() if field.validation_alias == key
    )
    kind = quantity_in(field).kind
    texts = [entry for entry in texts_in(properties_of(table)[key]) if "pattern" in entry]
    assert texts or kind.bare
    for entry in texts:
        for example in entry["examples"]:
            assert re.search(entry["pattern"], example)
            assert isinstance(kind.parse(example), float)


@pytest.mark.parametrize(("table", "key"), quantities())
def test_default_in_the_schema_is_spelled_as_in_a_file(table, key):
    entry = properties_of(table)[key]
    if entry.get("default") is not None and not isinstance(entry["default"], int | float):
        assert re.search(entry["pattern"], entry["default"])


def texts_in(entry: dict) -> list[dict]:
    inner = [part for choice in entry.get("anyOf", []) for part in texts_in(choice)]
    return [entry, *inner]


def test_schema_lets_a_preset_stand_for_its_table():
    by_name, in_full = SCHEMA["$defs"]["Glasses"]["anyOf"]
    assert by_name["enum"] == list(GLASSES_PRESETS)
    assert in_full["type"] == "object"
    data = SMALLEST | {"sitter": {"glasses": "sport wrap"}}
    assert setup_from_mapping(data).sitter.glasses.preset == "sport wrap"


def test_schema_requires_what_the_reader_requires():
    assert SCHEMA["required"] == required_keys(Setup) == ["room", "camera"]
    assert SCHEMA["additionalProperties"] is False
    assert setup_from_mapping(SMALLEST).lights == ()


def test_every_table_is_reached_from_the_top():
    reached, waiting = set(), [Setup]
    while waiting:
        model = waiting.pop()
        reached.add(model)
        inner = [table_in(field.annotation) for field in model.model_fields.values()]
        waiting += [table for table in inner if table is not None and table not in reached]
    assert reached == set(TABLES.values())


DOCUMENT = (Path(__file__).parents[2] / "docs" / "setup-file.md").read_text(encoding="utf-8")
HEADINGS = {
    "Setup": "The file",
    "Room": "`[room]`",
    "Sitter": "`[sitter]`",
    "FaceMeasures": "`[sitter.face]`",
    "Appearance": "`[sitter.look]`",
    "Glasses": "`[sitter.glasses]`",
    "Prescription": "`right` and `left` of `[sitter.glasses]`",
    "Companion": "`[[companion]]`",
    "Camera": "`[camera]`",
    "Place": "`place`",
    "Spot": "A spot on the floor",
    "Light": "`[[light]]`",
    "Head": "`head` of a light",
    "Luminaire": "`luminaire` of a head",
    "Modifier": "`modifier` of a light",
    "Gel": "`gel` of a light",
    "Meter": "`meter` of a light",
    "Stand": "`stand` of a light",
    "Panel": "`[[panel]]`",
    "Window": "`[[window]]`",
    "Screen": "`[[screen]]`",
    "Backdrop": "`[backdrop]`",
    "Circuit": "`[[circuit]]`",
    "Walkway": "`[[walkway]]`",
}


def rows_of(name: str) -> dict[str, tuple[str, str, str]]:
    section = DOCUMENT.split(f"\n### {HEADINGS[name]}\n")[1].split("\n##")[0]
    cells = [re.split(r" ?\| ?", line)[1:-1] for line in section.splitlines() if "`" in line]
    return {key.strip("`"): (what, allowed, default) for key, what, allowed, default in cells}


def test_document_has_a_section_for_every_table():
    assert set(HEADINGS) == set(TABLES)


@pytest.mark.parametrize("name", TABLES)
def test_document_has_every_key_and_no_other(name):
    assert list(rows_of(name)) == keys_of(TABLES[name])


@pytest.mark.parametrize(("table", "key"), quantities())
def test_document_gives_range_and_default_of_every_quantity(table, key):
    field = next(
        field for field in TABLES[table].model_fields.values() if field.validation_alias == key
    )
    quantity, (_, allowed, default) = quantity_in(field), rows_of(table)[key]
    for end in (quantity.low, quantity.high):
        assert quantity.kind.show(end, "metric") in allowed
    if field.is_required():
        assert default == "must be given"
    elif isinstance(field.default, int | float):
        written = quantity.kind.write(field.default, "metric")
        assert default == (written if isinstance(written, str) else f"{written:g}")


def test_example_with_every_key_has_every_key():
    smallest, full = re.findall(r"^```toml\n(.*?)^```", DOCUMENT, re.DOTALL | re.MULTILINE)
    assert setup_from_toml(smallest).notes == ()
    assert setup_from_toml(full).notes == ()
    for model in TABLES.values():
        for key in keys_of(model):
            assert re.search(rf"(^|[ {{\[.]){key}( =|\])", full, re.MULTILINE), key


@pytest.mark.parametrize(
    "presets", [GLASSES_PRESETS, MODIFIER_PRESETS, HEAD_PRESETS, GEL_PRESETS, STAND_PRESETS]
)
def test_document_gives_every_preset_with_its_assumptions(presets):
    for name, preset in presets.items():
        assert f"| `{name}` | {preset.assumptions} |" in DOCUMENT


def test_document_gives_what_is_assumed_of_modifiers_and_colors():
    for kind, efficiency in ASSUMED_EFFICIENCY.items():
        assert re.search(rf"{kind}[a-z ]*\s+{efficiency:g}".replace(" ", r"\s+"), DOCUMENT), kind
    for color, reflectance in COLORS.items():
        assert f'`"{color}"` {reflectance:g}' in DOCUMENT
    for name in (*SENSORS, *MATERIAL_INDEX):
        assert name in DOCUMENT
