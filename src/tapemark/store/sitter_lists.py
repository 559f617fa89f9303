"""Lists of sitters: a table as spreadsheets save it, read into appointments."""

from __future__ import annotations

import csv
import difflib
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from tapemark.errors import FileError, Problem, SetupError
from tapemark.planning import Appointment
from tapemark.store.sitter_cells import Row
from tapemark.store.small_files import read_small_file
from tapemark.units import as_typed

LARGEST_LIST_FILE = 1_000_000  # bytes
MOST_SITTERS = 300
MOST_PROBLEMS = 50  # more than that is another kind of file

#: What the header may call each column; small or capital letters, spaces or underscores.
COLUMNS: dict[str, tuple[str, ...]] = {
    "name": ("name", "sitter", "person", "who", "first name"),
    "number": ("number", "no", "no.", "nr", "nr.", "#", "id"),
    "height": ("height", "body height", "size"),
    "eye height": ("eye height", "eyes", "eye level", "eye"),
    "posture": ("posture", "pose", "position", "seated or standing", "sit or stand"),
    "glasses": ("glasses", "spectacles", "glasses kind", "kind of glasses"),
    "from": ("from", "earliest", "not before"),
    "to": ("to", "until", "latest", "done by"),
    "window": ("window", "appointment", "time", "slot", "times"),
    "minutes": ("minutes", "min", "duration", "sitting"),
}
_COLUMN_OF = {title: column for column, titles in COLUMNS.items() for title in titles}
_UNIT = re.compile(
    r"(?P<title>.*?)[\s_]*(?:[(\[](?P<boxed>\w+)[)\]]|[\s_](?:in[\s_])?(?P<bare>cm|mm|m|in|ft))"
)
_LENGTHS = ("cm", "mm", "m", "in", "inches", "ft", "feet")


@dataclass(frozen=True, kw_only=True)
class SitterList:
    """A list of sitters as read.

    Attributes
    ----------
    appointments : tuple of Appointment
        In the order of the list.
    notes : tuple of str
        What was passed over or assumed.
    """

    appointments: tuple[Appointment, ...]
    notes: tuple[str, ...]


def read_sitters(path: Path, *, sitting_s: int) -> SitterList:
    """Return the sitters of a list: comma, semicolon or tab between the cells.

    Parameters
    ----------
    path : Path
        UTF-8, with or without its mark, else read as Windows-1252.
    sitting_s : int
        How long a sitting takes where the list does not say; nobody's times may be shorter. [s]

    Raises
    ------
    FileError
        The file cannot be read as text.
    SetupError
        Every row that cannot be used, all at once, each with its line.
    """
    raw = read_small_file(path, most_bytes=LARGEST_LIST_FILE, kind="list of sitters")
    return sitters_from_text(_decoded(raw, path), name=str(path), sitting_s=sitting_s)


def list_text(raw: bytes, *, name: str) -> str:
    """Return the text of a list that came as bytes; see `read_sitters`."""
    return _decoded(raw, Path(name))


def sitters_from_text(text: str, *, name: str, sitting_s: int) -> SitterList:
    """Return the sitters of a list given as text; see `read_sitters`."""
    opened = _open_quote(text)
    if opened is not None:
        raise SetupError((opened,), name=name)
    try:
        lines = list(_rows(text))
    except csv.Error:  # a cell as long as a book
        raise SetupError((_no_table(),), name=name) from None
    header = _Header.read(lines[0] if lines else (1, []))
    if header.problems:
        raise SetupError(tuple(header.problems), name=name)
    if len(lines) - 1 > MOST_SITTERS:  # another kind of file: no cell of it is looked at
        raise SetupError((_wrong_count(len(lines) - 1),), name=name)
    problems: list[Problem] = []
    appointments = []
    for line, cells in lines[1:]:
        row = header.row(line, cells)
        appointments.append(row.appointment(sitting_s=sitting_s))
        problems += row.problems
    problems += _list_problems(appointments)
    if problems:
        problems.sort(key=_line_of)
        raise SetupError(tuple(problems[:MOST_PROBLEMS]), name=name)
    return SitterList(appointments=tuple(appointments), notes=header.notes(lines[1:]))


def _decoded(raw: bytes, path: Path) -> str:
    encodings = ("utf-16",) if raw[:2] in (b"\xff\xfe", b"\xfe\xff") else ("utf-8-sig", "cp1252")
    for encoding in encodings:
        try:
            text = raw.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise FileError(
        str(path), reason="is no text", advice="save the table as CSV (comma separated, UTF-8)"
    )


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Yield line and cells of each row that has any; lines that begin with # are comments."""
    lines = text.splitlines(keepends=True)
    reader = csv.reader(lines, delimiter=_separator(lines), skipinitialspace=True)
    before = 0
    for cells in reader:
        line, before = before + 1, reader.line_num
        cells = [" ".join(cell.split()) for cell in cells]
        if any(cells) and not cells[0].startswith("# "):
            yield line, cells


def _separator(lines: Sequence[str]) -> str:
    head = next((line for line in lines if line.strip() and not line.startswith("#")), "")
    return max(",;\t", key=head.count)


def _open_quote(text: str) -> Problem | None:
    """Return the problem of a quote that nothing closes, which swallows all lines after it."""
    lines = text.splitlines(keepends=True)
    separator, line = _separator(lines), 1
    reader = csv.reader(lines, delimiter=separator, skipinitialspace=True, strict=True)
    try:
        for _ in reader:
            line = reader.line_num + 1
    except csv.Error as error:
        if "unexpected end" not in str(error):
            return None
        return Problem(
            key=f"line {line}",
            given=as_typed(lines[line - 1].strip()),
            allowed="quotes in pairs",
            advice="a quote is not closed: close it, or take it out",
        )
    return None


@dataclass(frozen=True, kw_only=True)
class _Header:
    """The columns of a list."""

    columns: tuple[str | None, ...]
    titles: dict[str, str]
    units: dict[str, str]
    unused: tuple[str, ...]
    problems: tuple[Problem, ...]

    @classmethod
    def read(cls, found: tuple[int, list[str]]) -> _Header:
        line, cells = found
        columns: list[str | None] = []
        titles: dict[str, str] = {}
        units: dict[str, str] = {}
        unused, problems = [], []
        for cell in cells:
            column, unit = _column(cell)
            if column in titles:
                problems.append(_twice(line, cell, titles[column]))
            elif column is not None:
                titles[column] = cell
                if unit:
                    units[column] = unit
            elif cell:
                close = difflib.get_close_matches(cell.lower(), _COLUMN_OF, n=1, cutoff=0.8)
                problems += [_mistyped(line, cell, close[0])] if close else []
                unused.append(cell)
            columns.append(column)
        if not problems:
            problems = _missing(line, cells, titles)
        return cls(
            columns=tuple(columns),
            titles=titles,
            units=units,
            unused=tuple(unused),
            problems=tuple(problems),
        )

    def row(self, line: int, cells: list[str]) -> Row:
        """Return a row with its cells by column."""
        named = {
            column: cell
            for column, cell in zip(self.columns, cells, strict=False)
            if column is not None and cell
        }
        row = Row(line=line, cells=named, titles=self.titles, units=self.units)
        extra = [cell for cell in cells[len(self.columns) :] if cell]
        if extra:
            row.problems.append(
                Problem(
                    key=f"line {line}",
                    given=f"{len(cells)} cells, the last {as_typed(extra[-1])}",
                    allowed=f"the {len(self.columns)} of the header",
                    advice="put a cell that has the separator in it into quotes",
                )
            )
        return row

    def notes(self, lines: Sequence[tuple[int, list[str]]]) -> tuple[str, ...]:
        """Return what was passed over."""
        found = []
        if self.unused:
            found.append(f"not used of the list: {', '.join(self.unused)}")
        if "glasses" not in self.columns:
            found.append("the list has no column for glasses; nobody is taken to wear any")
            return tuple(found)
        at = self.columns.index("glasses")
        silent = sum(1 for _, cells in lines if len(cells) <= at or not cells[at])
        if silent:
            found.append(f"nothing said about the glasses of {silent}; taken to wear none")
        return tuple(found)


def _column(title: str) -> tuple[str | None, str]:
    """Return which column a title means, and the unit that it names."""
    plain = " ".join(title.lower().replace("_", " ").split()).rstrip(":")
    if plain in _COLUMN_OF:
        return _COLUMN_OF[plain], ""
    match = _UNIT.fullmatch(plain)
    unit = "" if match is None else match["boxed"] or match["bare"] or ""
    column = None if match is None else _COLUMN_OF.get(match["title"].strip())
    lengths = column in ("height", "eye height")
    if column is None or (lengths and unit not in _LENGTHS):
        return None, ""
    return column, unit if lengths else ""


def _twice(line: int, title: str, before: str) -> Problem:
    return Problem(
        key=f"line {line}, the header",
        given=f"{as_typed(title)} beside {as_typed(before)}",
        allowed="each column once",
        advice="take one of them out",
    )


def _mistyped(line: int, title: str, meant: str) -> Problem:
    return Problem(
        key=f"line {line}, the header",
        given=as_typed(title),
        allowed=", ".join(COLUMNS),
        advice=f"did you mean {as_typed(meant)}? Another name if it is something else",
    )


def _missing(line: int, cells: list[str], titles: dict[str, str]) -> list[Problem]:
    needed = (("name", "number"), ("height", "eye height"))
    return [
        Problem(
            key=f"line {line}, the header",
            given=as_typed(", ".join(cells)) if any(cells) else "(empty)",
            allowed=f"a column {' or '.join(as_typed(one) for one in columns)}",
            advice=f"begin the list with its titles, like {as_typed(_EXAMPLE)}",
        )
        for columns in needed
        if not any(column in titles for column in columns)
    ]


_EXAMPLE = "name, height, posture, glasses, from, to"


def _list_problems(appointments: Sequence[Appointment]) -> list[Problem]:
    """Return what is wrong between the rows."""
    found = []
    if not appointments:
        found.append(_wrong_count(0))
    first: dict[str, int] = {}
    for one in appointments:
        line = first.setdefault(one.name.casefold(), one.line)
        if one.name and line != one.line:
            found.append(
                Problem(
                    key=f"line {one.line}",
                    given=f"{as_typed(one.name)}, also in line {line}",
                    allowed="each name once",
                    advice="add an initial, or a column of numbers",
                )
            )
    return found


def _no_table() -> Problem:
    return Problem(
        key="the list",
        given="a cell that does not end",
        allowed="a table with one line for each sitter",
        advice="save the table as CSV (comma separated, UTF-8)",
    )


def _wrong_count(count: int) -> Problem:
    return Problem(
        key="the list",
        given=f"{count} sitters",
        allowed=f"1 to {MOST_SITTERS}",
        advice="cut it into days" if count else "add one line for each sitter",
    )


def _line_of(problem: Problem) -> int:
    match = re.match(r"line (\d+)", problem.key)
    return int(match[1]) if match else 0
