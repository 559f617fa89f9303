"""Taking the noise out of a picture with what is known about the surfaces in it."""

import numpy as np

from tapemark.geometry import FloatArray


def denoise(
    image: FloatArray, *, albedo: FloatArray, normal: FloatArray, fine: bool = True
) -> FloatArray:
    """Return a linear picture without its noise, (rows, columns, 3).

    Parameters
    ----------
    image : (rows, columns, 3) array
        As traced.
    albedo, normal : (rows, columns, 3) arrays
        Reflectance and direction of what each pixel shows.
    fine : bool
        Whether to take twice the time for it.
    """
    import pyoidn

    found = pyoidn.denoise(
        np.ascontiguousarray(image, dtype=np.float32),
        albedo=np.ascontiguousarray(albedo.clip(0.0, 1.0), dtype=np.float32),
        normal=np.ascontiguousarray(normal, dtype=np.float32),
        hdr=True,
        quality="high" if fine else "fast",
    )
    return np.asarray(found)
