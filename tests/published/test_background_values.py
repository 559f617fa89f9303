"""Tones and distances of backgrounds against printed values."""

import numpy as np
import pytest

from tapemark.analysis.background import srgb_byte
from tapemark.analysis.background_findings import (
    AS_SEEN_STOPS,
    GOOD_GAP_M,
    LEAST_GAP_M,
    WHITE_LEAST_LEVEL,
    WHITE_MOST_LEVEL,
)
from tapemark.photometry import FLAT, required_flash_exposure

WHITE_PAPER = 0.9
STOP = 1.0


def stops_over_paper(level):
    return float(np.log2(level / WHITE_PAPER))


def test_white_paper_read_like_the_face_is_in_the_240s():
    # SOURCE    [white-background-level] the first page named there
    # ASSUMES   incident light at the background equal to the key, 90 % paper, a straight curve
    # PRINTED   "240s", not clipped
    assert 240 <= srgb_byte(WHITE_PAPER) <= 249


@pytest.mark.parametrize(("reflectance", "printed"), [(0.90, 243), (0.18, 118)])
def test_bytes_of_paper_and_grey_card_by_the_srgb_curve(reflectance, printed):
    # SOURCE    [wcag22] for the curve, turned round; the values are derived from it
    # ASSUMES   exposure as a flat receptor reads, so that a level is the reflectance
    # PRINTED   linear level, 8-bit value; half a unit is the tolerance
    assert srgb_byte(reflectance) == printed
    encoded = printed / 255.0
    back = ((encoded + 0.055) / 1.055) ** 2.4
    slope = 2.4 * back / (encoded + 0.055) / 255.0
    np.testing.assert_allclose(back, reflectance, rtol=0, atol=0.5 * slope)


def test_white_paper_clips_a_seventh_of_a_stop_over_the_face_reading():
    # SOURCE    [white-background-level], the arithmetic named there
    # ASSUMES   straight curve up to a level of 1
    # PRINTED   +0.15 stop
    np.testing.assert_allclose(stops_over_paper(1.0), 0.15, rtol=0, atol=0.005)


# SOURCE    [white-background-level]
# ASSUMES   incident light at a white background against the key
# PRINTED   stops over the key called white; whether our range of clean white holds it
WHITES = [(0.0, True), (2.0, False), (3.0, False)]


@pytest.mark.parametrize(("stops", "held"), WHITES)
def test_the_sources_on_white_disagree_and_ours_keeps_the_least_of_them(stops, held):
    # The pages that ask for two and three stops are kept here as they are. Both are over our
    # limit, since the same sources list warns that two are "nonsense": see docs/sources.md.
    level = WHITE_PAPER * 2.0**stops
    assert (WHITE_LEAST_LEVEL <= level <= WHITE_MOST_LEVEL) is held


def test_white_ends_one_stop_over_paper_and_starts_in_the_240s():
    # SOURCE    [white-background-level]; the upper limit is ours, between the pages
    # ASSUMES   a straight curve
    # PRINTED   240s
    np.testing.assert_allclose(stops_over_paper(WHITE_MOST_LEVEL), 1.0, rtol=0, atol=1e-12)
    assert srgb_byte(WHITE_LEAST_LEVEL) == 240


def test_as_seen_means_the_reading_of_the_key():
    # SOURCE    [background-as-seen]
    # ASSUMES   flat receptor, C = 250
    # PRINTED   background = key, that is 0 stops; our tolerance holds 0 and not a whole stop
    level = 0.18 * required_flash_exposure(8.0, iso=100.0) / (FLAT * 64.0 / 100.0)
    np.testing.assert_allclose(level, 0.18, rtol=1e-12)
    assert 0.0 < AS_SEEN_STOPS < 1.0 * STOP


def test_distances_to_the_background():
    # SOURCE    [background-distance]
    # ASSUMES   sitter to background
    # PRINTED   3 to 4 m preferred; at least 1 m
    assert LEAST_GAP_M == 1.0
    assert 3.0 <= GOOD_GAP_M <= 4.0
