"""The set screen shows every field of a setup file, each with its meaning."""

import pytest

from tapemark.services import json_schema
from tapemark.web.set_screen.set_fields import LABELS, LEFT_OUT, field_tables

TABLES = field_tables()
DEFINITIONS = json_schema()["$defs"]


def own_table(name):
    definition = DEFINITIONS[name]
    both = definition.get("anyOf", [definition])
    return next(one for one in both if "properties" in one)


@pytest.mark.parametrize("name", sorted(TABLES))
def test_every_key_of_a_table_is_a_field_and_no_other(name):
    keys = [key for key in own_table(name)["properties"] if key not in LEFT_OUT]
    assert [field["key"] for field in TABLES[name]] == keys


@pytest.mark.parametrize("name", sorted(TABLES))
def test_every_field_has_a_label_a_meaning_and_a_way_to_fill_it_in(name):
    for field in TABLES[name]:
        assert field["label"][0].isupper()
        assert len(field["why"]) > 5
        assert "`" not in field["why"]
        assert field["kind"] in {"text", "choice", "flag", "part"}
        if field["kind"] == "choice":
            assert field["options"]
        if field["kind"] == "part":
            assert field["part"] in TABLES


def test_what_must_be_there_is_marked_and_has_an_example():
    height = next(one for one in TABLES["Place"] if one["key"] == "height")
    assert height["needed"]
    assert height["example"] == "1.4 m"
    assert not any(one["needed"] for one in TABLES["Sitter"])


def test_presets_are_those_of_the_studio():
    modifier = next(one for one in TABLES["Light"] if one["key"] == "modifier")
    assert "medium softbox 60x90 cm" in modifier["presets"]
    gel = next(one for one in TABLES["Light"] if one["key"] == "gel")
    assert gel["optional"]


def test_labels_are_of_keys_that_there_are():
    keys = {field["key"] for table in TABLES.values() for field in table}
    assert set(LABELS) <= keys
