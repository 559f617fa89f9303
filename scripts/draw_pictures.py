"""Render the pictures that README and documents show, into the folder named.

They are of the demo's two setups, the same on every run but for the last bits of the noise.
"""

import sys
from pathlib import Path

import numpy as np

from tapemark.rendering import Effort, image_bytes
from tapemark.services import demo_setup_text
from tapemark.services.picture import PictureWanted, take_lights, take_picture
from tapemark.studio import Setup, setup_from_toml

EFFORT = Effort(
    samples=8,
    each_pass=2,
    layer_samples=4,
    guide_samples=4,
    fineness=1.0,
    fine_denoise=True,
)
FRAME, CLOSE, THIRD = (480, 600), (640, 290), (320, 400)
MOST_BYTES = 250_000


def main(folder: Path) -> None:
    """Write one JPEG for each picture shown."""
    folder.mkdir(parents=True, exist_ok=True)
    troubled, cured = (demo(stem) for stem in ("quillmere-troubled", "quillmere-cured"))

    def keep(name: str, values: np.ndarray) -> None:
        content = image_bytes(values, suffix=".jpg", about=f"{name}, computed by tapemark")
        if len(content) > MOST_BYTES:
            raise SystemExit(f"{name}: {len(content)} bytes are more than {MOST_BYTES}")
        (folder / f"{name}.jpg").write_bytes(content)
        print(f"{name}.jpg: {len(content) // 1000} kB", file=sys.stderr)

    def shot(setup: Setup, size: tuple[int, int], **how: object) -> np.ndarray:
        wanted = PictureWanted(size=size, effort=EFFORT, **how)  # type: ignore[arg-type]
        return take_picture(setup, wanted).values

    keep("shot-troubled", shot(troubled, FRAME))
    keep("shot-troubled-glasses", shot(troubled, CLOSE, crop="glasses"))
    keep("shot-cured-glasses", shot(cured, CLOSE, crop="glasses"))
    keep("shot-cured-clay", shot(cured, FRAME, clay=True))
    book = take_lights(cured, PictureWanted(size=THIRD, effort=EFFORT)).lights
    assert book is not None
    together = book.mixed()
    keep("shot-one-by-one", np.concatenate([*book.images, together], axis=1))
    stops = [together * 2.0**over for over in (-2.0, 0.0, 2.0)]
    keep("shot-two-stops", np.concatenate(stops, axis=1))


def demo(stem: str) -> Setup:
    """Return one of the demo's setups."""
    return setup_from_toml(demo_setup_text(stem), name=stem)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
