"""Write authorities/photometric_files.json: lamps' files, as read by other programs.

The other programs are photompy, asked for IES files, and eulumdat-py, asked for EULUMDAT files.
(photompy 0.3.1 reads EULUMDAT too, but takes the number of planes for that of planes with
intensities where a lamp has a symmetry, so it is not asked.) They are no dependencies of tapemark
or of its tests: install them into an environment of their own and run this file there when the
set of lamps changes.

    python -m venv second && second/bin/pip install photompy==0.3.1 eulumdat-py==1.0.0
    second/bin/python scripts/photometric_second_opinion.py

Nothing of tapemark is imported here. The lamps are invented; the text of each file is written
beside what the programs read in it. `towards` are pairs of a vertical and a horizontal angle in
degrees, none of them on the grid of a file, and `candela` the intensities found there.
"""

import json
import math
import platform
import tempfile
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
import photompy
import pyldt

OUTPUT = Path(__file__).resolve().parent.parent / "authorities" / "photometric_files.json"
TOWARDS = [
    (3.0, 10.0), (17.5, 61.0), (31.0, 133.0), (44.0, 199.0), (52.5, 287.0), (66.0, 351.0),
    (12.0, 95.0), (28.0, 265.0), (79.0, 42.0), (88.0, 222.0), (7.0, 178.0), (61.0, 7.0),
]  # fmt: skip
LUMENS = 1200.0  # of the lamps of the EULUMDAT files

Lamp = Callable[[float, float], float]


def diffuse(gamma: float, _plane: float) -> float:
    """Return 1000 cd times the cosine."""
    return 1000.0 * max(math.cos(math.radians(gamma)), 0.0)


def uneven(gamma: float, plane: float) -> float:
    """Return a lamp without any symmetry."""
    down, out = math.cos(math.radians(gamma)), math.sin(math.radians(gamma))
    lean = math.cos(math.radians(plane - 35.0)) + out * math.cos(math.radians(2 * plane - 20.0))
    return 700.0 * down**2 * (1.5 + 0.7 * out * lean) + 5.0


def mirrored(*, c0: bool, c90: bool) -> Lamp:
    """Return the uneven lamp made symmetric about one plane or both."""

    def lamp(gamma: float, plane: float) -> float:
        planes = [plane]
        planes += [-one for one in planes] if c0 else []
        planes += [180.0 - one for one in planes] if c90 else []
        return sum(uneven(gamma, one) for one in planes) / len(planes)

    return lamp


def steps(last: float, step: float) -> list[float]:
    """Return the angles from 0 to the last."""
    return [step * number for number in range(round(last / step) + 1)]


def row(values: list[float]) -> str:
    """Return numbers on one line."""
    return " ".join(f"{value:.10g}" for value in values)


def ies(lamp: Lamp, *, vertical: list[float], horizontal: list[float], heading: str) -> str:
    """Return the text of an IES file."""
    lines = [heading, "[TEST] invented", "[LUMINAIRE] lamp of our own", "TILT=NONE"]
    lines.append(f"1 -1 1 {len(vertical)} {len(horizontal)} 1 2 0.4 0.2 0")
    lines += ["1 1 50", row(vertical), row(horizontal)]
    lines += [row([lamp(gamma, plane) for gamma in vertical]) for plane in horizontal]
    return "\n".join(lines) + "\n"


def eulumdat(lamp: Lamp, *, symmetry: int, vertical: list[float], planes: list[float]) -> str:
    """Return the text of an EULUMDAT file."""
    count = len(planes)
    first, filed = {
        0: (0, count),
        1: (0, 1),
        2: (0, count // 2 + 1),
        3: (3 * count // 4, count // 2 + 1),
        4: (0, count // 4 + 1),
    }[symmetry]
    lines: list[Any] = ["a maker of our own", 2, symmetry, count, 360 / count, len(vertical)]
    lines += [vertical[1], "report", "lamp of our own", "number", "lamp.ldt", "today"]
    lines += [500, 300, 80, 400, 200, 0, 0, 0, 0, 100, 80, 1, 0]
    lines += [1, 1, "LED", LUMENS, "5600 K", "95", 50, *[0] * 10]
    lines += [*planes, *vertical]
    for number in range(filed):
        plane = planes[(first + number) % count]
        lines += [f"{lamp(gamma, plane) * 1000 / LUMENS:.10g}" for gamma in vertical]
    return "\n".join(str(line) for line in lines) + "\n"


def files() -> dict[str, str]:
    """Return the text of each file by its name."""
    coarse, fine = steps(90.0, 15.0), steps(180.0, 15.0)
    planes = steps(330.0, 30.0)
    both, c0 = mirrored(c0=True, c90=True), mirrored(c0=True, c90=False)
    lamps = {
        "diffuse.ies": ies(diffuse, vertical=coarse, horizontal=[0.0], heading="IESNA:LM-63-2002"),
        "quarter.ies": ies(
            both, vertical=fine, horizontal=steps(90.0, 15.0), heading="IESNA:LM-63-1995"
        ),
        "half.ies": ies(
            c0, vertical=fine, horizontal=steps(180.0, 15.0), heading="IESNA:LM-63-2002"
        ),
        "full.ies": ies(
            uneven, vertical=fine, horizontal=steps(360.0, 15.0), heading="IESNA:LM-63-2002"
        ),
    }
    kinds = {0: uneven, 1: diffuse, 2: c0, 3: mirrored(c0=False, c90=True), 4: both}
    for symmetry, lamp in kinds.items():
        text = eulumdat(lamp, symmetry=symmetry, vertical=fine, planes=planes)
        lamps[f"symmetry {symmetry}.ldt"] = text
    return lamps


def reading(name: str, text: str, folder: Path) -> dict[str, Any]:
    """Return what the other program finds in a file."""
    path = folder / name
    path.write_text(text, encoding="ascii")
    if path.suffix == ".ies":
        found = photompy.IESFile.read(path, strict=False).photometry.expanded()
        candela = found.get_intensity(*np.array(TOWARDS).T)
        return {
            "name": name,
            "text": text,
            "candela": [round(float(one), 9) for one in candela],
            "flux_lm": round(float(found.total_optical_power()), 6),
        }
    matrix = pyldt.LdtReader.read(path)
    return {
        "name": name,
        "text": text,
        "planes_deg": matrix.header.c_angles,
        "vertical_deg": matrix.header.g_angles,
        "candela_per_klm": matrix.intensities,
    }


def main() -> None:
    """Ask the other programs and write the file."""
    with tempfile.TemporaryDirectory() as folder:
        lamps = [reading(name, text, Path(folder)) for name, text in files().items()]
    content = {
        "made_by": "scripts/photometric_second_opinion.py",
        "versions": {
            **{name: version(name) for name in ("photompy", "eulumdat-py", "numpy")},
            "python": platform.python_version(),
        },
        "towards": TOWARDS,
        "lamp_lumens_of_eulumdat": LUMENS,
        "lamps": lamps,
    }
    OUTPUT.write_text(json.dumps(content, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
