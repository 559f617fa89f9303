"""Render test shots of setups drawn by lot, with what is in them, to try the reading of photos on.

    python scripts/labelled_pictures.py FOLDER --count 8 --seed 100 --size 768x960

For every seed there are three files; what is there is left alone, so the same command goes on.
Several may share the work, each with its own --seed and --every. On a graphics card, --variant
cuda_ad_rgb renders the same pictures but for their noise.

`NAME.jpg`    the shot, with blur, noise and compression as a camera would give them
`NAME.png`    one byte a pixel, the sum of
              1 right lens, 2 left lens, the sitter's own, not hidden by rim, nose or lids
              4 a front surface mirrors at least a tenth of the light of lit skin, 8 a back surface
              16, 32, 64 the first, second, third light shows at least as bright
              128 all together at least a third of a stop over lit skin: glare worth finding
`NAME.json`   use, pupils, glasses, setup, what shows in which lens by which surface

Why a third of a stop: it is the smallest step that cameras and flashes are set in, so what is less
does not count as a change of exposure either. Even seeds are for tuning, odd ones for reporting.
"""

import argparse
import json
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, ImageFilter
from setups_by_lot import COATINGS, coating_color, drawn_setup

from tapemark.analysis import build_scenes, exposure, face_light, light_color
from tapemark.rendering import (
    Effort,
    Photographer,
    build_stage,
    developed,
    load_tracer,
    sensor_values,
    source_colors,
)
from tapemark.rendering.parts import LUMINANCE
from tapemark.rendering.variants import PLAIN
from tapemark.studio import Setup, setup_from_mapping

RIGHT, LEFT, FRONT, BACK, LIGHTS, GLARE = 1, 2, 4, 8, (16, 32, 64), 128
SURFACES = (("front", FRONT), ("back", BACK))
SHOWS = 0.10  # of the luminance of lit skin: fainter mirroring is in no label
WORTH_FINDING = 2.0 ** (1.0 / 3.0) - 1.0  # added to lit skin it is a third of a stop more
EFFORT = Effort(
    samples=6,
    each_pass=6,
    layer_samples=4,
    guide_samples=2,
    fineness=0.7,
    fine_denoise=False,
)


@dataclass(frozen=True, kw_only=True, eq=False)
class Mirrored:
    """What one light adds to one layer of the picture.

    Attributes
    ----------
    light, surface : str
        Which light by which surface of both lenses.
    luminance : (rows, columns) array
        On the fine window of the layer. [cd·s/m²]
    """

    light: str
    surface: str
    luminance: np.ndarray


def stage_of(setup: Setup, *, variant: str = PLAIN) -> Any:
    """Return the stage of a setup, in a variant of the path tracer."""
    scenes = build_scenes(setup)
    reading = exposure(scenes[0], light=face_light(scenes[0]))
    colors = source_colors(setup, color=light_color(scenes[0], reading=reading))
    tracer = load_tracer(variant, origin=scenes[0].pose.origin)
    return build_stage(scenes, tracer=tracer, colors=colors, fineness=EFFORT.fineness)


def skin_luminance(photographer: Photographer) -> float:
    """Return the luminance of lit skin that faces the way the face does. [cd·s/m²]"""
    scene = photographer.stage.scene
    out = scene.pose.axes[:, 1]
    total = sum(float(one.exposure_at(scene.pose.origin, normal=out)) for one in scene.emitters)
    return total * scene.sitter.skin_reflectance / np.pi


def with_colored_ghosts(values: np.ndarray, photographer: Photographer, color: str) -> np.ndarray:
    """Return a picture whose lenses mirror in a colour; `values` are those of grey mirrors."""
    tint = np.array(COATINGS[color])
    if color == "white":
        return values
    found = values.copy()
    for layer in photographer.layers():
        if not layer.sights:
            continue
        own = layer.mirrored(photographer.stage.lit_by(), seed=photographer.seed)
        covered = np.maximum.reduce([one.covered for one in layer.sights])[..., None]
        more = (own["front"] + own["back"]) * covered * (tint - 1.0)
        left, top, wide, tall = layer.box
        part = _mean(sensor_values(more, camera=photographer.stage.scene.setup.camera), layer)
        found[top : top + tall, left : left + wide] += part
    return np.maximum(found, 0.0)


def mirrored_by_light(photographer: Photographer, layer: Any) -> Iterator[Mirrored]:
    """Yield what each light adds to a layer by each surface."""
    for source in photographer.stage.sources:
        if not source.shines:
            continue
        alone = photographer.stage.lit_by((source.name,))
        found = layer.mirrored(alone, seed=photographer.seed, families=("front", "back"))
        for surface, _ in SURFACES:
            if surface in found:
                bright = found[surface] @ LUMINANCE
                yield Mirrored(light=source.name, surface=surface, luminance=bright)


def labels(
    photographer: Photographer, *, size: tuple[int, int], names: list[str]
) -> tuple[np.ndarray, list[dict[str, Any]]]:
    """Return what each pixel shows, one byte a pixel, and what shows in which lens."""
    columns, rows = size
    found, shown = np.zeros((rows, columns), dtype=np.uint8), []
    skin = skin_luminance(photographer)
    for layer in photographer.layers():
        if not layer.sights:
            continue
        left, top, wide, tall = layer.box
        part = found[top : top + tall, left : left + wide]
        lenses = [_mean(one.covered.astype(float), layer) > 0.5 for one in layer.sights]
        for mark, lens in zip((RIGHT, LEFT), lenses, strict=True):
            part[lens] |= mark
        covered = np.maximum.reduce([one.covered for one in layer.sights])
        total: dict[str, Any] = {"front": 0.0, "back": 0.0, "light": {}}
        for one in mirrored_by_light(photographer, layer):
            share = _mean(np.where(covered, one.luminance, 0.0), layer) / skin
            total[one.surface] = total[one.surface] + share
            total["light"][one.light] = total["light"].get(one.light, 0.0) + share
            shown += _shown(one, share, lenses)
        for surface, bit in SURFACES:
            part[_without_specks(np.asarray(total[surface] > SHOWS))] |= bit
        for name, bit in zip(names, LIGHTS, strict=False):
            if name in total["light"]:
                part[_without_specks(total["light"][name] > SHOWS)] |= bit
        part[_without_specks(np.asarray(total["front"] + total["back"] > WORTH_FINDING))] |= GLARE
    return found, shown


def _shown(one: Mirrored, share: np.ndarray, lenses: list[np.ndarray]) -> list[dict[str, Any]]:
    """Return in which lens a light shows by a surface, how large and how bright."""
    found = []
    for side, lens in zip(("right", "left"), lenses, strict=True):
        own = lens & _without_specks(share > SHOWS)
        if own.any():
            found.append(
                {
                    "side": side,
                    "light": one.light,
                    "surface": one.surface,
                    "lens_cover": round(float(own.sum() / lens.sum()), 4),
                    "of_skin": round(float(np.percentile(share[own], 90)), 3),
                }
            )
    return found


def _without_specks(shows: np.ndarray) -> np.ndarray:
    image = Image.fromarray(shows.astype(np.uint8) * 255).filter(ImageFilter.MedianFilter(3))
    return np.asarray(image) > 127


def _mean(values: np.ndarray, layer: Any) -> np.ndarray:
    """Return the means over fine pixels, for each pixel of the picture."""
    times = layer.fineness
    rows, columns = values.shape[0] // times, values.shape[1] // times
    return values.reshape(rows, times, columns, times, *values.shape[2:]).mean(axis=(1, 3))


def photographed(
    values: np.ndarray, photographer: Photographer, random: np.random.Generator
) -> tuple[bytes, dict[str, float]]:
    """Return a linear picture as a JPEG, and how it was exposed, focused, balanced, kept."""
    scene = photographer.stage.scene
    skin = sensor_values(np.array(skin_luminance(photographer)), camera=scene.setup.camera)
    made = {
        "stops_over_right": round(float(random.uniform(-0.7, 0.7)), 2),
        "full_well": round(float(10.0 ** random.uniform(3.3, 4.6)), 0),
        "blur_px": round(float(max(random.uniform(-0.4, 1.1), 0.0)), 2),
        "warm_stops": round(float(random.normal() * 0.08), 3),
        "jpeg_quality": int(random.integers(62, 96)),
    }
    right = scene.sitter.skin_reflectance / max(float(skin), 1e-9)
    warm = 2.0 ** (made["warm_stops"] * np.array([1.0, 0.0, -1.0]))
    lit = values * right * 2.0 ** made["stops_over_right"] * warm
    lit = _blurred(lit, made["blur_px"])
    noise = np.sqrt(np.maximum(lit, 0) / made["full_well"] + 1e-6)
    image = Image.fromarray(developed(lit + random.normal(size=lit.shape) * noise))
    kept = BytesIO()
    image.save(kept, format="JPEG", quality=made["jpeg_quality"])
    return kept.getvalue(), made


def _blurred(values: np.ndarray, sigma: float) -> np.ndarray:
    if sigma <= 0.0:
        return values
    reach = int(np.ceil(3 * sigma))
    weights = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    weights /= weights.sum()
    for axis in (0, 1):
        around = [(reach, reach) if one == axis else (0, 0) for one in range(3)]
        wide = np.pad(values, around, mode="edge")
        length = values.shape[axis]
        values = sum(
            weight * np.take(wide, np.arange(length) + number, axis=axis)
            for number, weight in enumerate(weights)
        )
    return values


def lenses_worn(photographer: Photographer) -> dict[str, dict[str, float]]:
    """Return what is to be found of each lens: the curvature of its front."""
    lenses = photographer.stage.scene.lenses
    if lenses is None:
        return {}
    radii = 1000.0 / np.maximum(lenses.front_curvature, 1e-6)
    return {
        side: {"front_radius_mm": round(float(radius), 2)}
        for side, radius in zip(("right", "left"), radii, strict=True)
    }


def write(folder: Path, *, seed: int, size: tuple[int, int], variant: str = PLAIN) -> None:
    """Render and label one picture, unless it is there."""
    name = folder / f"shot-{seed:04d}"
    if name.with_suffix(".json").exists():
        return
    random = np.random.default_rng(seed)
    drawn = drawn_setup(random, name=f"sitter {seed}")
    color = coating_color(random, drawn)
    stage = stage_of(setup_from_mapping(drawn), variant=variant)
    photographer = Photographer(stage, size=size, effort=EFFORT, seed=seed)
    values = with_colored_ghosts(photographer.take().values, photographer, color)
    shot, made = photographed(values, photographer, random)
    lights = [one["name"] for one in drawn["light"]]
    marks, shown = labels(photographer, size=size, names=lights)
    pupils = photographer.window.pixels(stage.scene.eyes.iris_center)
    known = {
        "seed": seed,
        "use": "tuning" if seed % 2 == 0 else "report",
        "glasses": stage.scene.lenses is not None,
        "pupils": {
            side: [round(float(one), 2) for one in at]
            for side, at in zip(("right", "left"), pupils, strict=True)
        },
        "lights": lights,
        "shown": shown,
        "lenses": lenses_worn(photographer),
        "coating_color": color,
        "made": made,
        "setup": drawn,
    }
    name.with_suffix(".jpg").write_bytes(shot)
    Image.fromarray(marks).save(name.with_suffix(".png"), optimize=True)
    name.with_suffix(".json").write_text(json.dumps(known, indent=1), encoding="utf-8")
    print(f"{name.name}: {len(shown)} shown", flush=True)


def main() -> None:
    """Render what the command line asks for."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--count", type=int, default=8)
    parser.add_argument("--seed", type=int, default=0, help="of the first")
    parser.add_argument("--every", type=int, default=1, help="seed of so many: shares the work")
    parser.add_argument("--size", default="768x960")
    parser.add_argument("--variant", default=PLAIN, help="of the path tracer")
    given = parser.parse_args()
    given.folder.mkdir(parents=True, exist_ok=True)
    columns, rows = (int(one) for one in given.size.split("x"))
    for seed in range(given.seed, given.seed + given.count, given.every):
        write(given.folder, seed=seed, size=(columns, rows), variant=given.variant)


if __name__ == "__main__":
    main()
