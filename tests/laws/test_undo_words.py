"""What undo and redo say: which change it was, and nothing of how things stood then."""

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapemark.services.editing.edits import apply_edits, edits_in_words
from tapemark.services.library.new_setups import demo_setups
from tapemark.services.library.stepping import step, step_text
from tapemark.store import Library
from tapemark.studio import setup_to_mapping

TROUBLED = next(iter(demo_setups())).setup


@pytest.mark.parametrize(
    ("why", "said"),
    [
        ("key: 12 cm up, now 1.52 m high", "key, 12 cm up"),
        ("key: moved 9 cm and 4 cm up, now 1.5 m out, 12°, 1.44 m high",
         "key, moved 9 cm and 4 cm up"),
        ("fill: power now 1/4, was 1/8", "fill, power from 1/8 to 1/4"),
        ("camera: aperture now f/8, was f/5.6; light hair added",
         "camera, aperture from f/5.6 to f/8; light hair added"),
        ("key is now called main", "key renamed main"),
        ("", ""),
    ],
)  # fmt: skip
def test_a_change_is_said_without_what_is_no_longer_so(why, said):
    assert step_text(why) == said


@settings(max_examples=25)
@given(st.floats(-2.0, 2.0), st.floats(0.5, 3.0), st.sampled_from(["1/2", "1/16"]))
def test_whatever_was_done_can_be_said(x, y, power):
    edits = [
        {"move": "light.key", "x": x, "y": y},
        {"set": "light.fill.power", "value": power},
        {"turn": "sitter.head", "deg": 10 * x},
    ]
    for edit in edits:
        said = step_text(edits_in_words(TROUBLED, apply_edits(TROUBLED, [edit])))
        assert " now " not in said
        assert not re.search(r"\bwas\b", said)


def test_steps_there_and_back_name_the_same_change(tmp_path: Path):
    with Library.open(tmp_path / "library.sqlite") as library:
        body = setup_to_mapping(TROUBLED)
        kept = library.add("setup", name="Desk", body=body)
        changed = {**body, "title": "other"}
        kept = library.save(
            kept.id, changed, base_revision=kept.revision, why="key: 12 cm up, now 1.52 m high"
        )
        back = step(library, kept.id, "undo", base_revision=kept.revision)
        assert (back.words, back.kept.body) == ("undone: key, 12 cm up", body)
        end = step(library, kept.id, "undo", base_revision=back.kept.revision)
        assert end.words == "nothing to undo"
        there = step(library, kept.id, "redo", base_revision=end.kept.revision)
        assert (there.words, there.kept.body) == ("done again: key, 12 cm up", changed)
