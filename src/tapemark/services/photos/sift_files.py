"""What a sifted folder is written as: CSV, JSON, contact sheets, sidecars."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass
from pathlib import Path

from tapemark.errors import WriteError, shown_name
from tapemark.photo.contact_sheet import A_SHEET, SheetFrame, contact_sheet
from tapemark.photo.xmp_sidecar import is_ours, xmp_sidecar
from tapemark.services.photos.sifting import SiftedFrame, SiftReport, crop_of
from tapemark.services.plain import Plain
from tapemark.store import write_results

COLUMNS = (
    *("file", "person", "verdict", "right_cover", "right_veil", "left_cover", "left_veil"),
    *("stops_over_skin", "open", "sharp", "skin_clipped", "trouble", "asks", "error"),
)
MOST_SHEETS = 40  # of 32 frames: who looks through more, looks at the list


@dataclass(frozen=True, kw_only=True, slots=True)
class SidecarsWritten:
    """How many sidecars were written, and how many photos have another program's."""

    written: int
    left_alone: int


def sift_as_plain(report: SiftReport) -> Plain:
    """Return a sifted folder as plain data, the worst frame first."""
    return {
        "folder": report.folder,
        "photos": report.total,
        "read": len(report.frames),
        "interrupted": report.interrupted,
        "verdicts": verdict_counts(report),
        "frames": [
            one.reading
            if one.reading is not None
            else {"file": shown_name(one.file), "verdict": one.verdict, "error": one.error}
            for one in report.frames
        ],
    }


def verdict_counts(report: SiftReport) -> dict[str, int]:
    """Return how many frames have each verdict, those there are."""
    order = ("unreadable", "veiled", "edge", "unsure", "clear", "no glasses")
    counts = {one: sum(frame.verdict == one for frame in report.frames) for one in order}
    return {name: count for name, count in counts.items() if count}


def sift_as_csv(report: SiftReport) -> str:
    """Return a sifted folder as a table: a row for every frame and person."""
    stream = io.StringIO()
    table = csv.writer(stream, lineterminator="\n")
    table.writerow(COLUMNS)
    for frame in report.frames:
        table.writerows(_rows(frame))
    return stream.getvalue()


def write_sifted(report: SiftReport, *, out: Path) -> tuple[Path, ...]:
    """Write table, JSON and contact sheets of a sifted folder.

    Parameters
    ----------
    report : SiftReport
        What was found.
    out : Path
        The folder that has the crops.

    Returns
    -------
    tuple of Path
        The files written.
    """
    plain = json.dumps(sift_as_plain(report), ensure_ascii=False, indent=1)
    written = list(
        write_results(out, {"sifted.csv": sift_as_csv(report), "sifted.json": plain + "\n"})
    )
    sheets = [
        report.frames[start : start + A_SHEET] for start in range(0, len(report.frames), A_SHEET)
    ]
    for number, frames in enumerate(sheets[:MOST_SHEETS], start=1):
        title = f"{report.folder}: worst first, sheet {number} of {len(sheets)}"
        shown = [_on_sheet(one, out) for one in frames]
        name = f"contact-sheet-{number:02d}.jpg"
        written += write_results(out, {name: contact_sheet(shown, title=title)})
    return tuple(written)


def write_sidecars(report: SiftReport, *, folder: Path, rate: bool) -> SidecarsWritten:
    """Write an XMP sidecar beside every photo that has none of another program.

    Parameters
    ----------
    report : SiftReport
        What was found.
    folder : Path
        Of the photos.
    rate : bool
        Whether to write a rating too.
    """
    written = left_alone = 0
    stems: set[str] = set()
    for frame in sorted(report.frames, key=lambda one: one.file):
        if frame.reading is None:
            continue
        stem = Path(frame.file).stem
        name = f"{stem}.xmp" if stem.lower() not in stems else f"{frame.file}.xmp"
        stems.add(stem.lower())
        target = folder / name
        if target.is_symlink() or (target.exists() and not is_ours(_start_of(target))):
            left_alone += 1
            continue
        write_results(folder, {name: _sidecar(frame.reading, rate=rate)})
        written += 1
    return SidecarsWritten(written=written, left_alone=left_alone)


def _start_of(path: Path) -> str:
    try:
        with path.open(encoding="utf-8", errors="replace") as file:
            return file.read(4000)
    except OSError as error:
        raise WriteError(
            str(path),
            reason=f"cannot be read ({error.strerror or error})",
            advice="check that you may read it",
        ) from None


def _sidecar(reading: Plain, *, rate: bool) -> str:
    people = reading["wearers"]
    about = {"Verdict": str(reading["verdict"]), "Trouble": f"{reading['trouble']:.3f}"}
    return xmp_sidecar(
        about, [_about_person(one) for one in people], rating=_rating(reading) if rate else None
    )


def _about_person(person: Plain) -> dict[str, str]:
    told = {True: "True", False: "False", None: "Unknown"}
    about = {
        "Verdict": str(person["verdict"]),
        "Open": told[person["open"]],
        "Sharp": told[person["sharp"]],
    }
    for side in ("right", "left"):
        lens = person["eyes"][side]["lens"]
        if lens is not None:
            about[f"{side.capitalize()}LensCover"] = f"{lens['lens_cover']:.4f}"
            about[f"{side.capitalize()}Veil"] = f"{lens['veil']:.4f}"
    return about


def _rating(reading: Plain) -> int | None:
    """Return 3 for sound, 2 for a reflection beside the eye, 1 for spoilt, None for not sure."""
    if any(one["open"] is False or not one["sharp"] for one in reading["wearers"]):
        return 1
    return {"clear": 3, "no glasses": 3, "edge": 2, "veiled": 1}.get(reading["verdict"])


def _rows(frame: SiftedFrame) -> list[list[object]]:
    if frame.reading is None:
        return [[shown_name(frame.file), "", frame.verdict, *[""] * 10, frame.error]]
    people = frame.reading["wearers"]
    if not people:
        found = [frame.verdict, *[""] * 8, frame.trouble, "no face found", ""]
        return [[shown_name(frame.file), "", *found]]
    return [_row(frame, one) for one in people]


def _row(frame: SiftedFrame, person: Plain) -> list[object]:
    lenses = [person["eyes"][side]["lens"] for side in ("right", "left")]
    shares = [
        "" if lens is None else lens[key] for lens in lenses for key in ("lens_cover", "veil")
    ]
    stops = [one["stops_over_skin"] for one in lenses if one and one["reflections"]]
    told = {True: "yes", False: "no", None: "unknown"}
    return [
        shown_name(frame.file),
        person["number"],
        person["verdict"],
        *shares,
        max(stops, default=""),
        told[person["open"]],
        told[person["sharp"]],
        person["skin"]["clipped_share"],
        frame.trouble,
        "; ".join(person["questions"]),
        "",
    ]


def _on_sheet(frame: SiftedFrame, out: Path) -> SheetFrame:
    return SheetFrame(
        name=shown_name(frame.file),
        line=sheet_line(frame),
        trouble=frame.trouble >= 1.0,
        crop=crop_of(out, frame),
    )


def sheet_line(frame: SiftedFrame) -> str:
    """Return what was found in a frame in a few words."""
    if frame.reading is None:
        return "cannot be read"
    people = frame.reading["wearers"]
    said = [frame.verdict]
    veils = [
        person["eyes"][side]["lens"]["veil"]
        for person in people
        for side in ("right", "left")
        if person["eyes"][side]["lens"] is not None
    ]
    if frame.verdict == "veiled":
        said[0] += f" {100 * max(veils):.0f} % of the eye"
    if any(one["open"] is False for one in people):
        said.append("blink")
    if any(not one["sharp"] for one in people):
        said.append("not sharp")
    if any(one["skin"]["clipped_share"] > 0.05 for one in people):
        said.append("skin clipped")
    return ", ".join(said)
