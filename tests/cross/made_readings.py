"""Readings as a sharp eye would make them, straight from the analysis of a setup, with noise.

No picture is rendered: where the lenses show a light follows from the same lattice of rays as a
check, with the outlines that a reading leaves out along the rim, shaken by some tenths of a
millimetre.  Hundreds of cases take seconds.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from tapemark.analysis import build_scenes, cover_map, face_light, lattice_for, view_lenses
from tapemark.anatomy import edge_outline, lens_margin
from tapemark.photo import EyeSeen, LensReading, ReflectionSeen, ShotFacts, ShotReading
from tapemark.photo.matching.photo_camera import photo_camera
from tapemark.photo.matching.seen_regions import SOFT_LIMITS_MM, SOFT_MM, SOFT_MM_A_STOP
from tapemark.photo.reading import WearerReading
from tapemark.studio import Setup

SIZE = (1200, 1500)
POINTS = 9_000  # of the lattice, inside each lens
SEAM_M = 1.0e-3  # along the rim, left out by a reading
VISIBLE = 0.18  # of skin
LEAST_COVER = 0.012


@dataclass(frozen=True, kw_only=True)
class Shaken:
    """How far a reading is off. [mm], for pupils 63 mm apart"""

    pupil_mm: float = 0.5
    outline_mm: float = 0.5
    edge_mm: float = 0.7


EXACT = Shaken(pupil_mm=0.0, outline_mm=0.0, edge_mm=0.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class MadeReading:
    """A reading, and which lights show in each of its reflections, the largest share first."""

    reading: ShotReading
    truth: dict[tuple[str, int], tuple[str, ...]]


def made_reading(setup: Setup, random: np.random.Generator, *, shaken: Shaken) -> MadeReading:
    """Return the reading of a shot of a setup."""
    scene = build_scenes(setup)[0]
    camera = photo_camera(scene, size=SIZE, facts=ShotFacts())
    per_mm = _px_per_mm(camera.pixels(scene.eyes.iris_center))
    truth: dict[tuple[str, int], tuple[str, ...]] = {}
    seen = _shown(scene, camera)
    eyes = []
    for index, side in enumerate(("right", "left")):
        pupil = camera.pixels(scene.eyes.iris_center[index])
        pupil = pupil + random.normal(size=2) * shaken.pupil_mm * per_mm
        outline = camera.pixels(edge_outline(scene.lenses, index=index, count=32))
        off = random.normal(size=2) * shaken.outline_mm * per_mm
        grown = 1.0 + random.normal(size=2) * shaken.outline_mm / 25.0
        middle = outline.mean(axis=0)
        outline = middle + off + (outline - middle) * grown
        found = []
        for polygon, cover, names, stops in seen[index]:
            truth[side, len(found)] = names
            found.append(
                _reflection(polygon, cover, stops, random, shaken.edge_mm * per_mm, per_mm)
            )
        eyes.append(_eye(side, pupil, outline, tuple(found)))
    wearer = WearerReading(
        number=1,
        face=(0.0, 0.0, 1.0, 1.0),
        confidence=1.0,
        glasses=1.0,
        right=eyes[0],
        left=eyes[1],
        near_side="",
        is_sharp=True,
        skin_clipped_share=0.0,
        skin_luminance=0.4,
        questions=(),
    )
    reading = ShotReading(
        name="made.jpg", kind="JPEG", size=SIZE, profile="", facts=ShotFacts(), wearers=(wearer,)
    )
    return MadeReading(reading=reading, truth=truth)


def _px_per_mm(pupils: np.ndarray) -> float:
    return float(np.linalg.norm(pupils[0] - pupils[1])) / 63.0


def _shown(scene, camera) -> tuple[list, list]:
    """Return outlines [px], covers, names and stops of the reflections of both lenses."""
    columns, rows = lattice_for(scene.lenses, points=POINTS)
    view = view_lenses(scene, scene.lenses, columns=columns, rows=rows)
    light = face_light(scene)
    cover = cover_map(scene, view, light=light, threshold_contrast=VISIBLE)
    pixels = camera.pixels(view.points).astype(np.float32)
    inside = lens_margin(view.x, view.z[:, None], lens=scene.lenses) > SEAM_M
    found: tuple[list, list] = ([], [])
    for lens in (0, 1):
        size = view.solid_angle[lens] * inside
        own = {name: shares[:, lens] for name, shares in cover.shares.items()}
        mask = np.zeros(size.shape, dtype=np.uint8)
        for shares in own.values():
            mask |= (shares.max(axis=0) > 0.5).astype(np.uint8)
        mask &= inside.astype(np.uint8)
        count, parts = cv2.connectedComponents(mask, connectivity=8)
        for part in range(1, count):
            area = size[parts == part].sum() / size.sum()
            if area < LEAST_COVER:
                continue
            shares = {
                name: float((one.max(axis=0) * size)[parts == part].sum())
                for name, one in own.items()
            }
            order = sorted((one for one in shares if shares[one] > 0), key=lambda n: -shares[n])
            stops = cover.stops[order[0]][:, lens]
            added = (2.0 ** stops[np.isfinite(stops)]).sum()
            found[lens].append(
                (
                    _contour(parts == part, pixels[lens]),
                    float(area),
                    tuple(order),
                    float(np.log2(0.75 + added)),
                )
            )
        found[lens].sort(key=lambda one: -one[1])
    return found


def _contour(own: np.ndarray, pixels: np.ndarray) -> np.ndarray:
    padded = np.pad(own.astype(np.uint8), 1)
    contours, _ = cv2.findContours(padded, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    at = max(contours, key=len)[:, 0, :] - 1
    return pixels[at[:, 1], at[:, 0]].astype(float)


def _reflection(polygon, cover, stops, random, edge_px, per_mm) -> ReflectionSeen:
    middle = polygon.mean(axis=0)
    away = polygon - middle
    added = np.log2(max(2.0**stops - 0.6, 0.12))
    halo = np.clip(SOFT_MM + SOFT_MM_A_STOP * added, *SOFT_LIMITS_MM)  # edges are soft
    polygon = (
        polygon + away / np.maximum(np.linalg.norm(away, axis=1), 1e-6)[:, None] * halo * per_mm
    )
    shifted = polygon + random.normal(size=2) * edge_px * 0.7
    scaled = middle + (shifted - middle) * (
        1.0 + random.normal(size=2) * edge_px / np.maximum(np.ptp(polygon, axis=0), 1.0)
    )
    return ReflectionSeen(
        center=tuple(float(one) for one in scaled.mean(axis=0)),
        outline=tuple((float(x), float(y)) for x, y in scaled),
        lens_cover=cover,
        veil=0.0,
        stops_over_skin=min(stops, 1.3),
        clipped_share=float(stops > 1.3),
        recoverable=True,
        color="white",
    )


def _eye(side, pupil, outline, reflections) -> EyeSeen:
    lens = LensReading(
        outline=tuple((float(x), float(y)) for x, y in outline),
        lens_cover=sum(one.lens_cover for one in reflections),
        veil=0.0,
        stops_over_skin=max((one.stops_over_skin for one in reflections), default=None),
        reflections=reflections,
    )
    return EyeSeen(
        side=side,
        pupil=(float(pupil[0]), float(pupil[1])),
        likeness=0.9,
        is_open=True,
        edge_mm=0.3,
        lens=lens,
    )
