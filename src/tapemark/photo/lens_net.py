"""What a small network of our own sees in the strip around the eyes: lenses, reflections, pupils.

It was trained on our rendered pictures for tuning by `scripts/train_lens_net.py`, which says how,
and runs in OpenCV. Its maps are probabilities of pixels; what follows from them is told elsewhere.
"""

from __future__ import annotations

import functools
from importlib import resources
from threading import Lock
from typing import Any, NamedTuple

import numpy as np

from tapemark.photo.strip import COLUMNS, ROWS, EyeStrip

TALL = 192  # rows it was trained with: those of a strip and some more, so that they halve
_BUSY = Lock()  # the network keeps what it is at


class LensMaps(NamedTuple):
    """How likely each pixel of a strip belongs to something, (rows, columns) each, 0 to 1.

    Attributes
    ----------
    right, left : arrays
        The sitter's own right and left lens, within the rim.
    reflection : array
        A reflection in one of them that is worth finding.
    right_pupil, left_pupil : arrays
        Highest at the pupil.
    """

    right: np.ndarray
    left: np.ndarray
    reflection: np.ndarray
    right_pupil: np.ndarray
    left_pupil: np.ndarray


def lens_maps(strip: EyeStrip) -> LensMaps:
    """Return what the network sees in a strip."""
    import cv2

    padded = cv2.copyMakeBorder(strip.pixels, 0, TALL - ROWS, 0, 0, cv2.BORDER_REPLICATE)
    whole = cv2.dnn.blobFromImage(padded, scalefactor=1.0 / 255.0)
    with _BUSY:
        network = _network()
        network.setInput(whole)
        found = network.forward()[0]
    return LensMaps(*(cv2.resize(one, (COLUMNS, TALL))[:ROWS] for one in found))


def load_network() -> None:
    """Load the network now, so that the first photo is read at once."""
    with _BUSY:
        _network()


@functools.cache
def _network() -> Any:
    import cv2

    kept = resources.files("tapemark.photo").joinpath("lens_net.onnx").read_bytes()
    return cv2.dnn.readNetFromONNX(np.frombuffer(kept, dtype=np.uint8))
