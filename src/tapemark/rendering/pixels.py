"""Pictures as arrays: finer and coarser pixels, values between them, lots taken out, blur."""

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


def larger(image: FloatArray, *, shape: tuple[int, int]) -> FloatArray:
    """Return a picture in more pixels, values between those it has.

    Parameters
    ----------
    image : (rows, columns, 3) array
        In few pixels.
    shape : tuple of two ints
        Rows and columns wanted.
    """
    found = image
    for axis, count in enumerate(shape):
        own = found.shape[axis]
        at = np.clip((np.arange(count) + 0.5) / count * own - 0.5, 0.0, own - 1.0)
        low = np.minimum(at.astype(int), max(own - 2, 0))
        share = (at - low).astype(np.float32)  # twice as fast as in double precision
        share = share.reshape([-1 if one == axis else 1 for one in range(found.ndim)])
        high = np.minimum(low + 1, own - 1)
        found = found.take(low, axis=axis) * (1 - share) + found.take(high, axis=axis) * share
    return np.asarray(found, dtype=np.float32)


def blurred(values: FloatArray, *, diameter: float) -> FloatArray:
    """Return values each spread evenly over a disc; nothing comes in over the border.

    Parameters
    ----------
    values : (rows, columns, k) array
        On pixels.
    diameter : float
        Of the disc, in pixels; less than one changes nothing.
    """
    if diameter < 1.0:
        return values
    around = int(np.ceil(diameter / 2.0)) + 1
    steps = np.arange(-around, around + 1)
    apart = np.hypot(steps[:, None], steps[None, :])
    disc = np.clip(diameter / 2.0 + 0.5 - apart, 0.0, 1.0)
    shape = [one + len(steps) for one in values.shape[:2]]
    spread = (
        np.fft.rfft2(values, shape, axes=(0, 1))
        * np.fft.rfft2(disc / disc.sum(), shape, axes=(0, 1))[..., None]
    )
    whole = np.fft.irfft2(spread, shape, axes=(0, 1))
    rows, columns = values.shape[:2]
    return np.asarray(whole[around : around + rows, around : around + columns])


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


def without_fringes(region: np.ndarray) -> np.ndarray:
    """Return the pixels of a region (rows, columns) that lie two or more within it."""
    return ~widened(widened(~region))
