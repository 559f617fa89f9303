"""The ways in which a photographer would light a brief, and where the lights may go in each.

A rig is a way of lighting from the trade: which gear is key, fill and background light, on which
side, for which pattern.  What is left open in a rig (directions, distances, heights) are the
coordinates of a cube with sides from 0 to 1, through which a search goes.

References
----------
Directions of the patterns as in `tapemark.analysis.modelling`, drawn in a little so that a rig
aims at the middle of a pattern; distances are common practice, no published source.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.planning.plans.gear import (
    BEAMS,
    Kit,
    beam_kits,
    goes_on,
    soft_kits,
    there_are_enough,
    with_stands,
)
from tapemark.studio import Brief, Modifier, PanelGear
from tapemark.units import INCH

PanelUse = Literal["none", "beside", "below"]

#: Directions of the key from the nose that are searched: to its side, and up. [deg]
KEY_WAYS: dict[str, tuple[tuple[float, float], tuple[float, float]]] = {
    "loop": ((22.0, 48.0), (24.0, 50.0)),
    "Rembrandt": ((34.0, 58.0), (25.0, 52.0)),
    "butterfly": ((0.0, 5.0), (28.0, 58.0)),
    "clamshell": ((0.0, 5.0), (28.0, 55.0)),
    "split": ((72.0, 100.0), (0.0, 35.0)),
}
FILL_SIDE_DEG, FILL_UP_DEG, FILL_FAR_M = (15.0, 70.0), (5.0, 50.0), (1.1, 2.8)
BESIDE_DEG, BESIDE_FAR_M, BESIDE_UP_M = (40.0, 100.0), (0.5, 1.1), (-0.35, 0.15)
BELOW_FAR_M, BELOW_DOWN_M = (0.36, 0.7), (0.35, 0.7)
BACK_ACROSS_M, BACK_AHEAD_M, BACK_UP_M = (0.3, 2.4), (0.1, 1.3), (-0.7, 0.8)
BACK_AIM = (-0.8, 0.5)  # share of its own way across at which a background light aims
GAP_M = (0.8, 4.0)  # sitter to a backdrop that can be moved
TURN_DEG = 20.0  # of a face turned for broad or short light
#: What a ceiling must give back to bounce from, and up to which height.
BOUNCE_REFLECTANCE, BOUNCE_CEILING_M = 0.5, 4.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Rig:
    """A way to light a brief.

    Attributes
    ----------
    pattern : str
        Which shadows the key is to throw; ``bounce`` for light from the ceiling.
    hand : int
        Side of the key: 1 camera-left, -1 camera-right.
    turn_deg : float
        Turn of the face, camera-left positive. [deg]
    kits : tuple of Kit
        Key first, then the fill if there is one, then the lights on the background.
    fill : bool
        Whether the second kit is a fill.
    panel : PanelGear or None
        The reflector panel.
    panel_use : str
        ``none``, ``beside`` (opposite the key) or ``below`` (under the face).
    backdrop : bool
        Whether a backdrop hangs.
    gap_m : float or None
        Sitter to backdrop, where that is given. [m]
    """

    pattern: str
    hand: int
    turn_deg: float
    kits: tuple[Kit, ...]
    fill: bool
    panel: PanelGear | None
    panel_use: PanelUse
    backdrop: bool
    gap_m: float | None

    @property
    def backs(self) -> int:
        """How many lights are on the background."""
        return len(self.kits) - 1 - self.fill

    @property
    def size(self) -> int:
        """How many numbers are left open."""
        open_panel = {"none": 0, "beside": 3, "below": 2}[self.panel_use]
        return 3 + 3 * self.fill + open_panel + 4 * (self.backs > 0) + self.gap_open

    @property
    def gap_open(self) -> bool:
        """Whether the plan chooses the distance to the backdrop."""
        return self.backdrop and self.gap_m is None

    @property
    def family(self) -> tuple[object, ...]:
        """What is alike in rigs that differ only by side and turn."""
        gear = tuple((kit.head.name, kit.modifier.name) for kit in self.kits)
        return self.pattern, gear, self.fill, self.panel_use

    @property
    def names(self) -> tuple[str, ...]:
        """What its lights are called."""
        backs = ["background light"] if self.backs == 1 else ["background left", "background right"]
        return ("key", *(["fill"] if self.fill else []), *(backs if self.backs else []))


@dataclass(frozen=True, kw_only=True, eq=False)
class Layout:
    """A rig put up: places in the world, in metres.

    Attributes
    ----------
    rig : Rig
        What is put up.
    centers, targets : (lights, 3) arrays
        Middle of each lit face, and what it points at. [m]
    panel : (3,) array or None
        Middle of the panel, which faces the face. [m]
    gap_m : float or None
        Sitter to backdrop. [m]
    at : tuple of float or None
        The point of the cube; None for a layout that was not searched for. [-]
    """

    rig: Rig
    centers: FloatArray
    targets: FloatArray
    panel: FloatArray | None
    gap_m: float | None
    at: tuple[float, ...] | None = None


def rigs_of(brief: Brief, *, lights: int) -> list[Rig]:
    """Return the rigs of a brief with so many lights, the plainest first."""
    return [
        rig
        for rig in _rigs(brief, lights=lights)
        if there_are_enough(rig.kits, brief) and (rig.pattern, rig.panel_use) != ("split", "below")
    ]


def most_lights(brief: Brief) -> int:
    """Return how many lights the gear allows, at most four."""
    heads = sum(one.count for one in brief.heads)
    modifiers = sum(one.count for one in brief.modifiers)
    stands = sum(one.count for one in brief.stands) if brief.stands else heads
    return min(heads, modifiers, stands, 4)


def bounce_kits(brief: Brief) -> tuple[Kit, ...]:
    """Return what can be bounced off the ceiling; nothing where the ceiling does not serve."""
    room = brief.room
    if room.ceiling_reflectance < BOUNCE_REFLECTANCE or room.height_m > BOUNCE_CEILING_M:
        return ()
    beams = [kit for kit in beam_kits(brief) if kit.modifier.modifier.kind in BEAMS]
    found = (with_stands([kit], brief) for kit in beams)
    return tuple(one[0] for one in found if one is not None)


def lay_out(rig: Rig, at: Sequence[float] | FloatArray, *, brief: Brief) -> Layout:
    """Return a rig put up at a point of its cube.

    Parameters
    ----------
    rig : Rig
        What is put up.
    at : (rig.size,) array
        Coordinates from 0 to 1.
    brief : Brief
        For the room and the eyes.
    """
    take = iter(np.clip(np.asarray(at, dtype=float), 0.0, 1.0))
    face = np.array([0.0, 0.0, brief.sitter.eye_height_m])
    centers, targets = [_key(rig, take, face)], [face]
    if rig.fill:
        centers.append(_fill(rig, take, face))
        targets.append(face)
    panel = _panel(rig, take, face)
    backs = [next(take) for _ in range(4)] if rig.backs else []
    gap = rig.gap_m
    if rig.gap_open:
        high = min(GAP_M[1], brief.room.behind_sitter_m - 0.02)
        gap = _between((min(GAP_M[0], high), high), next(take))
    if rig.backs:
        behind = brief.room.behind_sitter_m if gap is None else gap
        for hand in (-rig.hand, rig.hand)[: rig.backs] if rig.backs == 1 else (1, -1):
            center, target = _back(backs, hand=hand, behind_m=behind, face=face)
            centers.append(center)
            targets.append(target)
    return Layout(
        rig=rig,
        centers=np.array(centers),
        targets=np.array(targets),
        panel=panel,
        gap_m=gap,
        at=tuple(float(one) for one in at),
    )


def tape(length_m: float, *, brief: Brief) -> float:
    """Return a length as one tapes it: to the centimetre, or to the inch."""
    if brief.units == "us":
        return round(round(length_m / INCH) * INCH, 4)
    return round(length_m, 2)


def _rigs(brief: Brief, *, lights: int) -> Iterator[Rig]:
    for kits, fill in _kit_choices(brief, lights=lights):
        for pattern in _patterns(brief):
            for panel, use in _panels(brief, pattern=pattern, fill=fill):
                for hand, turn in _sides(brief, pattern=pattern):
                    yield Rig(
                        pattern=pattern,
                        hand=hand,
                        turn_deg=turn,
                        kits=kits,
                        fill=fill,
                        panel=panel,
                        panel_use=use,
                        backdrop=brief.backdrop is not None,
                        gap_m=None if brief.backdrop is None else brief.backdrop.distance_m,
                    )


def _kit_choices(brief: Brief, *, lights: int) -> Iterator[tuple[tuple[Kit, ...], bool]]:
    """Yield the kits of key, fill and background lights, and whether there is a fill."""
    soft, beams = soft_kits(brief), beam_kits(brief)
    lit = brief.background in {"white", "as seen"}
    for fill, backs in ((True, lights - 2), (False, lights - 1)):
        if backs < 0 or backs > 2 or (backs > 0 and not lit) or lights < 1 + fill:
            continue
        for key in soft:
            for other in soft if fill else [None]:
                for beam in beams if backs else [None]:
                    chosen = [key, *([other] if other else []), *([beam] * backs if beam else [])]
                    swapped = _heads_spread(chosen, brief)
                    standing = None if swapped is None else with_stands(swapped, brief)
                    if standing is not None:
                        yield standing, fill


def _heads_spread(chosen: Sequence[Kit], brief: Brief) -> list[Kit] | None:
    """Return kits with heads swapped so that the brief has enough of each; None if it has not."""
    left = {one.name: one.count for one in brief.heads}
    found = []
    for kit in chosen:
        fitting = [kit.head, *(one for one in brief.heads if goes_on(kit.modifier, one))]
        head = next((one for one in fitting if left[one.name] > 0), None)
        if head is None:
            return None
        left[head.name] -= 1
        found.append(Kit(head=head, modifier=kit.modifier))
    return found


def _patterns(brief: Brief) -> tuple[str, ...]:
    if brief.pattern != "any":
        return (brief.pattern,)
    dark = brief.ratio_range is not None and brief.ratio_range[1] >= 4.0
    return ("loop", "Rembrandt", "butterfly", "clamshell", *(["split"] if dark else []))


def _panels(
    brief: Brief, *, pattern: str, fill: bool
) -> Iterator[tuple[PanelGear | None, PanelUse]]:
    """Yield what a panel can do with a pattern, nothing first."""
    white = [one for one in brief.panels if one.reflectance >= 0.3]
    best = max(white, key=lambda one: one.width_m * one.height_m * one.reflectance, default=None)
    if pattern == "clamshell":
        if best is not None:
            yield best, "below"
        return
    yield None, "none"
    if best is not None and not fill and pattern != "butterfly":
        yield best, "beside"


def _sides(brief: Brief, *, pattern: str) -> Iterator[tuple[int, float]]:
    """Yield side of the key and turn of the face."""
    stated = "turn_deg" in brief.sitter.model_fields_set
    hands = (1,) if pattern in {"butterfly", "clamshell"} else (1, -1)
    for hand in hands:
        turns = {"any": (0.0,), "broad": (-hand * TURN_DEG,), "short": (hand * TURN_DEG,)}
        if stated:
            yield hand, brief.sitter.turn_deg
            continue
        for turn in turns[brief.face]:
            yield hand, turn
        if brief.face == "any" and len(hands) == 2:
            yield hand, -hand * TURN_DEG


def _key(rig: Rig, take: Iterator[float], face: FloatArray) -> FloatArray:
    aside, up = KEY_WAYS[rig.pattern]
    azimuth = rig.turn_deg + rig.hand * _between(aside, next(take))
    return _towards(face, azimuth, _between(up, next(take)), _between(_key_far(rig), next(take)))


def _key_far(rig: Rig) -> tuple[float, float]:
    """Return how near and how far a key of that size stands. [m]"""
    modifier: Modifier = rig.kits[0].modifier.modifier
    size = float(np.sqrt(np.prod(modifier.face_size_m)))
    near = min(max(0.85, 0.9 * size), 1.3)
    return near, near + 1.3


def _fill(rig: Rig, take: Iterator[float], face: FloatArray) -> FloatArray:
    azimuth = rig.turn_deg - rig.hand * _between(FILL_SIDE_DEG, next(take))
    return _towards(
        face, azimuth, _between(FILL_UP_DEG, next(take)), _between(FILL_FAR_M, next(take))
    )


def _panel(rig: Rig, take: Iterator[float], face: FloatArray) -> FloatArray | None:
    if rig.panel_use == "none":
        return None
    if rig.panel_use == "below":
        ahead, down = _between(BELOW_FAR_M, next(take)), _between(BELOW_DOWN_M, next(take))
        turn = np.deg2rad(rig.turn_deg)
        return np.asarray(face + np.array([ahead * np.sin(turn), ahead * np.cos(turn), -down]))
    azimuth = np.deg2rad(rig.turn_deg - rig.hand * _between(BESIDE_DEG, next(take)))
    far, up = _between(BESIDE_FAR_M, next(take)), _between(BESIDE_UP_M, next(take))
    return np.asarray(face + np.array([far * np.sin(azimuth), far * np.cos(azimuth), up]))


def _back(
    at: Sequence[float], *, hand: int, behind_m: float, face: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return place and target of a light on the background."""
    across = hand * _between(BACK_ACROSS_M, at[0])
    ahead = min(_between(BACK_AHEAD_M, at[1]), 1.2 * behind_m)
    up, aim = _between(BACK_UP_M, at[2]), _between(BACK_AIM, at[3])
    center = np.array([across, ahead - behind_m, max(face[2] + up, 0.4)])
    return center, np.array([aim * across, -behind_m, face[2]])


def _towards(face: FloatArray, azimuth_deg: float, up_deg: float, far_m: float) -> FloatArray:
    """Return the place so far from the face in a direction of the room."""
    azimuth, up = np.deg2rad(azimuth_deg), np.deg2rad(up_deg)
    level = far_m * np.cos(up)
    return np.asarray(
        face + np.array([level * np.sin(azimuth), level * np.cos(azimuth), far_m * np.sin(up)])
    )


def _between(ends: tuple[float, float], share: float) -> float:
    return float(ends[0] + share * (ends[1] - ends[0]))
