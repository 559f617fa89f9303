"""Pictures as files: PNG and JPEG as a camera would give them, OpenEXR with the sensor's values."""

import io
import tempfile
from pathlib import Path

from tapemark.geometry import FloatArray
from tapemark.rendering.developing import developed
from tapemark.rendering.exr_files import write_exr

IMAGE_SUFFIXES = (".png", ".jpg", ".jpeg", ".exr")
JPEG_QUALITY = 92


def image_bytes(values: FloatArray, *, suffix: str, about: str = "") -> bytes:
    """Return a picture as the content of a file.

    Parameters
    ----------
    values : (rows, columns, 3) array
        Linear sensor values; 1.0 is a lit matt white. [-]
    suffix : str
        ``.png``, ``.jpg`` or ``.jpeg``; ``.exr`` keeps the linear values.
    about : str
        What it shows, kept in the file.
    """
    if suffix == ".exr":
        return _exr_bytes(values)
    from PIL import Image, PngImagePlugin

    image, stream = Image.fromarray(developed(values)), io.BytesIO()
    if suffix == ".png":
        notes = PngImagePlugin.PngInfo()
        notes.add_text("Description", about)
        image.save(stream, format="PNG", pnginfo=notes)
    else:
        exif = Image.Exif()
        exif[0x010E] = about.encode("ascii", "replace").decode()
        image.save(stream, format="JPEG", quality=JPEG_QUALITY, exif=exif)
    return stream.getvalue()


def _exr_bytes(values: FloatArray) -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "picture.exr"
        write_exr(file, values)
        return file.read_bytes()
