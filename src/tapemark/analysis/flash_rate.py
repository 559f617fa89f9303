"""How often does it flash, and how close to whose eyes?"""

from dataclasses import dataclass
from math import ceil, hypot

from tapemark.analysis.scene import Scene
from tapemark.anatomy import head_pose
from tapemark.geometry import Vec3
from tapemark.studio import Light, Setup, Sitter, aim_direction

#: A planning rule for bursts, by analogy with screens; [wcag22] success criterion 2.3.1.
MOST_FLASHES_IN_1_S = 3
#: Flashes a second that set off most of the seizures there are; [epilepsy-society]. [1/s]
TRIGGER_BAND_HZ = (3.0, 30.0)
#: A small hard flash nearer to the eyes than this is called out: no published limit was
#: found, so this is a planning value. [m]
CLOSE_FLASH_M = 1.0
_HARD = ("bare", "reflector dish")
_ROUNDING = 1e-9


@dataclass(frozen=True, kw_only=True, slots=True)
class CloseFlash:
    """A small hard flash close to somebody's eyes.

    Attributes
    ----------
    light, person : str
        Their names.
    distance_m : float
        Lit face to eyes. [m]
    """

    light: str
    person: str
    distance_m: float


@dataclass(frozen=True, kw_only=True, slots=True)
class FlashRate:
    """How often it flashes.

    Attributes
    ----------
    flashes : tuple of str
        Flash heads that are on.
    interval_s : float or None
        From frame to frame, where it was said. [s]
    most_in_1_s : int or None
        Most flashes in any one second, all heads together at each frame.
    close : tuple of CloseFlash
        Small hard flashes close to somebody's eyes.
    """

    flashes: tuple[str, ...]
    interval_s: float | None
    most_in_1_s: int | None
    close: tuple[CloseFlash, ...]

    @property
    def too_fast(self) -> bool:
        """Whether there are more in a second than the planning rule allows."""
        return self.most_in_1_s is not None and self.most_in_1_s > MOST_FLASHES_IN_1_S


def flashes_in_1_s(interval_s: float) -> int:
    """Return the most flashes that fall into any one second.

    Parameters
    ----------
    interval_s : float
        From flash to flash, more than 0. [s]

    Notes
    -----
    A second that begins with a flash holds as many as there are whole or begun intervals in
    it. Heads that do not fire together make more.

    Examples
    --------
    >>> flashes_in_1_s(1.5), flashes_in_1_s(0.5), flashes_in_1_s(0.3)
    (1, 2, 4)
    """
    return ceil(1.0 / interval_s - _ROUNDING)


def flash_rate(scene: Scene) -> FlashRate:
    """Return how often a scene flashes, and which small hard flash is close to whose eyes.

    Notes
    -----
    One flash for each frame: pre-flashes against red eyes or for metering come on top of it,
    and so do heads that slave cells fire late.
    """
    setup = scene.setup
    heads = [light for light in setup.lights if light.on and light.head.kind == "flash"]
    interval = setup.camera.frame_interval_s
    counted = interval is not None and bool(heads)
    return FlashRate(
        flashes=tuple(light.name for light in heads),
        interval_s=interval,
        most_in_1_s=flashes_in_1_s(interval) if interval is not None and counted else None,
        close=tuple(
            near
            for light in heads
            if light.modifier.kind in _HARD
            for person in setup.people
            if (near := _close(light, person, setup)) is not None
        ),
    )


def _close(light: Light, person: Sitter, setup: Setup) -> CloseFlash | None:
    x, y, z = light.place.position_m
    mark_x, mark_y = person.mark_m
    span: Vec3 = (mark_x - x, mark_y - y, person.eye_height_m - z)
    distance = hypot(*span)
    if distance > CLOSE_FLASH_M:
        return None
    shines = sum(a * b for a, b in zip(span, aim_direction(light, setup=setup), strict=True))
    faces = -sum(a * float(b) for a, b in zip(span, head_pose(person).axes[:, 1], strict=True))
    if shines <= 0.0 or faces <= 0.0:
        return None
    return CloseFlash(light=light.name, person=person.name, distance_m=distance)
