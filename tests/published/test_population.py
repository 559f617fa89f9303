"""The default population against the surveys it is taken from, and intervals against a paper."""

import numpy as np
import pytest

from tapemark.planning import sample_wearers
from tapemark.planning.walk_ins.interval import share_of_sample
from tapemark.studio import Population

MANY = 100_000  # wearers: chance moves a mean by less than 0.4 % of its spread


@pytest.fixture(scope="module")
def wearers():
    return sample_wearers(Population(), count=MANY, seed=5)


# SOURCE    [ansur-ii-2012] public data files, men (4082) and women (1986)
# ASSUMES   walk-ins are built like them; standing eye height barefoot is derived, not measured
# PRINTED   measure, women mean, women SD, men mean, men SD, in the unit of the name
BUILD = [
    ("interpupillary_mm", 61.7, 3.6, 64.0, 3.4),
    ("bizygomatic_mm", 133.8, 5.6, 142.6, 6.2),
    ("head_breadth_mm", 147.8, 5.2, 154.3, 5.5),
    ("head_length_mm", 189.8, 7.5, 199.5, 7.0),
    ("face_height_mm", 113.1, 6.1, 122.6, 6.7),
    ("seated_eye_m", 0.7477, 0.0304, 0.8045, 0.0332),
    ("standing_eye_m", 1.5195, 0.0617, 1.6424, 0.0665),
]
OF_SPREAD = 0.02  # five standard errors of a mean over 47,000 men


@pytest.mark.parametrize(("measure", "women", "women_sd", "men", "men_sd"), BUILD)
def test_sample_has_the_means_and_spreads_of_the_survey(
    wearers, measure, women, women_sd, men, men_sd
):
    values = getattr(wearers, measure)
    for chosen, mean, spread in ((wearers.woman, women, women_sd), (~wearers.woman, men, men_sd)):
        assert values[chosen].mean() == pytest.approx(mean, abs=OF_SPREAD * spread)
        assert values[chosen].std() == pytest.approx(spread, rel=0.02)


# SOURCE    [ansur-ii-2012] correlations in the public data files
# ASSUMES   sitting and standing eye height go together as sitting eye height and stature do
# PRINTED   measures, women, men [-]
TOGETHER = [
    ("interpupillary_mm", "bizygomatic_mm", 0.48, 0.44),
    ("interpupillary_mm", "head_breadth_mm", 0.28, 0.31),
    ("seated_eye_m", "standing_eye_m", 0.74, 0.76),
]
ATOL = 0.015  # four standard errors of a correlation, and half of the last printed digit


@pytest.mark.parametrize(("one", "other", "women", "men"), TOGETHER)
def test_measures_go_together_as_in_the_survey(wearers, one, other, women, men):
    for chosen, printed in ((wearers.woman, women), (~wearers.woman, men)):
        pair = getattr(wearers, one)[chosen], getattr(wearers, other)[chosen]
        assert np.corrcoef(*pair)[0, 1] == pytest.approx(printed, abs=ATOL)


# SOURCE    [allensbach-glasses] survey of 2014, people of 16 and over
# ASSUMES   the ages of the people who come are ours, so that the whole may differ by a few points
# PRINTED   age band, share who wear glasses; all together 63.5 %
GLASSES = [(18, 0.32), (30, 0.38), (45, 0.73), (60, 0.92)]
OTHER_AGES = 0.03


def test_as_many_wear_glasses_as_in_the_survey():
    found = [(band.from_years, band.glasses) for band in Population().ages]
    assert found == GLASSES
    assert Population().wearing == pytest.approx(0.635, abs=OTHER_AGES)


# SOURCE    [allensbach-glasses] men 59 %, women 67 % wear glasses
# ASSUMES   as many women as men come
def test_women_among_wearers_follow_from_the_survey(wearers):
    assert Population().women == pytest.approx(67 / (59 + 67), abs=0.005)
    assert wearers.woman.mean() == pytest.approx(67 / (59 + 67), abs=0.007)


# SOURCE    [leipzig-refraction] abstract
# ASSUMES   the short-sighted of a clinic and those who wear glasses are alike; a gamma
#           distribution from -0.5 D is ours, lenses are made in steps of 0.25 D
# PRINTED   mean -2.62, SD 2.49 D; -5 D or worse: 13.3 % of them
def test_short_sighted_are_as_strong_as_in_the_survey():
    drawn = sample_wearers(
        _single_vision(short_sighted=1.0, long_sighted=0.0), count=MANY, seed=6
    ).spherical_equivalent_d.mean(axis=1)
    assert drawn.mean() == pytest.approx(-2.62, abs=0.05)  # steps of 0.25 D, cut off at -18 D
    assert drawn.std() == pytest.approx(2.49, abs=0.08)
    assert (drawn <= -5.0).mean() == pytest.approx(0.133, abs=0.01)  # not fitted to it


# SOURCE    [clinic-refraction] PMC8569398
# PRINTED   long-sighted +1.04 +- 0.9 D
def test_long_sighted_are_as_strong_as_in_the_clinics():
    drawn = sample_wearers(
        _single_vision(short_sighted=0.0, long_sighted=1.0), count=MANY, seed=7
    ).spherical_equivalent_d.mean(axis=1)
    assert drawn.mean() == pytest.approx(1.04, abs=0.03)
    assert drawn.std() == pytest.approx(0.9, abs=0.08)


# SOURCE    [coating-share-2004] AR Council: Europe 75 %
# ASSUMES   of lenses made to a prescription; ready-made and plano ones are taken as uncoated
def test_as_many_prescription_lenses_are_coated_as_reported(wearers):
    made = np.isin(wearers.kind, (0, 1))
    assert wearers.coated[made].mean() == pytest.approx(0.75, abs=0.01)
    assert not wearers.coated[~made].any()


# SOURCE    [cooksey-2017] luminous reflectance of 100 people
# PRINTED   mean 0.359, SD 0.063
def test_skin_is_as_light_as_measured(wearers):
    assert wearers.skin_reflectance.mean() == pytest.approx(0.359, abs=0.0015)
    assert wearers.skin_reflectance.std() == pytest.approx(0.063, abs=0.0015)


# SOURCE    [newcombe-1998] table I, method 3 (Wilson's score interval), 95 %; from memory
# PRINTED   hits, sample, lower and upper limit
INTERVALS = [
    (81, 263, 0.2553, 0.3662),
    (15, 148, 0.0624, 0.1605),
    (0, 20, 0.0000, 0.1611),
    (1, 29, 0.0061, 0.1718),
]
HALF_DIGIT = 0.5e-4


@pytest.mark.parametrize(("hits", "count", "low", "high"), INTERVALS)
def test_interval_matches_the_paper(hits, count, low, high):
    found = share_of_sample(hits, count)
    assert found.low == pytest.approx(low, abs=HALF_DIGIT)
    assert found.high == pytest.approx(high, abs=HALF_DIGIT)


def _single_vision(*, short_sighted: float, long_sighted: float) -> Population:
    whole = Population()
    band = whole.ages[0].model_copy(
        update={"people": 1.0, "short_sighted": short_sighted, "long_sighted": long_sighted}
    )
    kind = whole.kinds[0].model_copy(update={"under_45": 1.0, "from_45": 1.0})
    return whole.model_copy(update={"ages": (band,), "kinds": (kind,)})
