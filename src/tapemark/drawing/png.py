"""SVG to PNG with the typeface that comes with the package, so that text looks alike everywhere."""

from importlib.util import find_spec
from pathlib import Path

_FONT_PACKAGE = "font_source_sans_pro"
_FONT_FILES = ("SourceSansPro-Regular.ttf", "SourceSansPro-Semibold.ttf")
_FAMILY = "Source Sans Pro"


def svg_to_png(svg: str, *, width_px: int) -> bytes:
    """Return a drawing as a PNG picture.

    Parameters
    ----------
    svg : str
        SVG text, such as the drawings of this package return.
    width_px : int
        Width of the picture; the height follows. [px]
    """
    from resvg_py import svg_to_bytes  # loaded only where used

    return bytes(
        svg_to_bytes(
            svg_string=svg,
            width=width_px,
            dpi=96,  # without it, sizes in mm come to nothing
            skip_system_fonts=True,
            font_files=font_files(),
            font_family=_FAMILY,
            sans_serif_family=_FAMILY,
        )
    )


def font_files() -> list[str]:
    """Return where the font files of the drawings' typeface lie."""
    spec = find_spec(_FONT_PACKAGE)
    if spec is None or spec.origin is None:
        raise ModuleNotFoundError(
            f"the typeface package {_FONT_PACKAGE} is missing: install tapemark again",
            name=_FONT_PACKAGE,
        )
    folder = Path(spec.origin).parent / "files"
    return [str(folder / name) for name in _FONT_FILES]
