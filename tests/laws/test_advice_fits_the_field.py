"""What a message tells somebody to write is what the field takes."""

import pytest

from tapemark.errors import SetupError
from tapemark.services import demo_lists
from tapemark.studio import brief_from_toml, population_from_toml

BRIEF = demo_lists()["quillmere-brief.toml"]


def refused(read, text: str):
    with pytest.raises(SetupError) as stop:
        read(text)
    return stop.value.problems


@pytest.mark.parametrize(("given", "wanted"), [("1.5", "write 2"), ("11.6", "write 12")])
def test_a_count_is_advised_within_its_range(given, wanted):
    text = f'{BRIEF}\n[[panel]]\nwidth = "1 m"\nheight = "2 m"\ncount = {given}\n'
    (problem,) = [one for one in refused(brief_from_toml, text) if one.key.endswith("count")]
    assert problem.advice == wanted
    assert problem.allowed == "a whole number from 1 to 12"


def test_a_count_that_is_no_number_is_advised_within_its_range():
    text = f'{BRIEF}\n[[panel]]\nwidth = "1 m"\nheight = "2 m"\ncount = true\n'
    (problem,) = [one for one in refused(brief_from_toml, text) if one.key.endswith("count")]
    assert problem.advice == "write 1"


def test_a_time_to_build_is_advised_in_minutes():
    head, _, rest = BRIEF.partition("\ntime = ")
    text = (
        f'{head}\ntime = "soon"\n{rest.partition(chr(10))[2]}'
        if rest
        else f'time = "soon"\n{BRIEF}'
    )
    (problem,) = [one for one in refused(brief_from_toml, text) if one.key == "time"]
    assert '"30 min"' in problem.advice
    assert problem.allowed == "a time from 1 s to 1440 min"


@pytest.mark.parametrize("key", ["women", "coated"])
def test_a_share_of_people_has_no_colour(key):
    (problem,) = refused(population_from_toml, f'{key} = "lots"\n')
    assert problem.allowed == "a share or a percentage from 0 to 1"
    (problem,) = refused(population_from_toml, f'{key} = "white"\n')
    assert "white" not in problem.allowed + problem.advice
