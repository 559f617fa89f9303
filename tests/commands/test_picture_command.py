"""Stories of `tapemark picture` and `tapemark drill`, in small pictures."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

SMALL = ("--size", "48x60")


def mean_level(path: Path) -> float:
    from PIL import Image

    return float(np.asarray(Image.open(path)).mean())


def test_a_picture_is_written_and_says_how_it_was_traced(run, setups, tmp_path: Path) -> None:
    answer = run("picture", setups["troubled"], "-o", tmp_path / "shot.png", *SMALL)
    assert answer.code == 0
    assert "48 x 60 pixels, 2 samples a pixel" in answer.out
    assert "plain variant" in answer.out
    assert 40.0 < mean_level(tmp_path / "shot.png") < 140.0


def test_lights_are_kept_and_turned_without_rendering(run, setups, tmp_path: Path) -> None:
    given = ("picture", setups["cured"], *SMALL, "--lights", tmp_path / "lights", "--json")
    first = json.loads(run(*given, "-o", tmp_path / "a.png").out)
    assert first["lights"] == ["key", "fill"]
    assert first["tracer"] == "scalar_rgb"
    up = run(*given, "-o", tmp_path / "b.png", "--weights", "key=+1,fill=+1")
    again = json.loads(up.out)
    assert again["tracer"] is None
    assert again["reason"] == "mixed from lights kept before"
    assert mean_level(tmp_path / "b.png") > 1.2 * mean_level(tmp_path / "a.png")


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--size", "huge"), "columns and rows like 480x600"),
        (("--size", "9000x9000"), "8 megapixels"),
        (("-o", "shot.bmp"), "ends in .png"),
        (("--weights", "key"), "key=+1"),
        (("--weights", "lamp=+1"), "key, fill"),
    ],
)
def test_what_cannot_be_is_refused_with_what_can(run, setups, tmp_path, options, told) -> None:
    answer = run("picture", setups["troubled"], "-o", tmp_path / "a.png", *options)
    assert answer.code == 2
    assert told in answer.err


def test_close_and_clay_views_differ(run, setups, tmp_path: Path) -> None:
    for name, option in (("close", ("--crop", "glasses")), ("clay", ("--clay",))):
        out = tmp_path / f"{name}.png"
        assert run("picture", setups["troubled"], "-o", out, *SMALL, *option).code == 0
    from PIL import Image

    clay = np.asarray(Image.open(tmp_path / "clay.png")).astype(int)
    assert np.ptp(clay.mean(axis=(0, 1))) <= 2  # one grey everywhere
    close = np.asarray(Image.open(tmp_path / "close.png")).astype(int)
    assert np.ptp(close.mean(axis=(0, 1))) > 10


def test_drills_are_the_same_for_a_seed_and_scored_with_reasons(run: Any) -> None:
    given = ("drill", "--seed", "0", "--count", "1", "--no-pictures", "--json", "--answers")
    (one,) = json.loads(run(*given, "key,both,A").out)
    right = one["score"]["right"]
    best = ",".join((right["light"], right["surface"], right["moves"][0]))
    (again,) = json.loads(run(*given, best).out)
    assert again["setup"] == one["setup"]
    assert again["score"]["points"] == 3
    assert again["score"]["reasons"][0] == f"The lenses show {right['light']}."
    wrong = next(row["letter"] for row in one["moves"] if row["letter"] not in right["moves"])
    (lost,) = json.loads(run(*given, f"{right['light']},{right['surface']},{wrong}").out)
    assert lost["score"]["points"] == 2
    assert "The lenses are still" in lost["score"]["reasons"][2]


def test_a_drill_asks_in_plain_text(run: Any) -> None:
    answer = run("drill", "--count", "1", "--no-pictures", "--answers", "key,front,A")
    assert answer.code == 0
    assert "Drill 1" in answer.out
    assert "of 3 right" in answer.out


def test_answers_that_are_none_are_refused(run: Any) -> None:
    answer = run("drill", "--no-pictures", "--answers", "key")
    assert answer.code == 2
    assert "key,front,B" in answer.err
