"""Numbers at the command line: what is no number, or out of bounds, is answered in one line."""

import math
from typing import Any

import click


class WholeNumber(click.IntRange):
    """A whole number within bounds."""

    def __init__(self, least: int, most: int) -> None:
        super().__init__(least, most)
        self._least, self._most = least, most

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """Return the number, or refuse what was typed."""
        wanted = f'"{value}": write a whole number from {self._least} to {self._most}'
        try:
            number = int(value)
        except ValueError:
            self.fail(wanted, param, ctx)
        if not self._least <= number <= self._most:
            self.fail(wanted, param, ctx)
        return number


class Number(click.FloatRange):
    """A finite number within bounds."""

    def __init__(self, least: float, most: float) -> None:
        super().__init__(least, most)
        self._least, self._most = least, most

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return the number, or refuse what was typed."""
        try:
            number = float(value)
        except ValueError:
            number = math.nan
        if not self._least <= number <= self._most:  # never true of what is no number
            wanted = f"write a number from {self._least:g} to {self._most:g}"
            self.fail(f'"{value}": {wanted}', param, ctx)
        return number
