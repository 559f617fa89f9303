"""A light behind the backdrop gives the sitter nothing, and that is said in plain words.

The finding is held against the emitters' own shadows: what the model meters at the face.
"""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tapemark.analysis.behind_backdrop import lights_behind_backdrop
from tapemark.services.check import check_setup
from tapemark.services.editing.edits import apply_edits
from tapemark.services.library.new_setups import demo_setups

ROOMY = apply_edits(
    next(iter(demo_setups())).setup,
    [
        {"set": "room.behind_sitter", "value": "3 m"},
        {"set": "backdrop.distance", "value": "1 m"},
        {"add": "light", "body": {"name": "hair"}},
    ],
)


def with_hair(x, y, z, *, aim="face", on=True):
    edits = [
        {"move": "light.hair", "x": x, "y": y},
        {"set": "light.hair.place.height", "value": f"{z} m"},
        {"set": "light.hair.on", "value": on},
    ]
    return apply_edits(ROOMY, [*edits, {"aim": "light.hair", "at": aim}])


def told(setup):
    return [one for one in check_setup(setup).findings if one.code == "light-behind-backdrop"]


def test_it_says_how_far_behind_and_what_to_do():
    (found,) = told(with_hair(0.2, -1.8, 1.9))
    assert "hair stands 0.80 m behind the backdrop" in found.text
    assert "in front of the backdrop" in found.what_to_do
    assert "hang the backdrop 1.90 m behind the sitter" in found.what_to_do
    assert found.severity == "caution"


def test_what_it_says_to_do_helps():
    setup = with_hair(0.2, -1.8, 1.9)
    (one,) = lights_behind_backdrop(setup)
    cures = (
        [{"set": "backdrop.distance", "value": f"{one.hang_m} m"}],
        [{"set": "light.hair.on", "value": False}],
        [{"move": "light.hair", "x": 0.2, "y": -0.8}],
    )
    for cure in cures:
        assert told(apply_edits(setup, cure)) == []


def test_the_backdrop_is_not_sent_through_the_wall():
    setup = apply_edits(
        with_hair(0.2, -2.5, 1.9), [{"set": "room.behind_sitter", "value": "2.55 m"}]
    )
    (found,) = told(setup)
    assert "hang the backdrop" not in found.what_to_do


@pytest.mark.parametrize("aim", ["ceiling", "wall camera-left", "wall camera-right"])
def test_light_that_may_come_around_is_left_alone(aim):
    assert told(with_hair(0.2, -1.8, 1.9, aim=aim)) == []


@settings(max_examples=8, deadline=None)
@given(st.floats(-2.0, 2.0), st.floats(-2.4, 1.5), st.floats(0.6, 1.9))
def test_what_is_told_gives_the_face_nothing(x, y, z):
    assume(abs(y + 1.0) > 0.1 and x * x + y * y > 0.5)
    setup = with_hair(round(x, 2), round(y, 2), round(z, 2))
    reading = next(one for one in check_setup(setup).exposure.lights if one.name == "hair")
    if told(setup):
        assert reading.aperture is None
    if y > -1.0:
        assert not told(setup)
