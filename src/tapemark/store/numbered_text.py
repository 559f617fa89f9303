"""A text of numbers read from the top, so that a message can name the line that is wrong."""

import math
import re

LONGEST_QUOTE = 24  # characters of the file that a message repeats
LONGEST_NUMBER = 40  # characters
END = "the end of the file"
_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_LINE_END = re.compile(r"\r\n|\r|\n")


class MalformedError(ValueError):
    """A text is not what its format wants.

    Parameters
    ----------
    line : int
        The line, counted from 1.
    found : str
        What stands there.
    allowed : str
        What may stand there.
    """

    def __init__(self, line: int, *, found: str, allowed: str) -> None:
        super().__init__(f"line {line}: found {found} (allowed: {allowed})")
        self.line = line


class NumberedText:
    """Lines, words and numbers of a text, each taken once and in order.

    Parameters
    ----------
    raw : bytes
        UTF-8 or else ISO-8859-1; lines end in any of the three usual ways.
    number_per_line : bool
        Whether each line holds one number, with a point or a comma for the decimals. Otherwise
        spaces, commas and line ends all stand between numbers.
    """

    def __init__(self, raw: bytes, *, number_per_line: bool) -> None:
        try:
            text = raw.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = raw.decode("iso-8859-1")
        self._lines = _LINE_END.split(text.rstrip("\x00\x1a\r\n\t "))
        self._number_per_line = number_per_line
        self._words: list[str] = []  # of the line last taken, those not taken yet, last first
        self.line = 0

    def next_line(self, *, allowed: str) -> str:
        """Return the next line without its outer spaces."""
        self._words = []
        line = self._take_line()
        if line is None:
            raise self.refused(END, allowed=allowed)
        return line

    def number(self, what: str, *, low: float, high: float, whole: bool = False) -> float:
        """Return the next number.

        Parameters
        ----------
        what : str
            What it is, for messages.
        low, high : float
            Allowed range, both ends included.
        whole : bool
            Whether only whole numbers are right.
        """
        text = self._next_number()
        fits = text is not None and len(text) <= LONGEST_NUMBER and _NUMBER.fullmatch(text)
        value = float(text) if text is not None and fits else math.nan
        if not low <= value <= high or (whole and value != int(value)):
            kind = "a whole number" if whole else "a number"
            allowed = f"{what}, {kind} from {low:.10g} to {high:.10g}"
            raise self.refused(END if text is None else quoted(text), allowed=allowed)
        return value + 0.0

    def rising(self, what: str, *, count: int, low: float, high: float) -> tuple[float, ...]:
        """Return the next numbers, each of which has to exceed the one before."""
        values: list[float] = []
        for number in range(1, count + 1):
            value = self.number(f"{what} {number} of {count}", low=low, high=high)
            if values and value <= values[-1]:
                raise self.refused(
                    f"{value:.10g} after {values[-1]:.10g}", allowed=f"{what} above the one before"
                )
            values.append(value)
        return tuple(values)

    def expect_end(self, *, after: str) -> None:
        """Refuse anything that is still there."""
        text = ""
        while not text and (self._words or self.line < len(self._lines)):
            text = self._words.pop() if self._words else self.next_line(allowed="")
        if text:
            raise self.refused(f"{quoted(text)} after {after}", allowed="nothing more")

    def refused(self, found: str, *, allowed: str) -> MalformedError:
        """Return the error for the line last taken."""
        return MalformedError(self.line, found=found, allowed=allowed)

    def _take_line(self) -> str | None:
        """Return the next line, None at the end of the file."""
        if self.line >= len(self._lines):
            return None
        self.line += 1
        return self._lines[self.line - 1].strip()

    def _next_number(self) -> str | None:
        """Return the text of the next number, None at the end of the file."""
        if self._number_per_line:
            line = self._take_line()
            return None if line is None else line.replace(",", ".")
        while not self._words:
            line = self._take_line()
            if line is None:
                return None
            self._words = line.replace(",", " ").split()[::-1]
        return self._words.pop()


def quoted(text: str) -> str:
    """Return a piece of a file as a message shows it."""
    if not text:
        return "an empty line"
    short = text if len(text) <= LONGEST_QUOTE else f"{text[: LONGEST_QUOTE - 3]}..."
    return '"' + "".join(sign if sign.isprintable() else "?" for sign in short) + '"'
