"""One row of a list of sitters, cell by cell, read into an appointment."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from tapemark.errors import Problem, UnitError
from tapemark.planning import Appointment
from tapemark.store.glasses_words import (
    UnknownGlassesError,
    allowed_glasses,
    glasses_from_words,
)
from tapemark.studio import Glasses
from tapemark.units import as_typed, format_clock, is_shown, parse_clock_s, parse_length_m

LONGEST_NAME = 60  # characters
BODY_M, EYES_M = (0.8, 2.3), (0.3, 2.3)
MOST_MINUTES = 240
_POSTURES = {
    "seated": ("seated", "sitting", "sit", "sits", "s", "stool", "chair"),
    "standing": ("standing", "stand", "stands", "st"),
}
_POSTURE_OF = {word: posture for posture, words in _POSTURES.items() for word in words}
_SPAN = re.compile(
    r"(?P<opens>.+?)\s*(?:-|\N{EN DASH}|\N{EM DASH}|\bto\b|\buntil\b)\s*(?P<closes>.+)"
)


@dataclass(kw_only=True)
class Row:
    """A row under the header, and what is wrong in it.

    Attributes
    ----------
    line : int
        Where it starts, counted from 1.
    cells : mapping of str to str
        By column, without outer spaces; no empty ones.
    titles : mapping of str to str
        How the header of the file calls each column.
    units : mapping of str to str
        Unit of a column, where the header says it.
    problems : list of Problem
        Found so far.
    """

    line: int
    cells: Mapping[str, str]
    titles: Mapping[str, str]
    units: Mapping[str, str]
    problems: list[Problem] = field(default_factory=list)

    def appointment(self, *, sitting_s: int) -> Appointment:
        """Return who it is, as far as the cells can be read; the rest is among the problems."""
        glasses = self._read("glasses", _glasses)
        opens_s, closes_s = self._times()
        minutes = self._read("minutes", _minutes)
        found = Appointment(
            name=self._name(),
            line=self.line,
            posture=self._read("posture", _posture),
            body_height_m=self._read("height", self._length("height", BODY_M)),
            eye_height_m=self._read("eye height", self._length("eye height", EYES_M)),
            glasses=glasses,
            glasses_words=self.cells.get("glasses", "none") if glasses else "none",
            from_s=opens_s,
            to_s=closes_s,
            sitting_s=minutes,
        )
        if "height" not in self.cells and "eye height" not in self.cells:
            self._refuse(
                "height" if "height" in self.titles else "eye height",
                allowed='a height or an eye height, like "172 cm" or "5 ft 8 in"',
                advice="ask for it, or measure the eyes at the stool",
            )
        self._check_span(opens_s, closes_s, sitting_s if minutes is None else minutes)
        return found

    def _name(self) -> str:
        number, name = self.cells.get("number", ""), self.cells.get("name", "")
        whole = " ".join(part for part in (number, name) if part)
        if not whole:
            column = "name" if "name" in self.titles else "number"
            self._refuse(column, allowed="a name or a number", advice="write what you call them by")
        elif len(whole) > LONGEST_NAME or not is_shown(whole):
            column = "name" if name else "number"
            allowed = f"at most {LONGEST_NAME} printable characters"
            self._refuse(column, allowed=allowed, advice="write it shorter")
        return whole

    def _times(self) -> tuple[int | None, int | None]:
        opens, closes = self._read("from", parse_clock_s), self._read("to", parse_clock_s)
        span = self._read("window", _window)
        return span or (opens, closes)

    def _check_span(self, opens_s: int | None, closes_s: int | None, sitting_s: int) -> None:
        if opens_s is None or closes_s is None or closes_s - opens_s >= sitting_s:
            return
        column = "window" if "window" in self.cells else "to"
        if closes_s <= opens_s:
            allowed = f"later than {format_clock(opens_s)}"
            self._refuse(
                column, allowed=allowed, advice="from comes before to; write 14:00 for 2 pm"
            )
        else:
            allowed = f"at least the {sitting_s / 60:g} min that a sitting takes"
            self._refuse(column, allowed=allowed, advice="widen it, or plan shorter sittings")

    def _length(self, column: str, limits: tuple[float, float]) -> Callable[[str], float]:
        def read(text: str) -> float:
            plain = re.sub(r"(?<=\d),(?=\d)", ".", text)
            if re.fullmatch(r"[\d.]+", plain):
                if column not in self.units:
                    raise _no_unit(text, title=self.titles[column])
                plain = f"{plain} {self.units[column]}"
            length_m = parse_length_m(plain)
            if not limits[0] <= length_m <= limits[1]:
                raise UnitError(
                    as_typed(text),
                    allowed=f"{limits[0]:g} m to {limits[1]:g} m",
                    advice="check number and unit",
                )
            return length_m

        return read

    def _read(self, column: str, read: Callable[[str], Any]) -> Any:
        text = self.cells.get(column)
        if text is None:
            return None
        try:
            return read(text)
        except UnitError as error:
            self._refuse(column, allowed=error.allowed, advice=error.advice)
        except UnknownGlassesError as error:
            self._refuse(column, allowed=allowed_glasses(), advice=str(error))
        return None

    def _refuse(self, column: str, *, allowed: str, advice: str) -> None:
        who = self.cells.get("name") or self.cells.get("number")
        called = f" {as_typed(who)}" if who else ""
        given = self.cells.get(column)
        self.problems.append(
            Problem(
                key=f"line {self.line}{called}, {self.titles.get(column, column)}",
                given=as_typed(given) if given else "(empty)",
                allowed=allowed,
                advice=advice,
            )
        )


def _no_unit(text: str, *, title: str) -> UnitError:
    return UnitError(
        as_typed(text),
        allowed='a length with its unit, like "172 cm" or "5 ft 8 in"',
        advice=f'write the unit, or call the column "{title} (cm)"',
    )


def _glasses(text: str) -> Glasses | None:
    return glasses_from_words(text)


def _posture(text: str) -> str:
    posture = _POSTURE_OF.get(text.lower())
    if posture is None:
        raise UnitError(
            as_typed(text), allowed="seated or standing", advice="write one of these, or nothing"
        )
    return posture


def _minutes(text: str) -> int:
    match = re.fullmatch(r"(\d{1,3}(?:[.,]\d)?)\s*(?:min|minutes|')?", text, re.IGNORECASE)
    seconds = 0 if match is None else round(60 * float(match[1].replace(",", ".")))
    if not 0 < seconds <= 60 * MOST_MINUTES:
        raise UnitError(
            as_typed(text), allowed=f"1 to {MOST_MINUTES} minutes", advice='write it like "12"'
        )
    return seconds


def _window(text: str) -> tuple[int, int]:
    match = _SPAN.fullmatch(text)
    if match is None:
        raise UnitError(
            as_typed(text),
            allowed="from when to when they can be there",
            advice='write it like "9:40-10:00", or leave it empty for any time',
        )
    return parse_clock_s(match["opens"]), parse_clock_s(match["closes"])
