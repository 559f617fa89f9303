"""What must hold of a walk-in share, whoever comes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.analysis import emitters
from tapemark.errors import SetupError
from tapemark.planning import (
    Watch,
    gathered,
    sample_wearers,
    share_of,
    walk_in_share,
)
from tapemark.planning.walk_ins.interval import gain_of_sample, share_of_sample
from tapemark.planning.walk_ins.wearer_faces import eye_heights_m, faces_before
from tapemark.planning.walk_ins.wearer_glare import what_lenses_show
from tapemark.planning.walk_ins.wearer_light import light_at_eyes
from tapemark.planning.walk_ins.wearer_looks import TOGETHER, looks_before
from tapemark.planning.walk_ins.wearer_nodes import lens_nodes
from tapemark.services import demo_setup_text
from tapemark.studio import (
    Glasses,
    Light,
    Place,
    Population,
    changed,
    population_from_toml,
    setup_from_toml,
    with_light,
)

EVERYBODY = Population()
COUNT = 150


@pytest.fixture(scope="module")
def setup():
    return setup_from_toml(demo_setup_text("quillmere-cured"))


@pytest.fixture(scope="module")
def wearers():
    return sample_wearers(EVERYBODY, count=COUNT, seed=3)


@pytest.fixture(scope="module")
def found(setup):
    return walk_in_share(setup, count=COUNT, seed=3, moves=False)


def test_same_seed_gives_the_same_answer_and_another_one_other_people(setup, found):
    assert walk_in_share(setup, count=COUNT, seed=3, moves=False) == found
    other = sample_wearers(EVERYBODY, count=COUNT, seed=4)
    assert not np.array_equal(
        other.sphere_d, sample_wearers(EVERYBODY, count=COUNT, seed=3).sphere_d
    )


def test_shares_are_nested(found):
    assert found.ready.hits <= min(found.clear.hits, found.live.hits)
    assert found.clear.hits <= found.clear_or_edge.hits <= found.count == COUNT
    for share in (found.clear, found.clear_or_edge, found.live, found.ready):
        assert 0.0 <= share.low <= share.share <= share.high <= 1.0


def test_each_kind_of_group_is_made_of_everybody(found):
    for by in ("prescription", "frame", "eye height"):
        own = [group for group in found.groups if group.by == by]
        assert sum(group.part for group in own) > 0.9  # groups of fewer than ten are left out
        assert sum(group.clear.hits for group in own) <= found.clear.hits


def test_light_beside_the_lens_lowers_the_share(setup, wearers):
    before = share_of(setup, wearers, population=EVERYBODY)
    beside = changed(
        setup.lights[0],
        {"name": "beside", "place": Place(distance_m=1.9, side_deg=8.0, height_m=1.25)},
    )
    after = share_of(with_light(setup, beside), wearers, population=EVERYBODY)
    assert after.clear < before.clear - 0.5
    assert after.clear_or_edge < before.clear_or_edge - 0.5


def test_nothing_shows_in_the_dark_and_no_eye_lives(setup, wearers):
    dark = changed(setup, {"lights": tuple(changed(one, {"on": False}) for one in setup.lights)})
    found = share_of(dark, wearers, population=EVERYBODY)
    assert (found.clear, found.live) == (1.0, 0.0)


def test_empty_room_has_nothing_to_show(setup, wearers):
    empty = changed(setup, {"lights": (), "backdrop": None})
    found = share_of(empty, wearers, population=EVERYBODY)
    assert (found.clear, found.live) == (1.0, 0.0)


def test_mirrored_setup_has_the_same_share(setup, found):
    def turned(light: Light) -> Light:
        return changed(light, {"place": changed(light.place, {"side_deg": -light.place.side_deg})})

    mirrored = changed(setup, {"lights": tuple(turned(one) for one in setup.lights)})
    other = walk_in_share(mirrored, count=COUNT, seed=3, moves=False)
    assert other.clear.low <= found.clear.share <= other.clear.high


def test_sitter_in_the_file_leaves_walk_ins_alone(setup, found):
    """Their own glasses, face, name and companions do not count; their mark and pose do."""
    glasses = Glasses(preset="large fashion frame, plano")
    other = changed(setup.sitter, {"glasses": glasses, "name": "somebody", "age_years": 20})
    same = walk_in_share(changed(setup, {"sitter": other}), count=COUNT, seed=3, moves=False)
    assert (same.clear, same.groups) == (found.clear, found.groups)


def test_crowd_serves_for_all_setups_that_differ_in_lights(setup, wearers):
    crowd = gathered(setup, wearers, population=EVERYBODY)
    raised = with_light(
        setup,
        changed(setup.lights[1], {"place": changed(setup.lights[1].place, {"height_m": 1.5})}),
    )
    for one in (setup, raised):
        with_crowd = share_of(one, wearers, population=EVERYBODY, crowd=crowd)
        assert with_crowd == share_of(one, wearers, population=EVERYBODY)


def test_quick_share_is_near_the_close_one(setup, wearers, found):
    quick = share_of(setup, wearers, population=EVERYBODY)
    assert quick.clear == pytest.approx(found.clear.share, abs=0.03)
    assert quick.live == found.live.share


def test_stool_decides_where_the_eyes_are(setup, wearers):
    sitter = setup.sitter
    as_set = eye_heights_m(sitter, wearers, population=EVERYBODY)
    assert as_set.std() > 0.03
    assert as_set.mean() == pytest.approx(sitter.eye_height_m, abs=0.015)
    each = population_from_toml('seat = "set for each"')
    assert set(eye_heights_m(sitter, wearers, population=each)) == {sitter.eye_height_m}
    high = population_from_toml('seat_height = "60 cm"')
    np.testing.assert_allclose(
        eye_heights_m(sitter, wearers, population=high), wearers.seated_eye_m + 0.6
    )
    standing = changed(sitter, {"posture": "standing"})
    assert eye_heights_m(standing, wearers, population=each).std() == 0.0
    assert eye_heights_m(standing, wearers, population=EVERYBODY).mean() > 1.5


def test_single_precision_changes_nothing_that_shows(wearers):
    setup = setup_from_toml(demo_setup_text("quillmere-troubled"))
    camera = np.array(setup.camera.place.position_m)
    faces = faces_before(setup, wearers, population=EVERYBODY)
    nodes, sending = lens_nodes(faces, camera=camera), emitters(setup)
    received = light_at_eyes(faces, sending)
    everywhere = np.broadcast_to(nodes.traced, (len(sending), 2, 2 * COUNT))
    double, lean = (
        what_lenses_show(*both, sending, received=light, lattice=(24, 32), met=everywhere)
        for both, light in (
            ((faces, nodes), received),
            ((faces.in_single(), nodes.in_single()), received.astype(np.float32)),
        )
    )
    assert double.veil.max() > 0.01
    for name in ("lens_cover", "veil", "covers", "veils"):
        np.testing.assert_allclose(getattr(lean, name), getattr(double, name), atol=2e-5)


def test_first_looks_do_not_hang_on_earlier_ones(setup, wearers):
    crowd = gathered(setup, wearers, population=EVERYBODY)
    aside = with_light(setup, changed(setup.lights[0], {"power_stops": -6.0}))
    looks_before(aside, crowd, closely=False)
    after = looks_before(setup, crowd, closely=False)
    anew = looks_before(setup, gathered(setup, wearers, population=EVERYBODY), closely=False)
    np.testing.assert_array_equal(after.verdict, anew.verdict)
    np.testing.assert_array_equal(after.covers, anew.covers)


def test_stopping_keeps_the_first_wearers(setup):
    wearers = sample_wearers(EVERYBODY, count=TOGETHER + 20, seed=3)
    crowd = gathered(setup, wearers, population=EVERYBODY)
    whole = looks_before(setup, crowd)
    watch = Watch()
    watch.tell = lambda text: setattr(watch, "stopped", True)
    part = looks_before(setup, crowd, watch=watch)
    assert 0 < len(part) < len(whole)
    np.testing.assert_array_equal(part.verdict, whole.verdict[: len(part)])
    np.testing.assert_array_equal(part.live, whole.live[: len(part)])


def test_stopped_share_says_so(setup):
    watch = Watch(stopped=True)
    found = walk_in_share(setup, count=COUNT, seed=3, watch=watch)
    assert found.interrupted
    assert found.count == 0
    assert (found.clear.low, found.clear.high) == (0.0, 1.0)


def test_best_move_gains_and_is_offered_with_its_setup(setup):
    found = walk_in_share(setup, count=240, seed=2)
    assert found.moves
    best = found.moves[0]
    assert best.gain.low > 0 or best.free_gain.low > 0
    assert best.gain.low <= best.gain.gain <= best.gain.high
    moved = [
        name for name in ("lights", "camera") if getattr(best.setup, name) != getattr(setup, name)
    ]
    assert len(moved) == 1
    assert best.setup.sitter == setup.sitter


@given(hits=st.integers(0, 400), more=st.integers(0, 400))
def test_interval_holds_its_share_and_narrows(hits, more):
    small = share_of_sample(hits, hits + more)
    large = share_of_sample(16 * hits, 16 * (hits + more))
    assert small.low <= small.share <= small.high
    assert large.high - large.low <= small.high - small.low
    mirrored = share_of_sample(more, hits + more)
    assert mirrored.low == pytest.approx(1.0 - small.high)


@given(gained=st.integers(0, 200), lost=st.integers(0, 200), same=st.integers(0, 200))
def test_gain_turns_around_with_its_sides(gained, lost, same):
    one = gain_of_sample(gained, lost, gained + lost + same)
    other = gain_of_sample(lost, gained, gained + lost + same)
    assert one.gain == pytest.approx(-other.gain)
    assert one.low == pytest.approx(-other.high)
    assert -1.0 <= one.low <= one.high <= 1.0


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("coatd = 0.4", "coatd"),
        ("coated = 40", "coated"),
        ("[poses]\nturn = 5", "poses.turn"),
        ('[[kind]]\nkind = "single vision"\nunder_45 = 0.5\nfrom_45 = 1.0', "kind under_45"),
        ('seat = "high"', "seat"),
        ('[women_build]\nseated_eye = "7.4 m"', "women_build.seated_eye"),
        ("age = []", "age"),
        (
            "[[age]]\nfrom = 60\nto = 20\npeople = 1\nglasses = 1\nshort_sighted = 1\n"
            "long_sighted = 0",
            "age[1] to",
        ),
    ],
)
def test_bad_population_is_refused_with_its_key(text, key):
    with pytest.raises(SetupError) as refused:
        population_from_toml(text)
    assert any(problem.key.startswith(key) for problem in refused.value.problems)
    assert all(problem.advice for problem in refused.value.problems)


def test_described_population_is_the_one_drawn():
    text = """
    women = 0.2
    coated = 1.0
    seat = "set for each"
    [[age]]
    from = 20
    to = 29
    people = 1.0
    glasses = 0.5
    short_sighted = 1.0
    long_sighted = 0.0
    [[kind]]
    kind = "single vision"
    under_45 = 1.0
    from_45 = 1.0
    [fit]
    pantoscopic_tilt = "12 deg"
    pantoscopic_tilt_spread = "0 deg"
    [women_build]
    interpupillary = "60 mm"
    """
    drawn = sample_wearers(population_from_toml(text), count=4000, seed=1)
    assert drawn.woman.mean() == pytest.approx(0.2, abs=0.03)
    assert drawn.coated.all()
    assert set(drawn.kind) == {0}
    assert (drawn.age_years.min(), drawn.age_years.max()) == (20, 29)
    assert drawn.spherical_equivalent_d.mean(axis=1).max() < 0.5
    np.testing.assert_allclose(drawn.pantoscopic_tilt_deg, 12.0)
    assert drawn.interpupillary_mm[drawn.woman].mean() == pytest.approx(60.0, abs=0.5)
    assert drawn.interpupillary_mm[~drawn.woman].mean() == pytest.approx(64.0, abs=0.3)
