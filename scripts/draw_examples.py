"""Draw the demo's pictures that the documents show, into the folder named."""

import sys
from pathlib import Path

from tapemark.drawing import svg_to_png
from tapemark.services import check_setup, demo_setup_text, drawings
from tapemark.studio import setup_from_toml

SHOWN = (
    ("quillmere-troubled", "camera"),
    ("quillmere-cured", "camera"),
    ("quillmere-troubled", "plan"),
    ("quillmere-cured", "elevation"),
)
WIDTH_PX = 1400


def main(folder: Path) -> None:
    """Write one PNG for each picture shown."""
    folder.mkdir(parents=True, exist_ok=True)
    for stem, view in SHOWN:
        report = check_setup(setup_from_toml(demo_setup_text(stem), name=stem))
        png = svg_to_png(drawings(report)[view], width_px=WIDTH_PX)
        (folder / f"{stem}-{view}.png").write_bytes(png)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
