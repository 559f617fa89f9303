"""Taking the noise out of a picture with what is known about the surfaces in it."""

import numpy as np

from tapemark.geometry import FloatArray

BLOCK = 16  # pixels that the denoiser works on together, each way


def denoise(
    image: FloatArray,
    *,
    albedo: FloatArray | None = None,
    normal: FloatArray | None = None,
    fine: bool = True,
) -> FloatArray:
    """Return a linear picture without its noise, (rows, columns, 3).

    Parameters
    ----------
    image : (rows, columns, 3) array
        As traced.
    albedo, normal : (rows, columns, 3) arrays, optional
        Reflectance and direction of what each pixel shows.
    fine : bool
        Whether to take twice the time for it.
    """
    import pyoidn

    rows, columns = image.shape[:2]
    guides = {}
    if albedo is not None and normal is not None:
        guides = {"albedo": _filled_up(albedo.clip(0.0, 1.0)), "normal": _filled_up(normal)}
    found = pyoidn.denoise(
        _filled_up(image), hdr=True, quality="high" if fine else "fast", **guides
    )
    return np.asarray(found[:rows, :columns])


def _filled_up(image: FloatArray) -> np.ndarray:
    """Return an image with rows and columns added, mirrored, up to whole blocks.

    Where it has to add them itself, the denoiser gives the last row another colour.
    """
    around = [(0, -size % BLOCK) for size in image.shape[:2]]
    filled = np.pad(image, (*around, (0, 0)), mode="symmetric")
    return np.ascontiguousarray(filled, dtype=np.float32)
