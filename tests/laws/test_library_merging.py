"""Two edits of one thing put together: nothing lost, nothing hidden, the order of no account."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.services.library.keeping import merge_bodies

LEAVES = st.none() | st.booleans() | st.integers(-9, 9) | st.text(max_size=5)
BODIES = st.dictionaries(
    st.sampled_from("abcdef"),
    st.recursive(LEAVES, lambda inner: st.lists(inner, max_size=3), max_leaves=5),
    max_size=4,
)


NAMED = st.lists(
    st.fixed_dictionaries(
        {"name": st.sampled_from(["key", "fill", "hair"]), "power": st.integers(0, 2)},
        optional={"place": st.dictionaries(st.sampled_from("xyz"), st.integers(0, 2))},
    ),
    max_size=3,
    unique_by=lambda item: item["name"],
)
SETS = st.fixed_dictionaries(
    {}, optional={"iso": st.integers(0, 2), "room": BODIES, "light": NAMED, "title": st.text()}
)


@given(base=SETS, mine=SETS)
def test_merging_with_no_edit_gives_the_other_edit(base, mine):
    for result in (
        merge_bodies(base, mine, base),
        merge_bodies(base, base, mine),
        merge_bodies(base, mine, mine),
    ):
        assert (result.body, result.clashes) == (mine, ())


def by_name(body):
    """A body with its lights in the order of their names."""
    lights = sorted(body.get("light", []), key=lambda item: item["name"])
    return {**body, "light": lights}


@given(base=SETS, mine=SETS, theirs=SETS)
def test_merging_does_not_ask_who_is_first(base, mine, theirs):
    one = merge_bodies(base, mine, theirs)
    other = merge_bodies(base, theirs, mine, prefer="theirs")
    assert sorted(clash.path for clash in one.clashes) == sorted(
        clash.path for clash in other.clashes
    )
    assert by_name(one.body) == by_name(other.body)


@given(base=SETS, mine=SETS, theirs=SETS)
def test_a_clash_is_where_both_changed_one_field_and_nowhere_else(base, mine, theirs):
    for clash in merge_bodies(base, mine, theirs).clashes:
        assert clash.mine != clash.theirs
        assert clash.base != clash.mine or clash.base is None
        assert clash.base != clash.theirs or clash.base is None


LIGHT = {"name": "key", "power": 1, "place": {"height": "1.4 m", "side": "30 deg"}}


def lit(**changes):
    """A set with one light changed, or with other lights."""
    return {"light": [{**LIGHT, **changes}, {"name": "fill", "power": 1}]}


@pytest.mark.parametrize(
    ("mine", "theirs", "merged"),
    [
        (lit(power=2), lit(on=False), lit(power=2, on=False)),
        (
            lit(place={"height": "1.9 m", "side": "30 deg"}),
            lit(place={"height": "1.4 m", "side": "40 deg"}),
            lit(place={"height": "1.9 m", "side": "40 deg"}),
        ),
        (lit(name="main"), lit(power=2), lit(name="main", power=2)),  # renamed and turned down
        ({"light": lit()["light"][:1]}, lit(power=2), {"light": lit(power=2)["light"][:1]}),
        (
            {"light": [*lit()["light"], {"name": "hair"}]},
            {"light": [{"name": "rim"}, *lit()["light"]]},
            {"light": [{"name": "rim"}, *lit()["light"], {"name": "hair"}]},
        ),
    ],
)
def test_edits_of_different_things_both_go_in(mine, theirs, merged):
    result = merge_bodies(lit(), mine, theirs)
    assert (result.body, result.clashes) == (merged, ())


@pytest.mark.parametrize(
    ("mine", "theirs", "path", "text"),
    [
        (lit(power=2), lit(power=3), "light.key.power", "light key power: here 2, there 3"),
        ({"light": lit()["light"][1:]}, lit(power=3), "light.key", "here taken out"),
        (lit(gel="half CTO"), lit(gel="full CTO"), "light.key.gel", "here half CTO, there full"),
    ],
)
def test_edits_of_one_field_clash_and_nothing_is_hidden(mine, theirs, path, text):
    result = merge_bodies(lit(), mine, theirs)
    assert [clash.path for clash in result.clashes] == [path]
    assert text in result.clashes[0].text
    assert result.body == mine
    assert merge_bodies(lit(), mine, theirs, prefer="theirs").body == theirs
