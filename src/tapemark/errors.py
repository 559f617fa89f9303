"""The errors that tapemark raises on purpose.

::

    TapemarkError                something the user can put right
    ├── UnitError (ValueError)   a text could not be read as a quantity
    ├── SetupError (ValueError)  a setup is not valid; carries every problem found
    │   └── OptionError          what is asked besides cannot be had of this setup
    ├── EditError (ValueError)   a change to a setup cannot be made
    ├── FileError (OSError)      a file could not be read
    │   ├── WriteError           a result could not be written
    │   └── LibraryError         the library of own things, or a part of it, cannot be used
    │       └── DamagedLibrary   its file is not whole; what can be read can be rescued
    ├── NotKept (LookupError)    the library has no such thing or version
    └── EditedElsewhere          a kept thing was changed by another window meanwhile

Each message says what was given, what is allowed and what to do next.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from typing import Any

__all__ = [
    "DamagedLibrary",
    "EditError",
    "EditedElsewhere",
    "FileError",
    "LibraryError",
    "NotKept",
    "OptionError",
    "Problem",
    "SetupError",
    "TapemarkError",
    "UnitError",
    "WriteError",
    "shown_name",
]

_UNSHOWN = {"Cc", "Cs", "Zl", "Zp"}  # controls, bytes that are no text, ends of lines


def shown_name(name: str) -> str:
    r"""Return the name or path of a file as one line of text that can be written anywhere.

    Examples
    --------
    >>> print(shown_name("two\nlines, and a byte that is no text: \udcff.jpg"))
    two\nlines, and a byte that is no text: \xff.jpg
    """
    return "".join(_escaped(one) if unicodedata.category(one) in _UNSHOWN else one for one in name)


def _escaped(one: str) -> str:
    undecoded = "\udc80" <= one <= "\udcff"  # as Python keeps bytes of a name that are no text
    return f"\\x{ord(one) - 0xDC00:02x}" if undecoded else ascii(one)[1:-1]


class TapemarkError(Exception):
    """Something went wrong that the user can put right."""


class UnitError(TapemarkError, ValueError):
    """A text could not be read as a quantity with its unit.

    Parameters
    ----------
    given : str
        What was written, as typed.
    allowed : str
        What can be written here.
    advice : str
        What to do next.
    """

    def __init__(self, given: str, *, allowed: str, advice: str) -> None:
        super().__init__(f"{given}: {advice} (allowed: {allowed})")
        self.given = given
        self.allowed = allowed
        self.advice = advice

    def __reduce__(self) -> tuple[object, ...]:
        """Rebuild the error from its parts when it crosses a process border."""
        return _rebuild_unit_error, (self.given, self.allowed, self.advice)


@dataclass(frozen=True, kw_only=True, slots=True)
class Problem:
    """One thing that is wrong in a setup.

    Parameters
    ----------
    key : str
        The key as the user finds it in the file, such as ``light[2] "fill" place.height``.
    given : str
        The value as typed; empty where nothing was written.
    allowed : str
        What is allowed there.
    advice : str
        What to do next.
    """

    key: str
    given: str
    allowed: str
    advice: str

    @property
    def text(self) -> str:
        """The problem in one or two lines."""
        first = f"{self.key}: {self.given}" if self.given else f"{self.key}"
        return f"{first}\n    allowed: {self.allowed}; {self.advice}"


class SetupError(TapemarkError, ValueError):
    """A setup is not valid.

    Parameters
    ----------
    problems : tuple of Problem
        Everything found, in the order of the file.
    name : str
        Name of the file or of the setup, for the message.
    """

    def __init__(self, problems: tuple[Problem, ...], *, name: str = "setup") -> None:
        count = "1 problem" if len(problems) == 1 else f"{len(problems)} problems"
        lines = [f"{name}: {count}"]
        lines += [f"  {problem.text}" for problem in problems]
        super().__init__("\n".join(lines))
        self.problems = problems
        self.name = name

    def __reduce__(self) -> tuple[object, ...]:
        """Rebuild the error from its parts when it crosses a process border."""
        return _rebuild_setup_error, (self.problems, self.name)


class OptionError(SetupError):
    """What is asked for beside a setup cannot be had; the setup is not at fault.

    Parameters
    ----------
    problem : Problem
        What is in the way, its key as the option is called.
    """

    def __init__(self, problem: Problem) -> None:
        super().__init__((problem,), name=problem.key)
        self.args = (
            f"{problem.key} {problem.given}: {problem.advice} (allowed: {problem.allowed})",
        )

    def __reduce__(self) -> tuple[object, ...]:
        """Rebuild the error from its parts when it crosses a process border."""
        return OptionError, self.problems


class EditError(TapemarkError, ValueError):
    """A change to a setup cannot be made; the setup stays as it is.

    Parameters
    ----------
    problem : Problem
        What is in the way, its key as the person or the app named it.
    """

    def __init__(self, problem: Problem) -> None:
        given = f" {problem.given}" if problem.given else ""
        super().__init__(f"{problem.key}{given}: {problem.advice} (allowed: {problem.allowed})")
        self.problem = problem

    def __reduce__(self) -> tuple[object, ...]:
        """Rebuild the error from its parts when it crosses a process border."""
        return EditError, (self.problem,)


class FileError(TapemarkError, OSError):
    """A file could not be read or written.

    Parameters
    ----------
    path : str
        The file.
    reason : str
        What went wrong.
    advice : str
        What to do next.
    """

    def __init__(self, path: str, *, reason: str, advice: str) -> None:
        super().__init__(f"{shown_name(path)}: {reason}; {advice}")
        self.path = path
        self.reason = reason
        self.advice = advice

    def __str__(self) -> str:
        """Return the file, what went wrong and what to do next."""
        return f"{shown_name(self.path)}: {self.reason}; {self.advice}"

    def __reduce__(self) -> tuple[object, ...]:
        """Rebuild the error from its parts when it crosses a process border."""
        return _rebuild_file_error, (self.path, self.reason, self.advice)


class WriteError(FileError):
    """A result could not be written though the request is understood; as `FileError`."""

    def __reduce__(self) -> tuple[object, ...]:
        """Rebuild the error from its parts when it crosses a process border."""
        return _rebuild_write_error, (self.path, self.reason, self.advice)


class LibraryError(FileError):
    """The library of own things, or a part of it, cannot be used; as `FileError`."""

    def __reduce__(self) -> tuple[object, ...]:
        """Rebuild the error from its parts when it crosses a process border."""
        return _rebuild_library_error, (type(self), self.path, self.reason, self.advice)


class DamagedLibrary(LibraryError):
    """The file of the library is not whole; as `FileError`."""


class NotKept(TapemarkError, LookupError):
    """The library has no such thing or version.

    Parameters
    ----------
    what : str
        What was asked for.
    """

    def __init__(self, what: str) -> None:
        super().__init__(f"{what} is not in the library; look under Own things, or in its bin")
        self.what = what

    def __reduce__(self) -> tuple[object, ...]:
        """Rebuild the error from its parts when it crosses a process border."""
        return NotKept, (self.what,)


class EditedElsewhere(TapemarkError):
    """A kept thing was changed by another window since this one last saw it.

    Parameters
    ----------
    kept : Kept
        The thing as it is now.
    """

    def __init__(self, kept: Any) -> None:
        super().__init__(
            f"{kept.kind} {kept.name!r} was changed in another window (revision {kept.revision}); "
            "merge the two, or keep both"
        )
        self.kept = kept

    def __reduce__(self) -> tuple[object, ...]:
        """Rebuild the error from its parts when it crosses a process border."""
        return EditedElsewhere, (self.kept,)


def _rebuild_unit_error(given: str, allowed: str, advice: str) -> UnitError:
    return UnitError(given, allowed=allowed, advice=advice)


def _rebuild_setup_error(problems: tuple[Problem, ...], name: str) -> SetupError:
    return SetupError(problems, name=name)


def _rebuild_file_error(path: str, reason: str, advice: str) -> FileError:
    return FileError(path, reason=reason, advice=advice)


def _rebuild_write_error(path: str, reason: str, advice: str) -> WriteError:
    return WriteError(path, reason=reason, advice=advice)


def _rebuild_library_error(
    kind: type[LibraryError], path: str, reason: str, advice: str
) -> LibraryError:
    return kind(path, reason=reason, advice=advice)
