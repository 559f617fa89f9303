"""Stories of `tapemark picture` and `tapemark drill`, in small pictures."""

import json
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tapemark.rendering import EFFORTS, Photographer, Watching
from tapemark.services import demo_setup_text
from tapemark.services.picture import PictureWanted, pictures_so_far, take_picture, turned
from tapemark.studio import setup_from_toml

SMALL = ("--size", "48x60")


def mean_level(path: Path) -> float:
    from PIL import Image

    return float(np.asarray(Image.open(path)).mean())


def test_a_picture_is_written_and_says_how_it_was_traced(run, setups, tmp_path: Path) -> None:
    answer = run("picture", setups["troubled"], "-o", tmp_path / "shot.png", *SMALL)
    assert answer.code == 0
    assert "48 x 60 pixels, 1 sample a pixel" in answer.out
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


def unlit(tmp_path: Path) -> Path:
    text = demo_setup_text("quillmere-cured")
    start, end = text.index("[[light]]"), text.index("[backdrop]")
    setup = tmp_path / "unlit.toml"
    setup.write_text(text[:start] + text[end:], encoding="utf-8")
    return setup


def test_a_picture_that_nothing_lights_says_why_it_is_black(run, tmp_path: Path) -> None:
    answer = run("picture", unlit(tmp_path), "-o", tmp_path / "a.png", *SMALL)
    assert answer.code == 0
    assert "nothing shines" in answer.out
    assert mean_level(tmp_path / "a.png") == 0.0


def test_a_picture_stopped_in_its_first_pass_has_no_holes(monkeypatch) -> None:
    """The tracer leaves parts of a pass black when somebody presses Ctrl-C in it."""
    traced, pressed = Photographer._base, []

    def cut_short(self: Photographer, face: Any, **asked: int) -> Any:
        image = traced(self, face, **asked)
        if not pressed:
            pressed.append(True)
            image = np.array(image)
            image[:20] = 0.0
        return image

    monkeypatch.setattr(Photographer, "_base", cut_short)
    setup = setup_from_toml(demo_setup_text("quillmere-cured"), name="demo")
    wanted = PictureWanted(size=(48, 60), effort=replace(EFFORTS["preview"], samples=2))
    taken = take_picture(setup, wanted, watching=Watching(stopped=lambda: bool(pressed)))
    assert not taken.complete
    assert taken.samples == 1
    assert (taken.values.mean(axis=-1) > 0.0).all()


def test_lights_of_a_set_without_any_are_refused(run, tmp_path: Path) -> None:
    given = ("picture", unlit(tmp_path), "-o", tmp_path / "a.png", *SMALL)
    answer = run(*given, "--lights", tmp_path / "lights")
    assert answer.code == 2
    assert "switch a light on, or add one" in answer.err


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--size", "huge"), "columns and rows like 480x600"),
        (("--size", "9000x9000"), "8 megapixels"),
        (("-o", "shot.bmp"), "ends in .png"),
        (("--weights", "key"), "key=+1"),
        (("--weights", "lamp=+1"), "key, fill"),
        (("--weights", "key=+1, key=-1"), "key is named twice"),
        (("--weights", "key=+21"), "from -20 to +20"),
    ],
)
def test_what_cannot_be_is_refused_with_what_can(run, setups, tmp_path, options, told) -> None:
    answer = run("picture", setups["troubled"], "-o", tmp_path / "a.png", *options)
    assert answer.code == 2
    assert told in answer.err


@pytest.mark.parametrize(
    ("options", "told", "key"),
    [
        (("--size", "huge"), "columns and rows like 480x600", None),
        (("--size", "9000x9000"), "8 megapixels", "--size"),
        (("--weights", "lamp=+1"), "key, fill", "--weights"),
    ],
)
def test_errors_are_json_where_json_was_asked_for(
    run, setups, tmp_path: Path, options, told, key
) -> None:
    given = ("picture", setups["troubled"], "-o", tmp_path / "a.png", *options, "--json")
    answer = run(*given)
    assert answer.code == 2
    error = json.loads(answer.out)["error"]
    assert told in error["text"]
    assert [one["key"] for one in error["problems"]] == ([] if key is None else [key])
    assert told in answer.err


@pytest.mark.parametrize("command", [("picture",), ("check",), ("drill", "--setup")])
def test_a_brief_in_place_of_a_setup_is_told_in_one_line(
    run, tmp_path: Path, command: tuple[str, ...]
) -> None:
    brief = tmp_path / "brief.toml"
    brief.write_text(demo_setup_text("quillmere-brief"), encoding="utf-8")
    answer = run(*command, brief)
    assert answer.code == 2
    assert answer.err.splitlines() == [
        f"{brief}: is a brief, not a setup; let tapemark plan make setups of it "
        "(--out FOLDER keeps them), or give a setup"
    ]


def test_an_option_at_fault_is_told_in_one_line_that_names_it(run, setups, tmp_path) -> None:
    answer = run("picture", setups["troubled"], "-o", tmp_path / "a.png", "--size", "5x5")
    assert answer.code == 2
    assert answer.err.splitlines() == [
        "--size 5x5: write it like 480x600 (allowed: from 16 pixels a side to 8 megapixels)"
    ]


def test_a_light_with_a_comma_in_its_name_is_turned_by_its_whole_name(
    run, setups, tmp_path: Path
) -> None:
    text = setups["cured"].read_text(encoding="utf-8")
    assert 'name = "key"' in text
    setups["cured"].write_text(text.replace('name = "key"', 'name = "key, left"'), encoding="utf-8")
    given = ("picture", setups["cured"], *SMALL, "-o", tmp_path / "a.png", "--json", "--weights")
    answer = run(*given, "fill = -0.5, key, left=+1")
    assert json.loads(answer.out)["weights"] == {"fill": -0.5, "key, left": 1.0}
    wrong = run(*given, "key=+1")
    assert wrong.code == 2
    assert '(allowed: "key, left", fill)' in wrong.err


def test_lights_of_a_picture_stopped_early_are_not_said_to_be_kept(
    run, setups, tmp_path: Path, monkeypatch
) -> None:
    traced = Photographer.each_light

    def one_only(self: Photographer) -> Any:
        yield next(traced(self))

    monkeypatch.setattr(Photographer, "each_light", one_only)
    lights = tmp_path / "lights"
    answer = run("picture", setups["cured"], "-o", tmp_path / "a.png", *SMALL, "--lights", lights)
    assert answer.code == 1
    assert f"key so far; none of them is kept in {lights}" in answer.out
    assert "0 samples" not in answer.out
    assert "Stopped early" in answer.err


def test_a_place_that_takes_no_file_is_refused_before_anything_is_rendered(
    run, setups, tmp_path: Path, monkeypatch
) -> None:
    from tapemark.rendering import Photographer

    rendered: list[str] = []
    monkeypatch.setattr(Photographer, "take", lambda _self: rendered.append("picture"))
    (tmp_path / "file").write_text("no folder")
    (tmp_path / "shot.png").mkdir()
    for out in (tmp_path / "file" / "shot.png", tmp_path / "shot.png"):
        answer = run("picture", setups["troubled"], "-o", out, *SMALL)
        assert answer.code in (1, 2)
        assert str(out) in answer.err
    for folder in (tmp_path / "file" / "lights", tmp_path / "file"):
        given = ("picture", setups["troubled"], "-o", tmp_path / "a.png", *SMALL)
        answer = run(*given, "--lights", folder)
        assert answer.code == 1
        assert f"{folder}: cannot be written" in answer.err
    answer = run("drill", "--out", tmp_path / "file", "--answers", "key,front,A")
    assert answer.code == 1
    assert f"{tmp_path / 'file'}: cannot be written" in answer.err
    assert rendered == []


def test_weights_are_told_again_and_who_is_not_in_the_frame(run, setups, tmp_path: Path) -> None:
    text = setups["cured"].read_text(encoding="utf-8")
    aside = tmp_path / "aside.toml"
    inwards = 'aim = { distance = "0 m", height = "1.06 m" }'
    outwards = 'aim = { distance = "1.0 m", side = "80 deg camera-left", height = "1.2 m" }'
    assert inwards in text
    aside.write_text(text.replace(inwards, outwards), encoding="utf-8")
    given = ("picture", aside, *SMALL, "-o", tmp_path / "a.png", "--weights", "key=+1")
    answer = run(*given)
    assert answer.code == 0, answer.err
    assert "weights key=+1, in stops" in answer.out
    assert "is not in the frame" in answer.out


def test_a_picture_comes_better_and_better_and_its_lights_turn_at_once() -> None:
    setup = setup_from_toml(demo_setup_text("quillmere-cured"), name="demo")
    small = PictureWanted(size=(48, 60))
    seen = list(pictures_so_far(setup, small, each_light=True))
    assert [one.step for one in seen] == ["first look", "picture", "lights"]
    assert [one.share for one in seen] == sorted(one.share for one in seen)
    assert seen[-1].share == 1.0
    assert all(one.picture.values.shape == (60, 48, 3) for one in seen)
    whole, by_light = seen[1].picture, seen[2].picture
    assert whole.complete
    assert by_light.lights is not None
    both = np.log2(by_light.values.mean() / whole.values.mean())
    np.testing.assert_allclose(both, 0.0, atol=0.1)  # stops: the same light, other noise
    brighter = turned(by_light, weights={"key": 1.0, "fill": 1.0})
    np.testing.assert_allclose(brighter.values, 2.0 * by_light.values, rtol=1e-5)
    lights = [one.model_copy(update={"power_stops": one.power_stops - 1}) for one in setup.lights]
    dimmed = turned(by_light, setup=setup.model_copy(update={"lights": tuple(lights)}))
    np.testing.assert_allclose(dimmed.values, 0.5 * by_light.values, rtol=1e-5)


@pytest.mark.parametrize("clay", [False, True])
def test_a_first_look_with_coarse_people_is_as_bright_as_the_picture(clay) -> None:
    setup = setup_from_toml(demo_setup_text("quillmere-cured"), name="demo")
    first, last = pictures_so_far(setup, PictureWanted(size=(96, 120), clay=clay))
    assert first.step == "first look"
    looks = [one.picture.values for one in (first, last)]
    stops = np.log2(looks[0].mean() / looks[1].mean())
    np.testing.assert_allclose(stops, 0.0, atol=0.1)  # in stops; it follows one bounce, not four
    colored = [np.ptp(one.mean(axis=(0, 1))) / one.mean() for one in looks]
    assert [one > 0.02 for one in colored] == [not clay] * 2


def test_a_picture_nobody_wants_any_more_ends_within_a_third_of_a_second() -> None:
    setup = setup_from_toml(demo_setup_text("quillmere-cured"), name="demo")
    wanted = PictureWanted(quality="final", effort=EFFORTS["final"])
    asked: list[float] = []

    def dropped() -> bool:
        if seen:
            asked.append(time.process_time())
        return bool(seen)

    seen: list[Any] = []
    for one in pictures_so_far(setup, wanted, dropped=dropped):
        seen.append(one)
    assert len(seen) == 1
    # Of the processor, not of the clock: others may use this machine, too.
    assert time.process_time() - asked[0] < 0.3 * 2  # two cores


@pytest.mark.parametrize(
    "aim",
    [
        'aim = { distance = "0 m", height = "2.9 m" }',
        'aim = { distance = "1.0 m", side = "80 deg camera-left", height = "1.2 m" }',
    ],
)
def test_a_close_look_at_somebody_beyond_the_frame_says_so(run, setups, tmp_path, aim) -> None:
    text = setups["cured"].read_text(encoding="utf-8")
    setup = tmp_path / "beyond.toml"
    setup.write_text(
        text.replace('aim = { distance = "0 m", height = "1.06 m" }', aim), encoding="utf-8"
    )
    answer = run("picture", setup, "-o", tmp_path / "a.png", *SMALL, "--crop", "glasses")
    assert answer.code == 0, answer.err
    assert "is not in the frame: turn the camera, or choose a wider lens" in answer.out
    assert mean_level(tmp_path / "a.png") > 10.0


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
