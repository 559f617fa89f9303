"""What is read from the first labelled pictures for reporting, against what the renderer knows.

SOURCE    tests/pictures/labelled: seeds 1, 3, ... 23 of scripts/labelled_pictures.py, none left out
ASSUMES   what counts as found and as false is said in scripts/score_readings.py
PRINTED   over all 152 pictures for reporting: docs/photos.md; a dozen can only hold that still
"""

import runpy
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

ROOT = Path(__file__).resolve().parents[2]
PICTURES = sorted((ROOT / "tests" / "pictures" / "labelled").glob("shot-*.jpg"))


@pytest.fixture(scope="module")
def scoring():
    return runpy.run_path(str(ROOT / "scripts" / "score_readings.py"))


@pytest.fixture(scope="module")
def scores(scoring):
    return [scoring["score_picture"](path) for path in PICTURES]


def test_the_pictures_are_the_first_for_reporting():
    assert [path.stem for path in PICTURES] == [f"shot-{seed:04d}" for seed in range(1, 24, 2)]


def test_labels_agree_with_what_is_said_to_show(scoring):
    for path in PICTURES:
        marks = np.asarray(Image.open(path.with_suffix(".png")))
        known = scoring["json"].loads(path.with_suffix(".json").read_text(encoding="utf-8"))
        sides = {one["side"] for one in known["shown"]}
        for side, bit in scoring["LENS_BITS"].items():
            shown = ((marks & 3) == bit) & ((marks & scoring["SHOWS"]) > 0)
            assert not shown.any() or side in sides
        assert not (((marks & scoring["GLARE"]) > 0) & ((marks & 112) == 0)).sum() > 60


def test_faces_glasses_and_lenses_are_found(scores):
    assert all(one.one_face and one.says_glasses == one.glasses for one in scores)
    assert sum(lens.lens >= 0.7 for one in scores for lens in one.lenses) >= 21  # 22 of 24


def test_glare_is_found_and_seldom_where_there_is_none(scores):
    lenses = [lens for one in scores for lens in one.lenses]
    assert sum(one.has_glare for one in lenses) == 10
    assert sum(one.is_found for one in lenses if one.has_glare) >= 8  # 9
    assert sum(one.is_bare for one in lenses) == 14
    assert sum(one.says_glare for one in lenses if one.is_bare) <= 2  # 1
