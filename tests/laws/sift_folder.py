"""Folders of results as ``tapemark sift`` writes them, made by hand: no photo is read for them."""

import json
from pathlib import Path
from typing import Any

EYES = bytes.fromhex("ffd8ffe000104a46494600010100000100010000ffd9")


def eye(pupil: tuple[float, float], *, veil: float | None, width: float = 100.0) -> dict[str, Any]:
    """Return an eye with a lens around it, so many pixels wide; without one where veil is None."""
    x, y = pupil
    half, tall = width / 2, 36.0
    box = [[x - half, y - tall], [x + half, y - tall], [x + half, y + tall], [x - half, y + tall]]
    found: dict[str, Any] = {"pupil": [x, y], "likeness": 0.9, "open": True, "edge_mm": 0.5}
    if veil is None:
        return found | {"lens": None}
    glare = {
        "center": [x, y],
        "lens_cover": 0.1,
        "veil": veil,
        "stops_over_skin": 1.2,
        "clipped_share": 0.4,
        "recoverable": False,
        "color": "green",
        "outline": [[x, y], [x + 9, y], [x, y + 9]],
    }
    lens = {
        "verdict": "veiled" if veil else "clear",
        "lens_cover": 0.1 if veil else 0.0,
        "veil": veil,
        "stops_over_skin": 1.2 if veil else None,
        "outline": box,
        "reflections": [glare] if veil else [],
    }
    return found | {"lens": lens}


def reading(
    name: str,
    *,
    veil: float | None = 0.0,
    width: float = 100.0,
    blink: bool = False,
    size: tuple[int, int] = (800, 600),
) -> dict[str, Any]:
    """Return the reading of a frame of one person whose pupils are 126 pixels apart."""
    verdict = "no glasses" if veil is None else "veiled" if veil else "clear"
    person = {
        "number": 1,
        "verdict": verdict,
        "face": [100, 100, 300, 300],
        "confidence": 0.9,
        "glasses": 0.0 if veil is None else 1.0,
        "sharp": True,
        "near_eye": None,
        "open": not blink,
        "skin": {"luminance": 0.4, "clipped_share": 0.0},
        "eyes": {
            "right": eye((300.0, 250.0), veil=veil, width=width),
            "left": eye((426.0, 250.0), veil=0.0 if veil else veil, width=width),
        },
        "questions": [],
    }
    trouble = (10.0 * veil if veil else 0.0) + (5.0 if blink else 0.0)
    return {
        "file": name,
        "verdict": verdict,
        "trouble": trouble,
        "kind": "JPEG",
        "size": list(size),
        "profile": None,
        "taken": {},
        "wearers": [person],
    }


def write_results_folder(folder: Path, readings: list[dict[str, Any] | str]) -> Path:
    """Write a journal and crops; a text among the readings is a line of its own."""
    (folder / "crops").mkdir(parents=True)
    with (folder / "journal.jsonl").open("w", encoding="utf-8") as journal:
        for one in readings:
            if isinstance(one, str):
                journal.write(one + "\n")
                continue
            entry = {"format": 1, "folder": "photos", "file": one["file"], "bytes": 1, "time": 1}
            entry |= {"known": {}, "reading": one, "error": ""}
            journal.write(json.dumps(entry) + "\n")
            (folder / "crops" / f"{one['file']}.eyes.jpg").write_bytes(EYES)
    return folder
