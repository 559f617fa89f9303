"""Score what is read from labelled pictures: faces, lenses, reflections, whose light, curvature.

    python scripts/score_readings.py FOLDER [--use report] [--whose] [--page docs/photos.md]

FOLDER is what `labelled_pictures.py` wrote. What counts was fixed before anything was measured:

glare worth finding   at least a third of a stop over lit skin on 0.5 % of the lens or more
found                 a quarter of it or more is read as a reflection
without               nothing as bright as a tenth of lit skin on more than 0.1 % of the lens
false                 of such a lens 0.5 % is read as a reflection, or it is not called clear
faint                 in between: reported beside, in neither count

Lenses that are not found at all count as glare not found.
"""

import argparse
import json
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, ImageDraw

from tapemark.errors import FileError
from tapemark.photo import LensReading, ShotReading, read_photo, read_shot

WORTH_SHARE, FOUND_SHARE = 0.005, 0.25
NOTHING_SHARE, FALSE_SHARE = 0.001, 0.005
PUPIL_MM, LENS_OVERLAP = 4.0, 0.7
LENS_BITS, SHOWS, GLARE = {"right": 1, "left": 2}, 4 | 8, 128
BEGIN, END = "<!-- measured: begin -->\n", "<!-- measured: end -->\n"


@dataclass(frozen=True, kw_only=True, slots=True)
class LensScore:
    """What became of one lens.

    Attributes
    ----------
    lens : float
        Overlap of the lens as found with the lens; 0 where none was found.
    glare_share, faint_share : float
        Of the lens with glare worth finding, and with anything that shows.
    read_share : float
        Of it read as reflection, as the reader says.
    found_share : float
        Of the glare, read as reflection.
    overlap : float
        Of what is read with the glare.
    clear : bool
        Whether it is called clear.
    """

    lens: float
    glare_share: float
    faint_share: float
    read_share: float
    found_share: float
    overlap: float
    clear: bool

    @property
    def has_glare(self) -> bool:
        """Whether there is glare worth finding."""
        return self.glare_share >= WORTH_SHARE

    @property
    def is_found(self) -> bool:
        """Whether the glare is found."""
        return self.found_share >= FOUND_SHARE

    @property
    def is_bare(self) -> bool:
        """Whether nothing shows in it."""
        return self.faint_share <= NOTHING_SHARE

    @property
    def says_glare(self) -> bool:
        """Whether the reader says that there is some."""
        return self.read_share >= FALSE_SHARE or not self.clear


@dataclass(frozen=True, kw_only=True, slots=True)
class PictureScore:
    """What became of one picture.

    Attributes
    ----------
    name : str
        Of its file.
    glasses, one_face, says_glasses, pupils_right, asks : bool
        Whether glasses are worn; and whether one face, glasses, the pupils were read right, and
        whether something was asked.
    lenses : tuple of LensScore
        Of worn glasses.
    """

    name: str
    glasses: bool
    one_face: bool = False
    says_glasses: bool = False
    pupils_right: bool = False
    asks: bool = False
    lenses: tuple[LensScore, ...] = field(default=())


def score_picture(path: Path) -> PictureScore:
    """Return what became of one picture."""
    known = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
    with Image.open(path.with_suffix(".png")) as image:
        marks = np.asarray(image)
    try:
        reading = read_shot(read_photo(path), name=path.name)
    except FileError:
        return PictureScore(name=path.stem, glasses=known["glasses"], lenses=_missed(known, marks))
    return score_reading(reading, known=known, marks=marks, name=path.stem)


def score_reading(
    reading: ShotReading, *, known: dict[str, Any], marks: np.ndarray, name: str
) -> PictureScore:
    """Return what became of a picture that was read."""
    if len(reading.wearers) != 1:
        return PictureScore(name=name, glasses=known["glasses"], lenses=_missed(known, marks))
    (wearer,) = reading.wearers
    lenses = tuple(
        _lens_score(getattr(wearer, side).lens, marks, side=side) for side in _sides(known, marks)
    )
    return PictureScore(
        name=name,
        glasses=known["glasses"],
        one_face=True,
        says_glasses=wearer.right.lens is not None,
        pupils_right=_pupils_right(reading, known),
        asks=bool(wearer.questions),
        lenses=lenses,
    )


def _sides(known: dict[str, Any], marks: np.ndarray) -> list[str]:
    if not known["glasses"]:
        return []
    return [side for side, bit in LENS_BITS.items() if ((marks & 3) == bit).any()]


def _missed(known: dict[str, Any], marks: np.ndarray) -> tuple[LensScore, ...]:
    return tuple(_lens_score(None, marks, side=side) for side in _sides(known, marks))


def _lens_score(read: LensReading | None, marks: np.ndarray, *, side: str) -> LensScore:
    lens = (marks & 3) == LENS_BITS[side]
    glare, shows = lens & ((marks & GLARE) > 0), lens & ((marks & SHOWS) > 0)
    outlines = [] if read is None else [one.outline for one in read.reflections]
    found = filled(outlines, lens.shape)
    return LensScore(
        lens=0.0 if read is None else overlap(filled([read.outline], lens.shape), lens),
        glare_share=float(glare.sum() / lens.sum()),
        faint_share=float(shows.sum() / lens.sum()),
        read_share=0.0 if read is None else read.lens_cover,
        found_share=float((found & glare).sum() / max(glare.sum(), 1)),
        overlap=overlap(found, glare),
        clear=read is None or read.verdict == "clear",
    )


def _pupils_right(reading: ShotReading, known: dict[str, Any]) -> bool:
    pupils = {side: np.array(at) for side, at in known["pupils"].items()}
    apart = float(np.linalg.norm(pupils["left"] - pupils["right"]))
    away = [
        float(np.linalg.norm(np.array(eye.pupil) - pupils[eye.side])) / apart * 63.0
        for eye in reading.wearers[0].eyes
    ]
    return max(away) <= PUPIL_MM


def filled(outlines: list[tuple[tuple[float, float], ...]], shape: tuple[int, ...]) -> np.ndarray:
    """Return which pixels lie in any of some outlines."""
    image = Image.new("1", (shape[1], shape[0]))
    pen = ImageDraw.Draw(image)
    for one in outlines:
        if len(one) >= 3:
            pen.polygon([(x - 0.5, y - 0.5) for x, y in one], fill=1)
    return np.asarray(image)


def overlap(one: np.ndarray, two: np.ndarray) -> float:
    """Return what two masks share, of both together."""
    return float((one & two).sum() / max((one | two).sum(), 1))


def pictures_in(folder: Path, *, use: str | None) -> Iterator[Path]:
    """Yield the labelled pictures of a folder that are for one use."""
    for path in sorted(folder.glob("shot-*.jpg")):
        known = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
        if use in {None, known["use"]}:
            yield path


def table(scores: list[PictureScore]) -> list[tuple[str, str, str]]:
    """Return what was measured, how it came out and what was aimed at."""
    worn = [one for one in scores if one.glasses]
    lenses = [lens for one in scores for lens in one.lenses]
    glare = [one for one in lenses if one.has_glare]
    bare = [one for one in lenses if one.is_bare]
    faint = [one for one in lenses if not one.has_glare and not one.is_bare]
    small = [one for one in glare if one.glare_share < 0.03]
    large = [one for one in glare if one.glare_share >= 0.03]
    covers = [one.overlap for one in glare if one.is_found]
    sound = sum(one.lens >= LENS_OVERLAP for one in lenses)
    return [
        ("pictures, with glasses", f"{len(scores)}, {len(worn)}", ""),
        ("one face found", _of(sum(one.one_face for one in scores), len(scores)), ""),
        ("both pupils within 4 mm", _of(sum(one.pupils_right for one in scores), len(scores)), ""),
        ("glasses told", _of(sum(one.says_glasses for one in worn), len(worn)), ""),
        (
            "glasses said of bare eyes",
            _of(
                sum(one.says_glasses for one in scores if not one.glasses), len(scores) - len(worn)
            ),
            "",
        ),
        ("something asked", _of(sum(one.asks for one in scores), len(scores)), ""),
        ("lenses found where they are (overlap 0.7 or more)", _of(sound, len(lenses)), ""),
        (
            "lenses with glare worth finding, found",
            _of(sum(one.is_found for one in glare), len(glare)),
            "0.95",
        ),
        ("... of 3 % of the lens or more", _of(sum(one.is_found for one in large), len(large)), ""),
        ("... smaller", _of(sum(one.is_found for one in small), len(small)), ""),
        (
            "lenses without any, called so wrongly",
            _of(sum(one.says_glare for one in bare), len(bare)),
            "0.05",
        ),
        (
            "lenses with faint ones only, told",
            _of(sum(one.says_glare for one in faint), len(faint)),
            "",
        ),
        (
            "overlap of found glare, middle and mean",
            f"{np.median(covers):.2f}, {np.mean(covers):.2f}" if covers else "-",
            "0.8",
        ),
    ]


def _of(count: int, whole: int) -> str:
    return f"{count / whole:.2f} ({count} of {whole})" if whole else "-"


def page_part(rows: list[tuple[str, str, str]]) -> str:
    """Return a table in Markdown."""
    head = ["| measured | share | wanted |", "|---|---|---|"]
    return (
        "\n".join([*head, *(f"| {name} | {found} | {aim} |" for name, found, aim in rows)]) + "\n"
    )


def main() -> None:
    """Print the score of a folder, and put it on a page."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--use", choices=["tuning", "report"], help="only these seeds")
    parser.add_argument("--page", type=Path, help="put the table between its marks")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--each", action="store_true", help="a line for every lens that went wrong")
    given = parser.parse_args()
    paths = list(pictures_in(given.folder, use=given.use))
    with ProcessPoolExecutor(given.workers) as pool:
        scores = list(pool.map(partial(score_picture), paths, chunksize=4))
    rows = table(scores)
    for name, found, aim in rows:
        print(f"{name:52s} {found:18s} {aim and 'wanted ' + aim}")
    if given.each:
        _print_wrong(scores)
    if given.page:
        text = given.page.read_text(encoding="utf-8")
        before, rest = text.split(BEGIN)
        after = rest.split(END)[1]
        given.page.write_text(before + BEGIN + page_part(rows) + END + after, encoding="utf-8")


def _print_wrong(scores: list[PictureScore]) -> None:
    for one in scores:
        if not one.one_face or one.glasses != one.says_glasses or not one.pupils_right:
            print(
                f"{one.name} face {one.one_face} glasses {one.glasses} says {one.says_glasses} "
                f"pupils {one.pupils_right}"
            )
        for side, lens in zip(("R", "L"), one.lenses, strict=False):
            missed = lens.has_glare and not lens.is_found
            if missed or (lens.is_bare and lens.says_glare) or lens.lens < LENS_OVERLAP:
                kind = "missed" if missed else "false" if lens.is_bare and lens.says_glare else ""
                print(
                    f"{one.name} {side} {kind:7s} glare {lens.glare_share:.3f} shows "
                    f"{lens.faint_share:.3f} read {lens.read_share:.3f} lens {lens.lens:.2f}"
                )


if __name__ == "__main__":
    main()
