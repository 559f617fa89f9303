"""What a form asks: questions, groups of them, and steps."""

from dataclasses import dataclass
from typing import Literal

Kind = Literal["text", "choice", "count"]
Options = tuple[tuple[str, str], ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Asked:
    """One question of the form.

    Attributes
    ----------
    key : str
        Name of the field.
    label, why : str
        What is asked, and one line on what it is for.
    kind : str
        How it is answered.
    usual, usual_us : str
        What stands there at first, in metric and in US units.
    options : tuple of pairs
        Value and words of each choice.
    when : str
        Name and value of the choice that makes it matter; empty for always.
    """

    key: str
    label: str
    why: str
    kind: Kind = "text"
    usual: str = ""
    usual_us: str = ""
    options: Options = ()
    when: str = ""

    def usual_in(self, units: str) -> str:
        """Return what stands there at first in some units."""
        return self.usual_us if units == "us" and self.usual_us else self.usual


@dataclass(frozen=True, kw_only=True, slots=True)
class Group:
    """Questions that belong together.

    Attributes
    ----------
    title, why : str
        Heading and one line; both may be empty.
    asked : tuple of Asked
        The questions.
    folded : bool
        Whether they lie folded away: what is usual is mostly right.
    """

    title: str = ""
    why: str = ""
    asked: tuple[Asked, ...]
    folded: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Step:
    """One of the five steps.

    Attributes
    ----------
    key, title, lead : str
        Name, heading, and what it is about.
    groups : tuple of Group
        Its questions.
    """

    key: str
    title: str
    lead: str
    groups: tuple[Group, ...]
