"""Score what is read from labelled pictures: found and false reflections, overlap, pupils.

    python scripts/score_readings.py FOLDER [--use report]

FOLDER is what `labelled_pictures.py` wrote. A lens counts as having a reflection where the labels
have at least 1 % of it; found, where at least 0.5 % is read. A false one is 1 % or more where the
labels have none at all.
"""

import argparse
import json
from collections import Counter
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

from tapemark.errors import FileError
from tapemark.photo import LensReading, ShotReading, read_photo, read_shot

HAS, FOUND, FALSE = 0.01, 0.005, 0.01
PUPIL_MM = 4.0


def scored(path: Path, counts: Counter[str], overlaps: dict[str, list[float]]) -> None:
    """Add one picture to the score."""
    known = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
    marks = np.asarray(Image.open(path.with_suffix(".png")))
    counts["pictures"] += 1
    try:
        reading = read_shot(read_photo(path), name=path.name)
    except FileError:
        return
    if len(reading.wearers) != 1:
        counts["not one face"] += 1
        return
    wearer = reading.wearers[0]
    counts["one face"] += 1
    counts["asks"] += bool(wearer.questions)
    counts["pupils right"] += _pupils_right(reading, known)
    worn, seen = bool(known["glasses"]), wearer.right.lens is not None
    counts["glasses found" if worn and seen else "glasses missed" if worn else "bare"] += 1
    counts["bare, glasses said"] += seen and not worn
    if not (worn and seen):
        return
    for bit, eye in ((1, wearer.right), (2, wearer.left)):
        assert eye.lens is not None
        _lens(eye.lens, (marks & 3) == bit, (marks & 12) > 0, counts=counts, overlaps=overlaps)


def _pupils_right(reading: ShotReading, known: dict[str, dict[str, list[float]]]) -> bool:
    pupils = {side: np.array(at) for side, at in known["pupils"].items()}
    apart = float(np.linalg.norm(pupils["left"] - pupils["right"]))
    away = [
        float(np.linalg.norm(np.array(eye.pupil) - pupils[eye.side])) / apart * 63.0
        for eye in reading.wearers[0].eyes
    ]
    return max(away) <= PUPIL_MM


def _lens(
    read: LensReading,
    lens: np.ndarray,
    mirrored: np.ndarray,
    *,
    counts: Counter[str],
    overlaps: dict[str, list[float]],
) -> None:
    if not lens.any():
        return
    region = _filled([read.outline], lens.shape)
    overlaps["lens"].append(_overlap(region, lens))
    share = float(mirrored[lens].mean())
    if share >= HAS:
        counts["lenses with a reflection"] += 1
        counts["of these found"] += read.lens_cover >= FOUND
        found = _filled([one.outline for one in read.reflections], lens.shape)
        overlaps["reflection"].append(_overlap(found, mirrored & lens))
    elif share == 0.0:
        counts["lenses without"] += 1
        counts["of these false"] += read.lens_cover >= FALSE
        counts["of these called veiled or edge"] += read.verdict != "clear"


def _filled(outlines: list[tuple[tuple[float, float], ...]], shape: tuple[int, ...]) -> np.ndarray:
    image = Image.new("1", (shape[1], shape[0]))
    pen = ImageDraw.Draw(image)
    for one in outlines:
        if len(one) >= 3:
            pen.polygon([tuple(point) for point in one], fill=1)
    return np.asarray(image)


def _overlap(one: np.ndarray, two: np.ndarray) -> float:
    return float((one & two).sum() / max((one | two).sum(), 1))


def main() -> None:
    """Print the score of a folder."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--use", choices=["tuning", "report"], help="only these seeds")
    given = parser.parse_args()
    counts: Counter[str] = Counter()
    overlaps: dict[str, list[float]] = {"lens": [], "reflection": []}
    for path in sorted(given.folder.glob("shot-*.jpg")):
        known = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
        if given.use in {None, known["use"]}:
            scored(path, counts, overlaps)
    for name, count in counts.items():
        print(f"{name:32s} {count:5d}")
    for name, values in overlaps.items():
        if values:
            middle, low = np.median(values), np.percentile(values, 10)
            print(f"overlap of a {name:19s} {middle:5.2f} in the middle, {low:.2f} for 9 of 10")


if __name__ == "__main__":
    main()
