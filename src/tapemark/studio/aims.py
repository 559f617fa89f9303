"""What a light, a panel or a camera points at: a word, or a place."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any, Literal, get_args

from pydantic import BeforeValidator, Discriminator, Tag
from pydantic_core import PydanticCustomError

from tapemark.studio.place import Place
from tapemark.studio.presets import nearest

__all__ = ["Aim", "AimName", "without_branches"]

AimName = Literal[
    "face",
    "ceiling",
    "backdrop",
    "wall behind",
    "wall camera-left",
    "wall camera-right",
    "wall behind camera",
]


def without_branches(steps: Sequence[int | str]) -> list[int | str]:
    """Return a path of keys without the marks of the branch that an aim took."""
    return [
        step
        for before, step in zip((None, *steps), steps, strict=False)
        if not (before == "aim" and step in _BRANCHES)
    ]


_BRANCHES = ("~word", "~place")


def _branch(value: Any) -> str:
    return "~word" if isinstance(value, str) else "~place"


def _check_word_or_place(value: Any) -> Any:
    if isinstance(value, dict | Place) or value in get_args(AimName):
        return value
    names = ", ".join(f'"{name}"' for name in get_args(AimName))
    allowed = f'{names}, or a place {{ distance = "...", side = "...", height = "..." }}'
    close = nearest(value, get_args(AimName)) if isinstance(value, str) else None
    advice = f'did you mean "{close}"?' if close else 'write aim = "face" or one of the others'
    raise PydanticCustomError(
        "aim", "{advice} (allowed: {allowed})", {"allowed": allowed, "advice": advice}
    )


Aim = Annotated[
    Annotated[AimName, Tag("~word")] | Annotated[Place, Tag("~place")],
    Discriminator(_branch),
    BeforeValidator(_check_word_or_place),
]
"""A word, or a place like that of a stand. The tags mark the branch and are no keys."""
