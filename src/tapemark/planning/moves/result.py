"""What a search for moves answers: changes in words, with what else they change."""

from dataclasses import dataclass

from tapemark.analysis import Verdict
from tapemark.planning.judge import Judged
from tapemark.planning.moves.side_effects import Keep
from tapemark.planning.moves.single import What
from tapemark.planning.moves.trials import Chain
from tapemark.studio import Setup


@dataclass(frozen=True, kw_only=True, slots=True)
class MoveStep:
    """One change of one thing.

    Attributes
    ----------
    what, name : str
        ``light``, ``sitter`` or ``camera``; and which.
    family, toward : str
        What is done and which way; see `SingleMove`.
    amount, unit : float, str
        How far; in ``m``, ``deg`` or ``once``.
    text : str
        In words, with the power that follows.
    power_change_stops : float
        By how much a moved light is turned up. [stops]
    """

    what: What
    name: str
    family: str
    toward: str
    amount: float
    unit: str
    text: str
    power_change_stops: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Move:
    """A change, of one thing or of two in order, that clears the lenses or comes near.

    Attributes
    ----------
    steps : tuple of MoveStep
        One, or a pair in order.
    clear_to : str
        Up to which amount the lenses stay clear, about; empty where that is not known.
    side_effects : tuple of str
        What else changes, in words.
    losses : tuple of str
        What it breaks; empty for a clean move.
    points : float
        How much it disturbs set and picture.
    chain : tuple of (SingleMove, int)
        The same as the steps, as the search knows it.
    judged : Judged
        The setup after it, judged.
    """

    steps: tuple[MoveStep, ...]
    clear_to: str
    side_effects: tuple[str, ...]
    losses: tuple[str, ...]
    points: float
    chain: Chain
    judged: Judged

    @property
    def clean(self) -> bool:
        """Whether it clears all lenses, fails nothing new and keeps what was asked for."""
        return not self.losses

    @property
    def setup(self) -> Setup:
        """The whole setup after it."""
        return self.judged.setup

    @property
    def verdict_after(self) -> Verdict:
        """The worst verdict after it."""
        return self.judged.verdict

    @property
    def text(self) -> str:
        """The change in words; a pair in order."""
        if len(self.steps) == 1:
            return self.steps[0].text
        return f"first {self.steps[0].text}; then {self.steps[1].text}"

    @property
    def power_change_stops(self) -> float:
        """By how much the light of the first step is turned up. [stops]"""
        return self.steps[0].power_change_stops


@dataclass(frozen=True, kw_only=True, eq=False)
class MovesFound:
    """What a search for moves found.

    Attributes
    ----------
    before : Judged
        The setup as it is.
    keep : frozenset of str
        What had to stay.
    moves : tuple of Move
        Best first; clean ones only, or, where there is none, the least bad.
    complete : bool
        False where the search was interrupted.
    """

    before: Judged
    keep: frozenset[Keep]
    moves: tuple[Move, ...]
    complete: bool = True

    @property
    def needed(self) -> bool:
        """Whether any lens is not clear as it is."""
        return self.before.verdict != "clear"

    @property
    def clean(self) -> bool:
        """Whether the lenses are clear, or can be cleared without loss."""
        return not self.needed or any(one.clean for one in self.moves)
