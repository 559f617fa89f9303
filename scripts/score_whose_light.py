"""Score whose light each reflection is said to be, and how curved the lenses are.

    python scripts/score_whose_light.py FOLDER [--use report] [--limit 40]

FOLDER is what `labelled_pictures.py` wrote. Each picture is read and matched against the setup that
it was rendered from. A reflection that was read counts where it lies on a labelled one, and at most
two lights show in its lens: named right where the name is that of the light which fills the most of
it. What was read where nothing is labelled counts as right where it is called unknown. Curvature: a
lens that is measured, against its front as made.
"""

import argparse
import json
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import NamedTuple

import numpy as np
from PIL import Image
from score_readings import LENS_BITS, SHOWS, filled, pictures_in

from tapemark.errors import TapemarkError
from tapemark.photo import read_photo, read_shot
from tapemark.services.photos.whose_light import match_reading
from tapemark.studio import setup_from_mapping

LIGHT_BITS = (16, 32, 64)
ON_IT, MOST_LIGHTS = 0.3, 2
RADIUS_WITHIN = 0.10


class Named(NamedTuple):
    """What became of the reflections of one picture.

    Attributes
    ----------
    right : tuple of bool
        Of reflections on labelled ones: whether the light is named right.
    odd_right : tuple of bool
        Of others: whether they are called unknown.
    radii : tuple of float
        Radius of a front as measured, over that as made. [-]
    refused : str
        Why nothing was matched; empty where it was.
    """

    right: tuple[bool, ...] = ()
    odd_right: tuple[bool, ...] = ()
    radii: tuple[float, ...] = ()
    refused: str = ""


def named_in(path: Path) -> Named:
    """Return what became of the reflections of one picture."""
    known = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
    with Image.open(path.with_suffix(".png")) as image:
        marks = np.asarray(image)
    try:
        reading = read_shot(read_photo(path), name=path.name)
        setup = setup_from_mapping(known["setup"])
        match = match_reading(reading, setup, moves=False)
    except TapemarkError as error:
        return Named(refused=str(error))
    right, odd, radii = [], [], []
    for wearer in match.wearers:
        own = reading.wearers[wearer.number - 1]
        for one in wearer.reflections:
            lens = getattr(own, one.side).lens
            region = filled([lens.reflections[one.index].outline], marks.shape)
            region = region & ((marks & 3) == LENS_BITS[one.side])
            shares = {
                name: float(((marks & bit) > 0)[region].mean()) if region.any() else 0.0
                for name, bit in zip(known["lights"], LIGHT_BITS, strict=False)
            }
            in_lens = {shown["light"] for shown in known["shown"] if shown["side"] == one.side}
            if max(shares.values(), default=0.0) < ON_IT:
                shows = ((marks & SHOWS) > 0)[region].mean() if region.any() else 0.0
                odd += [one.light == "unknown"] if shows < ON_IT else []
            elif len(in_lens) <= MOST_LIGHTS:
                right.append(shares.get(one.light, 0.0) >= max(shares.values()) - 0.02)
        radii += [
            one.front_radius_mm.value / known["lenses"][one.side]["front_radius_mm"]
            for one in wearer.lens_estimates
        ]
    return Named(tuple(right), tuple(odd), tuple(radii))


def main() -> None:
    """Print the score of a folder."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--use", choices=["tuning", "report"], help="only these seeds")
    parser.add_argument("--limit", type=int, default=0, help="only the first so many")
    parser.add_argument("--workers", type=int, default=2)
    given = parser.parse_args()
    paths = list(pictures_in(given.folder, use=given.use))
    paths = paths[: given.limit or None]
    with ProcessPoolExecutor(given.workers) as pool:
        found = list(pool.map(named_in, paths))
    right = [one for own in found for one in own.right]
    odd = [one for own in found for one in own.odd_right]
    radii = np.array([one for own in found for one in own.radii])
    near = np.abs(radii - 1.0) <= RADIUS_WITHIN
    print(f"pictures {len(paths)}, not matched {sum(bool(one.refused) for one in found)}")
    print(f"light named right {sum(right)} of {len(right)}")
    print(f"reflections of nothing labelled, called unknown {sum(odd)} of {len(odd)}")
    print(f"radius of the front within 10 %: {near.sum()} of {len(radii)}")
    if len(radii):
        print("each over that as made: " + ", ".join(f"{one:.2f}" for one in sorted(radii)))


if __name__ == "__main__":
    main()
