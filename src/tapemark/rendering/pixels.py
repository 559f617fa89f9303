"""Pictures as arrays: finer and coarser pixels, values between them, lots taken out."""

import numpy as np

from tapemark.geometry import FloatArray


def without_lots(image: FloatArray) -> FloatArray:
    """Return a picture by light that lots let through or not, smoothed, as bright as before.

    Where a lens lets a share of light through, the tracer draws lots whether a ray goes on. The
    dark pixels of one family stand alone: each is given the middle value around it.
    """
    padded = np.pad(image, ((1, 1), (1, 1), (0, 0)), mode="edge")
    rows, columns = image.shape[:2]
    around = [padded[i : i + rows, j : j + columns] for i in range(3) for j in range(3)]
    smoothed = np.median(around, axis=0)
    total = smoothed.sum()
    return np.asarray(smoothed * (image.sum() / total if total > 0.0 else 1.0))


def coarser(values: FloatArray, times: int) -> FloatArray:
    """Return means over blocks of fine pixels."""
    rows, columns = values.shape[0] // times, values.shape[1] // times
    blocks = values.reshape(rows, times, columns, times, *values.shape[2:])
    return np.asarray(blocks.mean(axis=(1, 3)))


def nearest(image: FloatArray, at: FloatArray) -> FloatArray:
    """Return an image (rows, columns, ...) at places (n, 2), the nearest pixel."""
    rows, columns = image.shape[:2]
    place = np.nan_to_num(at)
    column = np.clip(place[:, 0].astype(int), 0, columns - 1)
    return np.asarray(image[np.clip(place[:, 1].astype(int), 0, rows - 1), column])


def bilinear(image: FloatArray, at: FloatArray) -> FloatArray:
    """Return an image (rows, columns, 3) between pixels at places (n, 2); NaN for NaN."""
    rows, columns = image.shape[:2]
    place = np.nan_to_num(at) - 0.5
    column, row = np.clip(place[:, 0], 0, columns - 1.001), np.clip(place[:, 1], 0, rows - 1.001)
    left, top = column.astype(int), row.astype(int)
    u, v = (column - left)[:, None], (row - top)[:, None]
    upper = image[top, left] * (1 - u) + image[top, left + 1] * u
    lower = image[top + 1, left] * (1 - u) + image[top + 1, left + 1] * u
    found = upper * (1 - v) + lower * v
    known = np.asarray(np.isfinite(at).all(axis=-1))
    return np.where(known[:, None], found, np.nan)


def widened(region: np.ndarray) -> np.ndarray:
    """Return the pixels of a region (rows, columns) and all around them."""
    padded = np.pad(region, 1)
    rows, columns = region.shape
    around = [padded[i : i + rows, j : j + columns] for i in range(3) for j in range(3)]
    return np.asarray(np.logical_or.reduce(around))
