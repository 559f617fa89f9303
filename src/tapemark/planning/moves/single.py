"""Everything that can be changed by itself: one light, one person or the camera, one way.

What is no move here, on purpose: glasses tilted down the nose or taken off, a chin dropped to
dodge a light.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import atan2, cos, degrees, hypot, pi, radians, sin
from typing import Literal, Protocol, TypeVar

from tapemark.planning.moves.stool_shift import shifted_person
from tapemark.studio import Camera, Light, Place, Setup, Sitter, aim_point_m, changed, with_light
from tapemark.units import MARK_STEP_M, fine_m

What = Literal["light", "sitter", "camera"]
Family = Literal["height", "swing", "back", "feather", "bounce", "head", "body", "stool"]
Toward = Literal["up", "down", "camera-left", "camera-right", "away", "camera", "ceiling"]
Unit = Literal["m", "deg", "once"]
_Thing = TypeVar("_Thing", Light, Place)

#: The steps of a search; a move is the smallest to one of them. [m], [deg]
STEP_DEG = 0.5
#: How far things go at most; farther makes another picture (common practice). [m] or [deg]
FARTHEST: dict[tuple[What, Family], float] = {
    ("light", "height"): 1.5,
    ("light", "swing"): 80.0,
    ("light", "back"): 2.5,
    ("light", "feather"): 40.0,
    ("light", "bounce"): 1.0,
    ("sitter", "head"): 35.0,
    ("sitter", "body"): 60.0,
    ("sitter", "stool"): 0.6,
    ("camera", "height"): 0.6,
    ("camera", "swing"): 45.0,
    ("camera", "back"): 2.5,
}
MOST_TURN_DEG = 75.0  # of a face from the camera mark: farther it is a profile
CAMERA_HEIGHTS_M = (0.4, 2.2)  # between these one works on a stand (common practice)
_TURNED_UP = ("bare", "reflector dish")  # modifiers that one bounces off a ceiling
_WHITE_CEILING = 0.5
_MILLIDEGREE = 3
_TOLD_DEG = 1  # digits to which a side is told
_SIDES: tuple[Toward, Toward] = ("camera-left", "camera-right")


class _Change(Protocol):
    """How a copy of a thing with some fields changed is made."""

    def __call__(self, thing: _Thing, changes: Mapping[str, object]) -> _Thing: ...


def _unchecked(thing: _Thing, changes: Mapping[str, object]) -> _Thing:
    """Return a copy of a thing with some fields changed, for a quick look."""
    return thing.model_copy(update=dict(changes))


@dataclass(frozen=True, kw_only=True, slots=True)
class SingleMove:
    """One way to change one thing.

    Attributes
    ----------
    what : "light", "sitter" or "camera"
        The kind of thing.
    name : str
        Its name.
    family : str
        ``height``, ``swing``, ``back``, ``feather`` (turn a light off the face) or ``bounce``;
        ``head``, ``body`` or ``stool`` of a person.
    toward : str
        Which way it goes.
    unit : "m", "deg" or "once"
        What an amount counts.
    step : float
        Smallest amount. [m] or [deg]
    most : int
        How many steps are tried at most.
    person : int
        Number of the person who moves; -1 for lights and camera.
    """

    what: What
    name: str
    family: Family
    toward: Toward
    unit: Unit
    step: float
    most: int
    person: int = -1

    def amount(self, steps: int) -> float:
        """Return the amount of so many steps, in its unit."""
        return round(steps * self.step, 6)

    def after(self, setup: Setup, steps: int) -> Setup:
        """Return a setup after so many steps of this move.

        Raises
        ------
        SetupError
            If something cannot be where it would then be.
        """
        amount = self.amount(steps)
        if self.what == "light":
            return with_light(setup, self._light_after(setup, amount))
        if self.what == "camera":
            return changed(setup, {"camera": self._camera_after(setup.camera, amount)})
        return self._person_after(setup, amount)

    def moved_light(self, setup: Setup, steps: int) -> Light:
        """Return the light of a setup after so many steps of a move of it, not checked again."""
        return self._light_after(setup, self.amount(steps), change=_unchecked)

    def lightly_after(self, setup: Setup, steps: int) -> Setup:
        """Return a setup after so many steps of a move of a light, not checked again."""
        moved = self.moved_light(setup, steps)
        lights = tuple(moved if one.name == moved.name else one for one in setup.lights)
        return setup.model_copy(update={"lights": lights})

    def camera_place_after(self, setup: Setup, steps: int) -> Place:
        """Return where the camera is after so many steps of a move of it."""
        return self._place_after(setup.camera.place, self.amount(steps))

    def shift_m(self, steps: int) -> tuple[float, float, float]:
        """Return how far a person's mark goes in so many steps, world frame. [m]"""
        by = self.sign * self.amount(steps)
        return (by, 0.0, 0.0) if self.toward in _SIDES else (0.0, by, 0.0)

    @property
    def sign(self) -> float:
        """+1 towards camera-left, up or the camera, else -1. [-]"""
        return 1.0 if self.toward in ("camera-left", "up", "camera") else -1.0

    def _light_after(self, setup: Setup, amount: float, *, change: _Change = changed) -> Light:
        light = next(one for one in setup.lights if one.name == self.name)
        if self.family == "bounce":
            return change(light, {"aim": "ceiling"})
        if self.family == "feather":
            return change(light, {"aim": _feathered(light, setup, self.toward, amount)})
        return change(light, {"place": self._place_after(light.place, amount, change=change)})

    def _place_after(self, place: Place, amount: float, *, change: _Change = changed) -> Place:
        """Return a place raised, lowered, swung around the sitter or drawn back at its height."""
        if self.family == "height":
            height = place.height_m + self.sign * amount
            return change(place, {"height_m": self._told(height)})
        if self.family == "swing":
            side = (place.side_deg + self.sign * amount + 180.0) % 360.0 - 180.0
            return change(place, {"side_deg": round(side, _TOLD_DEG)})
        return change(place, {"distance_m": self._told(place.distance_m + amount)})

    def _told(self, length_m: float) -> float:
        """Return the nearest length that can be told in words: a whole number of steps. [m]"""
        return round(round(length_m / self.step) * self.step, 5)

    def _camera_after(self, camera: Camera, amount: float) -> Camera:
        place = self._place_after(camera.place, amount)
        if self.family != "back":
            return changed(camera, {"place": place})
        longer = place.distance_m / camera.place.distance_m
        focal_length = round(camera.focal_length_mm * longer, 1)
        return changed(camera, {"place": place, "focal_length_mm": focal_length})

    def _person_after(self, setup: Setup, amount: float) -> Setup:
        if self.family == "stool":
            by = self.sign * amount
            across, forward = (by, 0.0) if self.toward in _SIDES else (0.0, by)
            return shifted_person(setup, index=self.person, across_m=across, forward_m=forward)
        person = setup.people[self.person]
        turned = {"turn_deg": round(person.turn_deg + self.sign * amount, _MILLIDEGREE)}
        more = {"gaze": "ahead"} if self.family == "body" else {}
        return _with_person(setup, self.person, changed(person, {**turned, **more}))


def light_moves(setup: Setup, light: Light) -> Iterator[SingleMove]:
    """Yield the ways to move or turn one light."""
    ways: list[tuple[Family, Toward]] = [("height", "up"), ("height", "down")]
    ways += [("swing", side) for side in _SIDES] + [("back", "away")]
    if light.aim == "face" or isinstance(light.aim, Place):
        feathers: tuple[Toward, ...] = (*_SIDES, "up", "down")
        ways += [("feather", toward) for toward in feathers]
        turned_up = light.modifier.kind in _TURNED_UP
        if turned_up and setup.room.ceiling_reflectance >= _WHITE_CEILING:
            ways.append(("bounce", "ceiling"))
    for family, toward in ways:
        yield _move(setup, "light", light.name, family=family, toward=toward)


def person_moves(setup: Setup, index: int) -> Iterator[SingleMove]:
    """Yield the ways to turn a person or to shift their mark."""
    person = setup.people[index]
    for toward in _SIDES:
        yield _move(setup, "sitter", person.name, family="head", toward=toward, person=index)
        if person.gaze == "camera":
            yield _move(setup, "sitter", person.name, family="body", toward=toward, person=index)
    ways: tuple[Toward, ...] = (*_SIDES, "camera", "away")
    for toward in ways:
        yield _move(setup, "sitter", person.name, family="stool", toward=toward, person=index)


def camera_moves(setup: Setup) -> Iterator[SingleMove]:
    """Yield the ways to move the camera."""
    ways: list[tuple[Family, Toward]] = [("height", "up"), ("height", "down")]
    ways += [("swing", side) for side in _SIDES] + [("back", "away")]
    for family, toward in ways:
        yield _move(setup, "camera", "camera", family=family, toward=toward)


def _move(
    setup: Setup, what: What, name: str, *, family: Family, toward: Toward, person: int = -1
) -> SingleMove:
    unit: Unit = "once" if family == "bounce" else "m"
    if family in ("swing", "feather", "head", "body"):
        unit = "deg"
    step = {"m": MARK_STEP_M[setup.units], "deg": STEP_DEG, "once": 1.0}[unit]
    return SingleMove(
        what=what,
        name=name,
        family=family,
        toward=toward,
        unit=unit,
        step=step,
        most=int(FARTHEST[what, family] / step + 1e-6),
        person=person,
    )


def _with_person(setup: Setup, index: int, person: Sitter) -> Setup:
    if index == 0:
        return changed(setup, {"sitter": person})
    companions = list(setup.companions)
    companions[index - 1] = person  # type: ignore[call-overload]
    return changed(setup, {"companions": tuple(companions)})


def _feathered(light: Light, setup: Setup, toward: Toward, amount: float) -> Place:
    """Return what a light points at after it is turned in place, as far off as before."""
    (x, y, z), (to_x, to_y, to_z) = light.place.position_m, aim_point_m(light, setup=setup)
    along, up = hypot(to_x - x, to_y - y), to_z - z
    reach = hypot(along, up)
    way, tilt = atan2(to_x - x, to_y - y), atan2(up, along)
    by = radians(amount)
    if toward in _SIDES:
        # A light in front points away from the camera: to camera-left is then clockwise
        # from above, the other way around than for one behind the sitter.
        ahead = 1.0 if cos(way) < 0 else -1.0
        way += (-by if toward == "camera-left" else by) * ahead
    else:
        tilt = min(max(tilt + (by if toward == "up" else -by), -pi / 2), pi / 2)
    end_x, end_y = x + reach * cos(tilt) * sin(way), y + reach * cos(tilt) * cos(way)
    height = min(max(z + reach * sin(tilt), 0.0), setup.room.height_m)
    return Place(
        distance_m=fine_m(hypot(end_x, end_y), system=setup.units),
        side_deg=round(degrees(atan2(end_x, end_y)), _MILLIDEGREE),
        height_m=fine_m(height, system=setup.units),
    )
