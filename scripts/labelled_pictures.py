"""Render test shots of setups drawn by lot, with what is in them, to try the reading of photos on.

    python scripts/labelled_pictures.py FOLDER --count 8 --seed 100 --size 640x800

For every seed there are three files: `NAME.jpg`, the shot with noise and compression as a camera
would give it; `NAME.png`, one byte a pixel (1 right lens, 2 left lens, both the sitter's own; 4 a
reflection by a front surface, 8 by a back surface, as bright as a tenth of the skin or more); and
`NAME.json`: pupils, pose, glasses, lights. Even seeds are for tuning, odd ones for reporting.
"""

import argparse
import json
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, ImageFilter

from tapemark.analysis import build_scenes, exposure, face_light, light_color
from tapemark.rendering import (
    EFFORTS,
    Photographer,
    build_stage,
    choose_variant,
    developed,
    load_tracer,
    sensor_values,
    source_colors,
)
from tapemark.rendering.parts import LUMINANCE
from tapemark.studio import Setup, setup_from_mapping

RIGHT, LEFT, FRONT, BACK = 1, 2, 4, 8
VISIBLE = 0.10  # of the luminance of lit skin: fainter mirroring is not labelled
OUTLINES = ("soft rectangular", "rectangular", "round", "oval")
HAIR = ("short", "swept", "cropped", "bob", "long", "bun", "curly", "bald")
MODIFIERS = (
    "medium softbox 60x90 cm",
    "octagonal box 110 cm",
    "strip 30x120 cm",
    "reflected umbrella 110 cm",
    "shoot-through umbrella 100 cm",
    "beauty dish 55 cm",
)


def drawn_setup(random: np.random.Generator) -> Setup:
    """Return a setup drawn by lot: about half of them show a light in the glasses."""
    turn = float(random.choice([0.0, random.uniform(-25.0, 25.0)]))
    low = bool(random.random() < 0.55)
    data: dict[str, Any] = {
        "tapemark": 1,
        "units": "metric",
        "room": {
            "width": "5.4 m",
            "length": "7.0 m",
            "height": "2.75 m",
            "behind_sitter": "2.0 m",
            "wall_reflectance": "25 %",
            "ceiling_reflectance": "60 %",
        },
        "sitter": _sitter(random, turn),
        "camera": {
            "place": {"distance": "2.2 m", "side": "0 deg", "height": "1.20 m"},
            "aim": {"distance": "0 m", "height": "1.17 m"},
            "focal_length": "150 mm",
            "orientation": "portrait",
            "aperture": "f/8",
        },
        "light": _lights(random, low=low),
        "backdrop": {
            "distance": "1.2 m",
            "width": "2.7 m",
            "height": "2.5 m",
            "reflectance": float(random.choice([0.05, 0.18, 0.4, 0.85])),
        },
    }
    return setup_from_mapping(data)


def _sitter(random: np.random.Generator, turn: float) -> dict[str, Any]:
    side = "camera-left" if turn >= 0 else "camera-right"
    sitter: dict[str, Any] = {
        "name": f"sitter {random.integers(1000)}",
        "eye_height": "1.20 m",
        "turn": f"{abs(turn):.0f} deg {side}",
        "tip": f"{random.uniform(0, 8):.0f} deg {random.choice(['camera-left', 'camera-right'])}",
        "chin": f"{random.uniform(0, 5):.0f} deg {random.choice(['up', 'down'])}",
        "skin_reflectance": round(float(random.uniform(0.07, 0.55)), 2),
        "look": {"hair": str(random.choice(HAIR))},
    }
    if random.random() < 0.85:
        sphere = float(random.uniform(-5.0, 2.5))
        sitter["glasses"] = {
            "lens_width": f"{random.uniform(46, 55):.0f} mm",
            "lens_height": f"{random.uniform(33, 42):.0f} mm",
            "bridge": f"{random.uniform(16, 21):.0f} mm",
            "outline": str(random.choice(OUTLINES)),
            "pantoscopic_tilt": f"{random.uniform(5, 13):.0f} deg",
            "face_form": f"{random.uniform(2, 7):.0f} deg",
            "coating": str(random.choice(["none", "none", "anti-reflective"])),
            "rim": str(random.choice(["full", "full", "full", "half", "none"])),
            "right": {"sphere": f"{sphere:+.2f} D"},
            "left": {"sphere": f"{sphere + random.uniform(-0.5, 0.5):+.2f} D"},
        }
    return sitter


def _lights(random: np.random.Generator, *, low: bool) -> list[dict[str, Any]]:
    lights = []
    for number, name in enumerate(("key", "fill")[: int(random.integers(1, 3))]):
        out = random.uniform(8, 35) if low else random.uniform(38, 55)
        height = random.uniform(1.2, 1.55) if low else random.uniform(1.95, 2.3)
        side = ("camera-left", "camera-right")[(number + int(random.integers(2))) % 2]
        lights.append(
            {
                "name": name,
                "head": "400 Ws studio head",
                "modifier": str(random.choice(MODIFIERS)),
                "place": {
                    "distance": f"{random.uniform(1.3, 2.2):.2f} m",
                    "side": f"{out:.0f} deg {side}",
                    "height": f"{height:.2f} m",
                },
                "aim": "face",
                "power": "1/8" if number == 0 else "1/16",
            }
        )
    return lights


def take(setup: Setup, *, size: tuple[int, int], seed: int) -> tuple[np.ndarray, Any, Photographer]:
    """Return the linear picture, the light it was taken in and who took it."""
    scenes = build_scenes(setup)
    reading = exposure(scenes[0], light=face_light(scenes[0]))
    colors = source_colors(setup, color=light_color(scenes[0], reading=reading))
    variant = choose_variant("preview", cache=Path("."))
    tracer = load_tracer(variant.name, origin=scenes[0].pose.origin)
    stage = build_stage(scenes, tracer=tracer, colors=colors, fineness=0.7)
    photographer = Photographer(stage, size=size, effort=EFFORTS["preview"], seed=seed)
    return photographer.take().values, stage.lit_by(), photographer


def labels(photographer: Photographer, light: Any, *, size: tuple[int, int]) -> np.ndarray:
    """Return what each pixel shows, one byte a pixel."""
    columns, rows = size
    found = np.zeros((rows, columns), dtype=np.uint8)
    skin = skin_luminance(photographer)
    for layer in photographer.layers():
        mirrored = layer.mirrored(light, seed=1, families=("front", "back"))
        left, top, wide, tall = layer.box
        part = found[top : top + tall, left : left + wide]
        for mark, sight in zip((RIGHT, LEFT), layer.sights, strict=False):
            part[_mean(sight.covered.astype(float), layer.fineness) > 0.5] |= mark
            for name, bit in (("front", FRONT), ("back", BACK)):
                bright = np.where(sight.covered, mirrored[name] @ LUMINANCE, 0.0)
                shows = _mean(bright, layer.fineness) > VISIBLE * skin
                part[_without_specks(shows)] |= bit
    return found


def skin_luminance(photographer: Photographer) -> float:
    """Return the mean luminance of lit skin on the cheeks. [cd·s/m²]"""
    scene = photographer.stage.scene
    out = scene.pose.axes[:, 1]
    total = sum(float(one.exposure_at(scene.pose.origin, normal=out)) for one in scene.emitters)
    return total * scene.sitter.skin_reflectance / np.pi


def _without_specks(shows: np.ndarray) -> np.ndarray:
    image = Image.fromarray(shows.astype(np.uint8) * 255).filter(ImageFilter.MedianFilter(3))
    return np.asarray(image) > 127


def _mean(values: np.ndarray, times: int) -> np.ndarray:
    rows, columns = values.shape[0] // times, values.shape[1] // times
    return values.reshape(rows, times, columns, times).mean(axis=(1, 3))


def photographed(
    values: np.ndarray, photographer: Photographer, random: np.random.Generator
) -> np.ndarray:
    """Return a linear picture as bytes: exposed by the meter or nearly so, with its noise."""
    scene = photographer.stage.scene
    skin = sensor_values(np.array(skin_luminance(photographer)), camera=scene.setup.camera)
    right = scene.sitter.skin_reflectance / max(float(skin), 1e-9)
    lit = values * right * 2.0 ** random.uniform(-0.6, 0.6)
    full_well = 10.0 ** random.uniform(3.3, 4.6)
    noisy = lit + random.normal(size=lit.shape) * np.sqrt(np.maximum(lit, 0) / full_well + 1e-6)
    return developed(noisy)


def about(photographer: Photographer, setup: Setup, seed: int, quality: int) -> dict[str, Any]:
    """Return what was photographed, for the JSON file."""
    scene = photographer.stage.scene
    pupils = photographer.window.pixels(scene.eyes.iris_center)
    return {
        "seed": seed,
        "use": "tuning" if seed % 2 == 0 else "report",
        "glasses": scene.lenses is not None,
        "pupils": {
            "right": [round(float(one), 2) for one in pupils[0]],
            "left": [round(float(one), 2) for one in pupils[1]],
        },
        "jpeg_quality": quality,
        "setup": json.loads(setup.model_dump_json(exclude_none=True)),
    }


def write(folder: Path, *, seed: int, size: tuple[int, int]) -> None:
    """Render and label one picture, unless it is there."""
    name = folder / f"shot-{seed:04d}"
    if name.with_suffix(".json").exists():
        return
    random = np.random.default_rng(seed)
    setup = drawn_setup(random)
    values, light, photographer = take(setup, size=size, seed=seed)
    quality = int(random.integers(70, 96))
    shot = Image.fromarray(photographed(values, photographer, random))
    shot.save(name.with_suffix(".jpg"), quality=quality)
    marks = labels(photographer, light, size=size)
    Image.fromarray(marks).save(name.with_suffix(".png"), optimize=True)
    known = about(photographer, setup, seed, quality)
    name.with_suffix(".json").write_text(json.dumps(known, indent=1), encoding="utf-8")
    print(f"{name.name}: {'glasses' if known['glasses'] else 'no glasses'}", flush=True)


def main() -> None:
    """Render what the command line asks for."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--count", type=int, default=8)
    parser.add_argument("--seed", type=int, default=0, help="of the first")
    parser.add_argument("--size", default="640x800")
    given = parser.parse_args()
    given.folder.mkdir(parents=True, exist_ok=True)
    columns, rows = (int(one) for one in given.size.split("x"))
    for seed in range(given.seed, given.seed + given.count):
        write(given.folder, seed=seed, size=(columns, rows))


if __name__ == "__main__":
    main()
