"""What one run of the app is told when it starts."""

from dataclasses import dataclass
from pathlib import Path

LOOPBACK_NAMES = ("127.0.0.1", "localhost", "[::1]")


@dataclass(frozen=True, kw_only=True, slots=True)
class Settings:
    """What one run of the app is told when it starts.

    Attributes
    ----------
    port : int
        The port it is reached at; part of the Host check and of the name of the cookie.
    library : Path, optional
        File of the library; without it the one in the user's data folder.
    lan : bool
        Whether devices in the same network may join, each with a link that carries a token.
    names : tuple of str
        Further names and addresses, without the port, that the app answers to.
    live_workers, long_workers : int, optional
        How many processes draw while somebody drags, and do work that takes seconds; without
        them a number that suits the machine.
    ready : bool
        Whether such processes get ready before they are asked for.
    picture_rows : int
        How many rows of pixels a picture has that is taken in the app; fewer take less time.
    """

    port: int
    library: Path | None = None
    lan: bool = False
    names: tuple[str, ...] = ()
    live_workers: int | None = None
    long_workers: int | None = None
    ready: bool = True
    picture_rows: int = 600

    @property
    def cookie(self) -> str:
        """Name of the session cookie; browsers share cookies between ports."""
        return f"tapemark_{self.port}"
