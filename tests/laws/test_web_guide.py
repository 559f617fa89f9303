"""The page Guide in process: six figures, each drawn anew for a form or a script."""

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest
from tests.asgi import PORT, Driven
from tests.laws.test_web_fuzz import assert_sound
from tests.laws.test_web_start import SETUP, keep, patience

from tapemark.services.guide.topics import TOPICS
from tapemark.web import Settings, create_app

__all__ = ["patience"]


@pytest.fixture(scope="module")
def driven(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Driven]:
    path = tmp_path_factory.mktemp("library") / "library.sqlite"
    with Driven(create_app(Settings(port=PORT, library=path, ready=False))) as found:
        yield found


def test_all_topics_are_there_with_their_figures_and_no_name_is_used_twice(driven):
    text = driven.get("/guide").text
    for topic in TOPICS:
        assert topic.title in text
        assert f'data-topic="{topic.key}"' in text
    assert text.count("<svg") >= 2 * len(TOPICS)
    names = re.findall(r"""\bid=["']([^"']+)""", text)
    assert sorted(names) == sorted(set(names))
    for name in re.findall(r"url\(#([^)]+)\)|href='#([^']+)'", text):
        assert "".join(name) in names


def test_a_form_without_a_script_draws_the_topic_it_was_sent_for(driven):
    before = driven.get("/guide").text
    after = driven.get("/guide?topic=angle&height=2.2").text
    told = re.compile(r'data-value="height" aria-hidden="true">([^<]+)')
    assert told.findall(before)[0] == "1.25 m"
    assert told.findall(after)[0] == "2.20 m"
    assert told.findall(after)[1:] == told.findall(before)[1:]


def test_a_script_gets_panels_words_and_values(driven):
    answer = driven.get("/guide/place/figure?side=-30&height=2.1")
    figure: dict[str, Any] = json.loads(answer.text)
    assert [one["kind"] for one in figure["panels"]] == ["places", "seen"]
    assert figure["values"]["side"] == {"value": -30.0, "words": "30° camera-right"}
    assert figure["verdict"] == "clear"


def test_words_are_in_the_units_of_the_set_that_was_worked_on_last(driven):
    keep(driven, "setup", {**SETUP, "units": "us"}, name="a set in feet")
    assert "4 ft 1 in" in driven.get("/guide").text
    assert "1.25 m" in driven.get("/guide?units=metric").text


@pytest.mark.parametrize(
    ("target", "status"),
    [
        ("/guide?topic=angle&height=nan", 400),
        ("/guide?topic=angle&height=99", 400),
        ("/guide?topic=nothing&height=99", 200),
        ("/guide/place/figure?side=x", 400),
        ("/guide/nothing/figure", 404),
        ("/guide/bounce/figure?aim=7", 400),
    ],
)
def test_what_cannot_be_drawn_is_refused_and_named(driven, target, status):
    answer = driven.get(target)
    assert answer.status == status
    assert_sound(answer)
    if "height=" in target and status == 400:
        assert "Height of the light" in answer.text
