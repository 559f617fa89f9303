"""Who comes to be photographed, and when they can."""

from dataclasses import dataclass

from tapemark.studio import Glasses


@dataclass(frozen=True, kw_only=True)
class Appointment:
    """One person on the list of a day.

    Attributes
    ----------
    name : str
        What they are called; nobody else on the list is called so.
    line : int
        Line of the list, counted from 1.
    posture : str or None
        ``seated`` or ``standing``; None for that of the setup's sitter.
    body_height_m : float or None
        Body height. [m]
    eye_height_m : float or None
        Eyes above the floor, as posed. [m]
    glasses : Glasses or None
        What they wear.
    glasses_words : str
        Glasses as the list has them; ``none`` for somebody without.
    from_s, to_s : int or None
        When they can be there, and when they must be done, counted from midnight. [s]
    sitting_s : int or None
        How long their sitting takes; None for as long as everybody's. [s]
    """

    name: str
    line: int = 0
    posture: str | None = None
    body_height_m: float | None = None
    eye_height_m: float | None = None
    glasses: Glasses | None = None
    glasses_words: str = "none"
    from_s: int | None = None
    to_s: int | None = None
    sitting_s: int | None = None

    @property
    def fixed(self) -> bool:
        """Whether they can come only at some times."""
        return self.from_s is not None or self.to_s is not None
