"""Write authorities/golden_rays.json: rays through lenses, traced by another program.

The other program is the general-purpose optical ray tracer optiland. It pulls in more than
a gigabyte, so it is no dependency of tapemark or of its tests: install it into an
environment of its own and run this file there when the set of lenses or rays changes.

    python -m venv golden && golden/bin/pip install optiland==0.6.3
    golden/bin/python scripts/golden_rays.py

Nothing of tapemark is imported here. Frame of the file: the tracer's own, in millimetres:
z along the light that arrives from the front, y up, front vertex at the origin, a radius
positive if its centre lies at greater z. A toric back has `radius_along` in the meridian at
`axis_deg` (from x towards y) and `radius_across` square to it; `tilt_x_deg` and `tilt_y_deg`
turn the whole lens about the front vertex, right-handed, first about x, then about y.
"""

import argparse
import json
import math
import platform
import re
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
from optiland.coordinate_system import CoordinateSystem
from optiland.materials import IdealMaterial
from optiland.optic import Optic
from optiland.rays import RealRays

TOROID_TOLERANCE_MM = 1e-13  # the tracer's default, 1e-6, is too coarse to compare with
WAVELENGTH_UM = 0.5876  # has no effect: every material here has one index
OUTPUT = Path(__file__).resolve().parent.parent / "authorities" / "golden_rays.json"


def lens(name: str, **changes: Any) -> dict[str, Any]:
    """Return the description of a lens; unnamed things are those of the -3.00 reference."""
    reference = {
        "name": name,
        "index": 1.498,
        "thickness": 1.5,
        "front_radius": 132.5,
        "radius_along": 73.53061562792615,
        "radius_across": 73.53061562792615,
        "axis_deg": 0.0,
        "tilt_x_deg": 0.0,
        "tilt_y_deg": 0.0,
    }
    return reference | changes


TORIC = {"index": 1.6, "thickness": 1.2, "front_radius": 106.0}
TORIC |= {"radius_along": 78.0, "radius_across": 59.0}
LENSES = [
    lens("minus 3, base 4"),
    lens("plano, base 6", index=1.586, thickness=2.0, front_radius=530 / 6)
    | {"radius_along": 87.0, "radius_across": 87.0},
    lens("plus 3, base 9", thickness=4.0, front_radius=58.9)
    | {"radius_along": 88.1, "radius_across": 88.1},
    lens("minus 10, base 0.5, index 1.74", index=1.74, thickness=1.2, front_radius=1060.0)
    | {"radius_along": 69.0, "radius_across": 69.0},
    lens("minus 8, flat front", index=1.67, thickness=1.2, front_radius=math.inf)
    | {"radius_along": 83.75, "radius_across": 83.75},
    lens("toric back, axis 0", **TORIC),
    lens("toric back, axis 30", **TORIC, axis_deg=30.0),
    lens("toric back, axis 90", **TORIC, axis_deg=90.0),
    lens("minus 3, tilted 8 and 5", tilt_x_deg=8.0, tilt_y_deg=5.0),
    lens("wrapped, base 8", index=1.586, thickness=2.0, front_radius=66.25, tilt_y_deg=-15.0)
    | {"radius_along": 65.5, "radius_across": 65.5},
    lens("toric back, axis 30, tilted 10 and -6", **TORIC, axis_deg=30.0)
    | {"tilt_x_deg": 10.0, "tilt_y_deg": -6.0},
]
# Start and aim of each ray: the reference ray, then cameras and lights near and far.
RAYS = [
    ((3.0, 40.0, -200.0), (8.0, -6.0, 0.0)),
    ((0.0, 0.0, -1000.0), (0.0, 0.0, 0.0)),
    ((-250.0, 120.0, -1800.0), (-22.0, 14.0, 0.0)),
    ((600.0, -300.0, -1500.0), (20.0, -15.0, 0.0)),
    ((900.0, 400.0, -800.0), (15.0, 17.0, 0.0)),
    ((-700.0, 900.0, -1100.0), (-12.0, -18.0, 0.0)),
    ((-1400.0, 700.0, -500.0), (-12.0, -18.0, 0.0)),  # grazing: misses some, trapped in others
]


def build(description: dict[str, Any], *, path: str) -> list[Any]:
    """Return the surfaces that light meets on one of the three paths, in order."""
    glass = IdealMaterial(n=description["index"])
    front = {"radius": description["front_radius"], "z": 0.0}
    back: dict[str, Any] = {"z": description["thickness"]}
    if description["radius_along"] == description["radius_across"]:
        back |= {"radius": description["radius_along"]}
    else:
        back |= {
            "surface_type": "toroidal",
            "radius_x": description["radius_along"],
            "radius_y": description["radius_across"],
            "rz": math.radians(description["axis_deg"]),
            "tol": TOROID_TOLERANCE_MM,
        }
    sequences = {
        "front_reflection": [front | {"material": "mirror"}],
        "transmission": [front | {"material": glass}, back | {"material": "air"}],
        "back_reflection": [
            front | {"material": glass},
            back | {"material": "mirror"},
            front | {"material": "air"},
        ],
    }
    optic = Optic()
    optic.surfaces.add(index=0, thickness=np.inf)
    for index, surface in enumerate(sequences[path], start=1):
        optic.surfaces.add(index=index, is_stop=index == 1, **surface)
    optic.surfaces.add(index=len(sequences[path]) + 1, z=100.0)
    tilt = CoordinateSystem(
        rx=math.radians(description["tilt_x_deg"]), ry=math.radians(description["tilt_y_deg"])
    )
    surfaces = list(optic.surfaces.surfaces[1:-1])
    for surface in surfaces:
        surface.geometry.cs.reference_cs = tilt
    return surfaces


def trace(description: dict[str, Any], *, path: str, start: Any, aim: Any) -> dict[str, Any]:
    """Return the points a ray meets, in order, and the direction it leaves with."""
    direction = np.subtract(aim, start)
    direction = direction / np.linalg.norm(direction)
    ray = RealRays(*start, *direction, 1.0, WAVELENGTH_UM)
    points = []
    for surface in build(description, path=path):
        surface.trace(ray)
        points.append(plain(ray.x, ray.y, ray.z))
    return {"points": points, "direction": plain(ray.L, ray.M, ray.N)}


def plain(*components: Any) -> list[float | None]:
    """Return the components of one ray as JSON has them, null for not a number."""
    values = [float(component[0]) for component in components]
    return [value if math.isfinite(value) else None for value in values]


def main() -> None:
    """Trace every ray through every lens on every path and write the numbers."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--output", type=Path, default=OUTPUT)
    arguments = parser.parse_args()
    paths = ("front_reflection", "transmission", "back_reflection")
    lenses = [
        {
            **{key: str(value) if value == math.inf else value for key, value in each.items()},
            "rays": [
                {"start": start, "aim": aim}
                | {path: trace(each, path=path, start=start, aim=aim) for path in paths}
                for start, aim in RAYS
            ],
        }
        for each in LENSES
    ]
    record = {
        "made_by": "scripts/golden_rays.py",
        "versions": {name: version(name) for name in ("optiland", "numpy", "scipy")}
        | {"python": platform.python_version()},
        "settings": {
            "arithmetic": "float64",
            "lengths": "mm",
            "toroidal": f"tol {TOROID_TOLERANCE_MM} mm, at most 100 steps",
            "null": "the ray misses the surface or is totally reflected inside the lens",
            "frame": "z along the arriving light, y up, front vertex at the origin",
        },
        "lenses": lenses,
    }
    number = r"\s+(-?[\d.e+-]+|null)"
    vector = rf"\[{number},{number},{number}\s+\]"
    one_line_each = re.sub(vector, r"[\1, \2, \3]", json.dumps(record, indent=1, allow_nan=False))
    arguments.output.write_text(one_line_each + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
