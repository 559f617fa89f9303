"""Each light's own picture: turned up and down without rendering again.

Light adds up. A picture under several lights is the sum of the pictures under each of them, and a
light two stops up is four times its own picture.
"""

import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Self

import numpy as np

from tapemark.errors import FileError, WriteError
from tapemark.geometry import FloatArray
from tapemark.rendering.exr_files import read_exr, write_exr

INDEX_FILE = "lights.json"
FORMAT = 1


@dataclass(frozen=True, kw_only=True, eq=False)
class LightBook:
    """The pictures of a setup under each of its lights alone.

    Attributes
    ----------
    names : tuple of str
        Lights, windows, screens and the room's lamps.
    images : (n, rows, columns, 3) array
        Linear sensor values under each; 1.0 is a lit matt white. [-]
    powers : tuple of float
        Set power of each when it was rendered, 0 for what has none. [stops]
    made_from : str
        Fingerprint of what they were rendered from, powers left out.
    """

    names: tuple[str, ...]
    images: np.ndarray
    powers: tuple[float, ...] = ()
    made_from: str = ""

    def mixed(self, stops: Mapping[str, float] | None = None) -> FloatArray:
        """Return the picture with lights turned up or down, linear (rows, columns, 3).

        Parameters
        ----------
        stops : mapping of str to float, optional
            By how much each named light is turned up; the others stay. [stops]
        """
        changes = stops or {}
        weights = np.array(
            [2.0 ** changes.get(name, 0.0) for name in self.names], dtype=self.images.dtype
        )
        flat = self.images.reshape(len(self.names), math.prod(self.images.shape[1:]))
        return np.asarray((weights @ flat).reshape(self.images.shape[1:]))

    def changes_to(self, powers: Mapping[str, float]) -> dict[str, float]:
        """Return by how much each light is turned up from how it was rendered [stops]."""
        pairs = zip(self.names, self._known_powers, strict=True)
        return {name: powers[name] - power for name, power in pairs if name in powers}

    @property
    def _known_powers(self) -> tuple[float, ...]:
        return self.powers or (0.0,) * len(self.names)

    def write(self, folder: Path) -> tuple[Path, ...]:
        """Write one OpenEXR file for each light, and an index, into a folder."""
        numbered = enumerate(self.names, 1)
        files = {name: f"{number:02d}-{_plain(name)}.exr" for number, name in numbered}
        try:
            folder.mkdir(parents=True, exist_ok=True)
            for name, image in zip(self.names, self.images, strict=True):
                write_exr(folder / files[name], image)
            index = {
                "format": FORMAT,
                "made_from": self.made_from,
                "unit": "linear sRGB; 1.0 is a matt white in light that meters right",
                "lights": [
                    {"name": name, "file": files[name], "power_stops": power}
                    for name, power in zip(self.names, self._known_powers, strict=True)
                ],
            }
            text = json.dumps(index, indent=2, ensure_ascii=False)
            (folder / INDEX_FILE).write_text(text + "\n", encoding="utf-8")
        except (OSError, RuntimeError) as error:
            raise WriteError(
                str(folder), reason=f"cannot be written ({error})", advice="name another folder"
            ) from error
        return (*(folder / one for one in files.values()), folder / INDEX_FILE)

    @classmethod
    def read(cls, folder: Path) -> Self:
        """Return the book that was written into a folder."""
        try:
            index = json.loads((folder / INDEX_FILE).read_text(encoding="utf-8"))
            entries = [(str(one["name"]), str(one["file"])) for one in index["lights"]]
            images = [read_exr(folder / Path(file).name) for _, file in entries]
            stacked = np.stack(images)
            powers = tuple(float(one["power_stops"]) for one in index["lights"])
            made_from = str(index["made_from"])
        except (OSError, ValueError, KeyError, TypeError, RuntimeError) as error:
            raise FileError(
                str(folder),
                reason="holds no lights of a picture that can be read",
                advice="write them with: tapemark picture SETUP --lights FOLDER",
            ) from error
        names = tuple(name for name, _ in entries)
        return cls(names=names, images=stacked, powers=powers, made_from=made_from)


def fingerprint(*parts: object) -> str:
    """Return a short text that differs where what a picture is made from differs."""
    text = json.dumps([str(part) for part in parts])
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _plain(name: str) -> str:
    """Return a name that is good in a file name."""
    kept = "".join(letter if letter.isalnum() else "-" for letter in name.lower())
    return kept.strip("-")[:40] or "light"
