"""Which light can be put together from the gear of a brief: head, modifier and stand.

What goes on what is common practice without a published source: a panel lamp and a small camera
flash bring their own face, studio modifiers go on studio heads, umbrellas on everything that
flashes.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from tapemark.studio import Brief, Head, HeadGear, Modifier, ModifierGear, Stand, StandGear

HeadKind = Literal["panel", "small", "studio"]

SMALL_FLASH_J = 100.0  # a battery flash for the camera's shoe stores no more (common practice)
UMBRELLAS = ("reflected umbrella", "shoot-through umbrella")
#: What keeps to a beam: fit for a background or a bounce.
BEAMS = ("reflector dish", "bare")
#: What is large enough to be a key or a fill. [m]
SOFT_LEAST_M = 0.35
LARGEST_ON_SMALL_M = 0.65  # of what a small camera flash holds, umbrellas apart
_PANEL_FACE_M = 0.2  # a bare face at least so large is that of a panel lamp


@dataclass(frozen=True, kw_only=True, slots=True)
class Kit:
    """The parts of one light.

    Attributes
    ----------
    head, modifier : HeadGear, ModifierGear
        What makes and what shapes the light.
    stand : StandGear or None
        What holds it; None for a usual stand, where the brief lists none.
    """

    head: HeadGear
    modifier: ModifierGear
    stand: StandGear | None = None

    @property
    def highest_m(self) -> float:
        """How high it can stand. [m]"""
        return (Stand() if self.stand is None else self.stand.stand).highest_m

    @property
    def size_m(self) -> float:
        """Larger side of its lit face. [m]"""
        return max(self.modifier.modifier.face_size_m)

    @property
    def parts(self) -> tuple[str, ...]:
        """Kind and name of each part, for counting."""
        stand = () if self.stand is None else (f"stand {self.stand.name}",)
        return f"head {self.head.name}", f"modifier {self.modifier.name}", *stand


def kits(brief: Brief) -> tuple[Kit, ...]:
    """Return every head with every modifier that goes on it, strongest heads first."""
    heads = sorted(brief.heads, key=lambda one: -_strength(one.head))
    return tuple(
        Kit(head=head, modifier=modifier)
        for head in heads
        for modifier in brief.modifiers
        if goes_on(modifier, head)
    )


def goes_on(gear: ModifierGear, head: HeadGear) -> bool:
    """Return whether a modifier goes on a head."""
    if gear.fits:
        return head.name in gear.fits
    kind, lamp = gear.modifier.kind, head_kind(head.head)
    if kind == "bare":
        return lamp == face_of(gear.modifier)
    if lamp == "small":
        return kind in UMBRELLAS or max(gear.modifier.face_size_m) <= LARGEST_ON_SMALL_M
    return lamp == "studio"


def head_kind(head: Head) -> HeadKind:
    """Return whether a head is a panel lamp, a small camera flash or a studio head."""
    if head.preset == "continuous LED panel":
        return "panel"
    stored = 0.0 if head.energy_j is None else head.energy_j
    small = head.kind == "flash" and stored <= SMALL_FLASH_J and head.mains_w in (None, 0.0)
    return "small" if small else "studio"


def face_of(bare: Modifier) -> HeadKind:
    """Return the kind of head that a bare face is the face of."""
    return "panel" if max(bare.face_size_m) >= _PANEL_FACE_M else "small"


def with_stands(chosen: Sequence[Kit], brief: Brief) -> tuple[Kit, ...] | None:
    """Return kits each on a stand of the brief, the tallest first; None if there are too few."""
    if not brief.stands:
        return tuple(chosen)
    free = [one for one in _tallest_first(brief.stands) for _ in range(one.count)]
    if len(free) < len(chosen):
        return None
    pairs = zip(chosen, free, strict=False)
    return tuple(Kit(head=one.head, modifier=one.modifier, stand=stand) for one, stand in pairs)


def there_are_enough(chosen: Sequence[Kit], brief: Brief) -> bool:
    """Return whether the brief lists enough of every part of some kits."""
    there = {f"head {one.name}": one.count for one in brief.heads}
    there |= {f"modifier {one.name}": one.count for one in brief.modifiers}
    there |= {f"stand {one.name}": one.count for one in brief.stands}
    used = Counter(part for kit in chosen for part in kit.parts)
    return all(count <= there[part] for part, count in used.items())


def soft_kits(brief: Brief) -> tuple[Kit, ...]:
    """Return kits for key or fill: the softest there are, one head for each modifier."""
    return tuple(_one_head_each(kits(brief), brief, soft=True))


def beam_kits(brief: Brief) -> tuple[Kit, ...]:
    """Return kits for a background or a bounce: those that keep to a beam, else all."""
    found = kits(brief)
    beams = [one for one in found if one.modifier.modifier.kind in BEAMS]
    return tuple(beams) or found


def _one_head_each(found: Sequence[Kit], brief: Brief, *, soft: bool) -> Iterator[Kit]:
    """Yield for each modifier the kit with its strongest head; the small ones if nothing else."""
    large = [one for one in found if one.size_m >= SOFT_LEAST_M or not soft]
    for gear in brief.modifiers:
        own = [one for one in large or found if one.modifier is gear]
        if own:
            yield own[0]


def _tallest_first(stands: Sequence[StandGear]) -> list[StandGear]:
    """Return stands, plain ones before booms, tall ones before low ones."""
    return sorted(stands, key=lambda one: (one.stand.kind != "stand", -one.stand.highest_m))


def _strength(head: Head) -> float:
    """Return how strong a head is, to compare heads of one kind."""
    return (head.energy_j or 0.0) + (head.guide_number_m or 0.0) ** 2 + (head.lumens or 0.0)
