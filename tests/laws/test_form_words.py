"""Errors beside a form speak the form's words: no key of a file is left in them.

The labels are those of the set screen's own table of fields.
"""

import re

import pytest

from tapemark.errors import EditError
from tapemark.services.editing.edits import apply_edits
from tapemark.services.library.new_setups import demo_setups
from tapemark.web.form_words import in_form_words
from tapemark.web.set_screen.set_fields import field_tables

TROUBLED = next(iter(demo_setups())).setup
WRONG = {
    "light.key.place.height": ("tall", "The key's height"),
    "light.fill.place.distance": ("far", "The fill's distance"),
    "light.key.power": ("9/1", "The key's power"),
    "camera.aperture": ("x", "The camera's aperture"),
    "camera.iso": ("x", "The camera's ISO"),
    "room.height": ("1 m", "The room's height"),
    "sitter.eye_height": ("0", "The sitter's eye height"),
    "sitter.turn": ("x", "The sitter's face turned"),
    "backdrop.distance": ("9 m", "The backdrop's distance"),
}
A_KEY = re.compile(
    r"\b[a-z_]+\[\d+\]|\b(?:room|camera|sitter|backdrop|place|light)\.[a-z_]+|[a-z]_[a-z]"
)


def refusal(edit):
    with pytest.raises(EditError) as caught:
        apply_edits(TROUBLED, [edit])
    return str(caught.value)


@pytest.mark.parametrize("path", WRONG)
def test_a_refused_field_is_called_as_the_form_calls_it(path):
    value, called = WRONG[path]
    said = in_form_words(refusal({"set": path, "value": value}))
    assert said.startswith(f'{called} "{value}"'), said
    assert A_KEY.findall(said) == []


def test_the_words_are_the_labels_of_the_form():
    labels = {
        one["key"]: one["label"].lower() for table in field_tables().values() for one in table
    }
    for path, (_, called) in WRONG.items():
        assert called.lower().endswith(labels[path.rpartition(".")[2]])


@pytest.mark.parametrize(
    "edit",
    [
        {"rename": "light.key", "name": "fill"},
        {"raise": "light.key", "z": 9.0},
        {"move": "light.key", "x": 50.0, "y": 1.0},
        {"set": "light.key.place.height", "value": "9 m"},
        {"set": "room.behind_sitter", "value": "0.5 m"},
    ],
    ids=str,
)
def test_no_key_is_left_wherever_it_stood(edit):
    said = in_form_words(refusal(edit))
    assert A_KEY.findall(said) == []
    assert said[0] == said[0].upper()


def test_what_is_in_plain_words_already_stays():
    for text in ("There is nothing to merge: make the change again.", "write 1.4 m", ""):
        assert in_form_words(text) == text
