"""Fit how much each term of a part of a lens counts, on the labelled pictures for tuning.

    python scripts/fit_glare_parts.py FOLDER

Every part of every lens is a sample: a reflection where it covers what is labelled as one and not
much more, none where it hardly does; what lies between is left out. A logistic model with a
penalty on large weights is fitted by Newton's method and written to `glare_weights.py`. How well
it tells parts it has not seen is printed: every fifth picture is left out in turn.
"""

import argparse
import json
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import NamedTuple

import numpy as np
from PIL import Image
from score_readings import pictures_in

import tapemark.photo.glare_weights as weights_module
from tapemark.photo import read_photo
from tapemark.photo.eye_points import refined_eyes
from tapemark.photo.faces import find_faces
from tapemark.photo.glare import INSET_MM, added_light, places_in
from tapemark.photo.glare_parts import lens_parts, terms
from tapemark.photo.lens_regions import find_lenses
from tapemark.photo.part_facts import PartFacts
from tapemark.photo.skin import skin_beside
from tapemark.photo.strip import COLUMNS, PUPILS_APART_MM, ROWS, EyeStrip, eye_strip, part_around

COVERS, HARDLY = 0.6, 0.3  # overlap with a labelled reflection
PENALTY, STEPS, FOLDS = 6.0, 30, 5
GLARE, SHOWS = 128, 4 | 8


class Samples(NamedTuple):
    """Parts of the lenses of one picture: their facts, and whether they are reflections."""

    facts: np.ndarray
    glare: np.ndarray


def samples_of(path: Path) -> Samples:
    """Return the parts of one picture, with pupils as found and as they are."""
    known = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
    facts: list[tuple[float, ...]] = []
    glare: list[bool] = []
    if not known["glasses"]:
        return Samples(np.zeros((0, len(PartFacts._fields))), np.zeros(0, dtype=bool))
    pixels = read_photo(path).pixels
    with Image.open(path.with_suffix(".png")) as image:
        marks = np.asarray(image)
    right, left = (tuple(np.array(known["pupils"][side]) - 0.5) for side in ("right", "left"))
    strips = [eye_strip(pixels, right=right, left=left)]
    found = max(find_faces(pixels), key=lambda one: one.confidence, default=None)
    if found is not None:
        strips.append(refined_eyes(pixels, right=found.right, left=found.left).strip)
    for strip in strips:
        for one, is_glare in _parts_of(strip, marks):
            facts.append(one)
            glare.append(is_glare)
    return Samples(np.array(facts).reshape(-1, len(PartFacts._fields)), np.array(glare, dtype=bool))


def _parts_of(strip: EyeStrip, marks: np.ndarray):
    import cv2

    planes = [
        cv2.warpAffine(
            ((marks & bits) > 0).astype(np.float32),
            strip.matrix,
            (COLUMNS, ROWS),
            flags=cv2.WARP_INVERSE_MAP | cv2.INTER_LINEAR,
        )
        > 0.5
        for bits in (GLARE, SHOWS)
    ]
    lenses = find_lenses(strip)
    outlines = (lenses.right, lenses.left)
    for index, (outline, skin) in enumerate(
        zip(outlines, skin_beside(strip, outlines), strict=True)
    ):
        whole = outline.within(inset_mm=INSET_MM)
        part = part_around(strip, whole)
        lens = whole[part.rows, part.columns]
        glare, shows = (one[part.rows, part.columns] & lens for one in planes)
        strength = np.where(lens, added_light(part.light, skin), 0.0)
        pupil = ((index - 0.5) * PUPILS_APART_MM, 0.0)
        places = places_in(strip, part, outline, lens=lens, pupil_mm=pupil)
        numbered = [
            cv2.connectedComponents(one.astype(np.uint8), connectivity=8)[1]
            for one in (glare, shows)
        ]
        for one in lens_parts(part, strength, places, skin=skin):
            own = np.zeros_like(lens)
            own[one.box] = one.own
            share = max(_overlap(own, numbers) for numbers in numbered)
            if share >= COVERS:
                yield tuple(one.facts), True
            elif share < HARDLY:
                yield tuple(one.facts), False


def _overlap(own: np.ndarray, numbers: np.ndarray) -> float:
    """Return what a part shares with the labelled reflections that it touches."""
    touched = np.unique(numbers[own])
    whole = np.isin(numbers, touched[touched > 0])
    return float((own & whole).sum() / max((own | whole).sum(), 1))


def fitted(values: np.ndarray, glare: np.ndarray) -> np.ndarray:
    """Return the weights of a logistic model, its constant first."""
    with_one = np.column_stack([np.ones(len(values)), values])
    weights = np.zeros(with_one.shape[1])
    penalty = np.full(len(weights), PENALTY)
    penalty[0] = 1e-6
    for _ in range(STEPS):
        likely = 1.0 / (1.0 + np.exp(-np.clip(with_one @ weights, -30, 30)))
        slope = with_one.T @ (likely - glare) + penalty * weights
        curve = (with_one * (likely * (1 - likely))[:, None]).T @ with_one + np.diag(penalty)
        weights = weights - np.linalg.solve(curve, slope)
    return weights


def main() -> None:
    """Fit, print how well parts not seen are told, and write the weights."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--workers", type=int, default=2)
    given = parser.parse_args()
    with ProcessPoolExecutor(given.workers) as pool:
        found = list(pool.map(samples_of, pictures_in(given.folder, use="tuning"), chunksize=4))
    group = np.concatenate([np.full(len(one.glare), number) for number, one in enumerate(found)])
    facts = terms(np.concatenate([one.facts for one in found]))
    glare = np.concatenate([one.glare for one in found])
    centers, spreads = facts.mean(axis=0), np.maximum(facts.std(axis=0), 1e-6)
    values = (facts - centers) / spreads
    unseen = np.zeros(len(glare))
    for fold in range(FOLDS):
        out = group % FOLDS == fold
        weights = fitted(values[~out], glare[~out])
        unseen[out] = values[out] @ weights[1:] + weights[0]
    print(f"{len(glare)} parts, {glare.sum()} of them reflections")
    for name, own in (("reflections told", glare), ("others told rightly", ~glare)):
        print(f"{name}: {np.mean((unseen > 0)[own] == glare[own]):.3f}")
    weights = fitted(values, glare)
    _write(Path(weights_module.__file__), weights, centers, spreads)


def _write(path: Path, weights: np.ndarray, centers: np.ndarray, spreads: np.ndarray) -> None:
    lines = ['"""How much each term of a part counts, written by scripts/fit_glare_parts.py."""']
    lines += ["", "import numpy as np", "", f"CONSTANT = {weights[0]:.4f}"]
    for name, values in (("CENTERS", centers), ("SPREADS", spreads), ("WEIGHTS", weights[1:])):
        lines.append(f"{name} = np.array([")
        for start in range(0, len(values), 8):
            row = ", ".join(f"{one:.4g}" for one in values[start : start + 8])
            lines.append(f"    {row},")
        lines.append("])")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
