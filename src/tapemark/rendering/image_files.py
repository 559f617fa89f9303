"""Pictures as files: PNG and JPEG as a camera would give them, OpenEXR with the sensor's values."""

import io
import tempfile
from pathlib import Path

from tapemark.errors import WriteError
from tapemark.geometry import FloatArray
from tapemark.rendering.developing import developed
from tapemark.rendering.exr_files import write_exr

IMAGE_SUFFIXES = (".png", ".jpg", ".jpeg", ".exr")
JPEG_QUALITY = 92
PASSING_LEVEL, FINAL_LEVEL = 1, 4  # of compression of a PNG file, 0 to 9


def image_bytes(
    values: FloatArray, *, suffix: str, about: str = "", in_passing: bool = False
) -> bytes:
    """Return a picture as the content of a file.

    Parameters
    ----------
    values : (rows, columns, 3) array
        Linear sensor values; 1.0 is a lit matt white. [-]
    suffix : str
        ``.png``, ``.jpg`` or ``.jpeg``; ``.exr`` keeps the linear values.
    about : str
        What it shows, kept in the file.
    in_passing : bool
        Whether it is soon replaced, and may be a larger file that is written sooner.
    """
    if suffix == ".exr":
        return _exr_bytes(values)
    from PIL import Image, PngImagePlugin

    image, stream = Image.fromarray(developed(values)), io.BytesIO()
    if suffix == ".png":
        notes = PngImagePlugin.PngInfo()
        notes.add_text("Description", about)
        level = PASSING_LEVEL if in_passing else FINAL_LEVEL
        image.save(stream, format="PNG", pnginfo=notes, compress_level=level)
    else:
        exif = Image.Exif()
        exif[0x010E] = about.encode("ascii", "replace").decode()
        image.save(stream, format="JPEG", quality=JPEG_QUALITY, exif=exif)
    return stream.getvalue()


def check_writable(folder: Path, *, file: str = "") -> None:
    """Raise a `WriteError` where a folder takes no file; it is made where no file is named.

    Parameters
    ----------
    folder : Path
        Where to write.
    file : str, optional
        Name of a file there, which must be no folder.
    """
    reason, path = "", folder / file if file else folder
    try:
        if file and path.is_dir():
            reason = "it is a folder"
        elif folder.exists() and not folder.is_dir():
            reason = "a file has that name"
        else:
            if not file:
                folder.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryFile(dir=folder):
                pass
    except OSError as error:
        reason = error.strerror or str(error)
    if reason:
        advice = "name a file in it" if path.is_dir() and file else "name another folder"
        raise WriteError(str(path), reason=f"cannot be written ({reason})", advice=advice)


def _exr_bytes(values: FloatArray) -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "picture.exr"
        write_exr(file, values)
        return file.read_bytes()
