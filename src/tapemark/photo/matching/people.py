"""Who of the people in a setup is who in a photo, and which glasses they wear there."""

from __future__ import annotations

import itertools

import numpy as np

from tapemark.analysis import Scene
from tapemark.photo.matching.photo_camera import PhotoCamera
from tapemark.photo.reading import WearerReading
from tapemark.photo.strip import PUPILS_APART_MM
from tapemark.studio import Glasses

MOST_PEOPLE = 6  # for whom every order is tried


def pairs_of(
    scenes: tuple[Scene, ...], wearers: tuple[WearerReading, ...], *, camera: PhotoCamera
) -> tuple[tuple[int, int], ...]:
    """Return which scene belongs to which person of a reading, from camera-left.

    Parameters
    ----------
    scenes : tuple of Scene
        One for each person of the setup.
    wearers : tuple of WearerReading
        Those that were read.
    camera : PhotoCamera
        As written; it may have been aimed elsewhere, so only places among each other count.

    Returns
    -------
    tuple of (int, int)
        Places in `scenes` and in `wearers`.
    """
    if not scenes or not wearers:
        return ()
    written = np.stack([camera.pixels(one.pose.origin) for one in scenes[:MOST_PEOPLE]])
    read = np.stack([_between_eyes(one) for one in wearers[:MOST_PEOPLE]])
    if len(written) == 1 and len(read) == 1:
        return ((0, 0),)
    few, many = sorted((written, read), key=len)
    best, cost = tuple(range(len(few))), np.inf
    for order in itertools.permutations(range(len(many)), len(few)):
        away = many[list(order)] - few
        own = float(((away - (np.median(away, axis=0) if len(few) > 1 else 0.0)) ** 2).sum())
        if own < cost:
            best, cost = order, own
    swapped = len(written) > len(read)
    pairs = [
        (many_at, few_at) if swapped else (few_at, many_at) for few_at, many_at in enumerate(best)
    ]
    return tuple(sorted(pairs, key=lambda one: one[1]))


def worn_glasses(written: Glasses | None, wearer: WearerReading) -> Glasses | None:
    """Return the glasses as written; those that were read where none were; None without any."""
    if any(one.lens is None for one in wearer.eyes):
        return None
    if written is not None:
        return written
    wide, tall, gap = _size_mm(wearer)
    return Glasses(
        name="glasses in the photo",
        lens_width_mm=float(np.clip(wide, 32.0, 68.0)),
        lens_height_mm=float(np.clip(tall, 20.0, 63.0)),
        bridge_mm=float(np.clip(gap, 9.0, 31.0)),
    )


def _between_eyes(wearer: WearerReading) -> np.ndarray:
    return np.asarray(np.mean([one.pupil for one in wearer.eyes], axis=0))


def _size_mm(wearer: WearerReading) -> tuple[float, float, float]:
    """Return width, height and gap of the lenses read, for pupils as far apart as assumed."""
    right, left = (np.array(one.pupil) for one in wearer.eyes)
    span = left - right
    per_mm = float(np.hypot(*span)) / PUPILS_APART_MM
    turn = np.array([span, [-span[1], span[0]]]) / np.hypot(*span) / per_mm
    boxes = [np.array(one.lens.outline) @ turn.T for one in wearer.eyes if one.lens is not None]
    wide, tall = np.mean([np.ptp(one, axis=0) for one in boxes], axis=0)
    gap = float(boxes[1][:, 0].min() - boxes[0][:, 0].max())
    return float(wide), float(tall), gap
