"""The people of a picture, kept: building a mannequin takes longer than reading its meshes.

A file is named after everything that a mannequin is built from, the program's own text included,
so that it never answers for another. The newest of them are kept.
"""

import contextlib
import hashlib
import json
import os
import tempfile
import zipfile
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from tapemark.analysis import Scene
from tapemark.geometry import FloatArray
from tapemark.rendering.meshes import Mesh
from tapemark.rendering.parts import Material, Part
from tapemark.rendering.sitter_parts import Person, person_of

KEPT = 48  # files of 2 to 10 MB, two of each person: one is coarse, for a first look
FORMAT = "people 1"


def kept_person(scene: Scene, *, fineness: float, folder: Path | None) -> Person:
    """Return the person whom a scene is about, as read from a folder or built and kept there.

    Parameters
    ----------
    scene : Scene
        Pose, eyes and glasses.
    fineness : float
        Of the mannequin. [-]
    folder : Path or None
        Where people are kept; None keeps nothing.
    """
    if folder is None:
        return person_of(scene, fineness=fineness)
    path = folder / f"{_mark(scene, fineness)}.npz"
    known = _read(path)
    if known is not None:
        body, frame = known
        return Person(scene=scene, body=body, frame=frame)
    person = person_of(scene, fineness=fineness)
    _write(path, (*person.body, *person.frame))
    return person


def _mark(scene: Scene, fineness: float) -> str:
    """Return a text that differs where a mannequin would."""
    marked = hashlib.sha256(f"{FORMAT} {fineness!r} {_program()}".encode())
    # Their text has every field; as JSON, what writes it would be built first, for 25 ms.
    marked.update(f"{scene.sitter!r} {scene.head.measures!r}".encode())
    for thing in (scene.pose, scene.eyes, scene.lenses, scene.body):
        _add(marked, thing)
    return marked.hexdigest()[:24]


def _add(marked: "hashlib._Hash", thing: object) -> None:
    """Add all values of a data class, whatever lies in it."""
    if isinstance(thing, np.ndarray):
        marked.update(f"{thing.shape}{thing.dtype}".encode() + thing.tobytes())
    elif is_dataclass(thing) and not isinstance(thing, type):
        for one in fields(thing):
            marked.update(one.name.encode())
            _add(marked, getattr(thing, one.name))
    elif isinstance(thing, tuple):
        for part in thing:
            _add(marked, part)
    elif thing is None or isinstance(thing, str | float | int | np.generic):
        marked.update(repr(thing).encode())
    else:  # the text of anything else may name its place in memory, another in each process
        raise TypeError(f"a {type(thing).__name__} has no values to be known by")


@cache
def _program() -> str:
    """Return a text that differs where the program that builds people does."""
    here = Path(__file__).parent
    files = [*here.glob("mannequin/*.py"), *here.glob("*.py")]
    for package in ("anatomy", "optics", "studio", "geometry", "units"):  # what they build on
        files += here.parent.glob(f"{package}/*.py")
    stated = [(one.name, one.stat().st_size, one.stat().st_mtime_ns) for one in sorted(files)]
    return repr(stated)


def _write(path: Path, parts: tuple[Part, ...]) -> None:
    """Write parts, whole or not at all; whoever cannot be kept is built anew next time."""
    points = [one.mesh.points for one in parts]
    normals = [_or_none(one.mesh.normals) for one in parts]
    colors = [_or_none(one.material.colors) for one in parts]
    told = [_told(one) for one in parts]
    with contextlib.suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        number, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
        with os.fdopen(number, "wb") as file:
            np.savez(
                file,
                told=np.frombuffer(json.dumps(told).encode(), dtype=np.uint8),
                points=np.concatenate(points),
                normals=np.concatenate(normals),
                colors=np.concatenate(colors),
                triangles=np.concatenate([one.mesh.triangles for one in parts]).astype(np.int32),
            )
        Path(name).replace(path)
        for old in sorted(path.parent.glob("*.npz"), key=lambda one: one.stat().st_mtime)[:-KEPT]:
            old.unlink()


def _or_none(values: FloatArray | None) -> FloatArray:
    return np.empty((0, 3)) if values is None else values


def _told(part: Part) -> dict[str, Any]:
    """Return everything of a part but its arrays."""
    made = part.material
    return {
        "name": part.name,
        "kind": part.kind,
        "both_sides": part.both_sides,
        "color": made.color,
        "roughness": made.roughness,
        "index": made.index,
        "metal": made.metal,
        "points": len(part.mesh.points),
        "triangles": len(part.mesh.triangles),
        "smooth": part.mesh.normals is not None,
        "colored": made.colors is not None,
    }


def _read(path: Path) -> tuple[tuple[Part, ...], tuple[Part, ...]] | None:
    """Return body and frame from a file; None where there is no such file that can be read."""
    try:
        with np.load(path) as file:
            told = json.loads(file["told"].tobytes())
            arrays = {name: file[name] for name in ("points", "normals", "colors", "triangles")}
        parts = tuple(_parts(told, arrays))
    except (OSError, ValueError, KeyError, TypeError, zipfile.BadZipFile):
        return None
    frame = tuple(one for one in parts if one.kind == "frame")
    return tuple(one for one in parts if one.kind != "frame"), frame


def _parts(told: list[dict[str, Any]], arrays: dict[str, np.ndarray]) -> Iterator[Part]:
    at = dict.fromkeys(arrays, 0)

    def taken(name: str, count: int) -> np.ndarray:
        at[name] += count
        return arrays[name][at[name] - count : at[name]]

    for one in told:
        count = one["points"]
        mesh = Mesh(
            points=taken("points", count),
            normals=taken("normals", count) if one["smooth"] else None,
            triangles=taken("triangles", one["triangles"]),
        )
        made = Material(
            color=tuple(one["color"]),
            colors=taken("colors", count) if one["colored"] else None,
            roughness=one["roughness"],
            index=one["index"],
            metal=one["metal"],
        )
        yield Part(
            name=one["name"],
            kind=one["kind"],
            mesh=mesh,
            material=made,
            both_sides=one["both_sides"],
        )
