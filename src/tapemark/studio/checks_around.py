"""Checks of a backdrop, of windows and of circuits against the rest: what cannot be."""

from __future__ import annotations

from collections.abc import Iterator

from tapemark.errors import Problem
from tapemark.studio.as_typed import AsTyped
from tapemark.studio.presets import nearest
from tapemark.studio.surroundings import Window
from tapemark.units import as_typed

__all__ = ["surroundings_problems", "wiring_problems"]

NEAREST_BACKDROP_M = 0.2  # [m] behind the eyes; a head is about that long
WORTH_SAYING_M = 0.001  # [m] sizes that touch, to the millimetre, fit


def surroundings_problems(typed: AsTyped) -> list[Problem]:
    """Return what cannot be about the backdrop and the windows of a setup.

    Parameters
    ----------
    typed : AsTyped
        The setup, with what was typed.
    """
    problems = [*_backdrop_problems(typed)]
    for index, window in enumerate(typed.setup.windows):
        problems += [*_window_problems(typed, window, index)]
    return problems


def wiring_problems(typed: AsTyped) -> list[Problem]:
    """Return what cannot be about the circuits that the lights of a setup draw from.

    Parameters
    ----------
    typed : AsTyped
        The setup, with what was typed.
    """
    names = [circuit.name for circuit in typed.setup.circuits]
    listed = ", ".join(as_typed(name) for name in names)
    problems = [
        Problem(
            key=typed.key("circuit", index, "name"),
            given=as_typed(name),
            allowed="a name of its own for each circuit",
            advice="give one of them another name",
        )
        for index, name in enumerate(names)
        if name in names[:index]
    ]
    for index, light in enumerate(typed.setup.lights):
        if light.circuit is not None and light.circuit not in names:
            close = nearest(light.circuit, names)
            problems.append(
                Problem(
                    key=typed.key("light", index, "circuit"),
                    given=as_typed(light.circuit),
                    allowed=listed or "the name of a [[circuit]]; there is none",
                    advice=f'did you mean "{close}"?'
                    if close
                    else f"add a [[circuit]] with name = {as_typed(light.circuit)}",
                )
            )
    return problems


def _backdrop_problems(typed: AsTyped) -> Iterator[Problem]:
    backdrop, room = typed.setup.backdrop, typed.setup.room
    if backdrop is None:
        return
    if not NEAREST_BACKDROP_M <= backdrop.distance_m <= room.behind_sitter_m:
        yield Problem(
            key="backdrop.distance",
            given=f"{typed.length(backdrop.distance_m, 'backdrop', 'distance')}, "
            f"with {typed.keyed(room.behind_sitter_m, 'room', 'behind_sitter')}",
            allowed=f"{typed.length(NEAREST_BACKDROP_M)} to "
            f"{typed.length(room.behind_sitter_m)} behind the sitter",
            advice="hang it between the sitter and the wall behind",
        )
    if backdrop.height_m > room.height_m + WORTH_SAYING_M:
        yield Problem(
            key="backdrop.height",
            given=f"{typed.length(backdrop.height_m, 'backdrop', 'height')}, "
            f"with {typed.keyed(room.height_m, 'room', 'height')}",
            allowed=f"at most {typed.length(room.height_m)}",
            advice="give the height that hangs, not the length of the roll",
        )
    free_m = 2 * min(room.x_max_m, -room.x_min_m)
    if 0 < free_m < backdrop.width_m - WORTH_SAYING_M:
        yield Problem(
            key="backdrop.width",
            given=f"{typed.length(backdrop.width_m, 'backdrop', 'width')}, "
            f"with {typed.keyed(room.width_m, 'room', 'width')} "
            f"and {typed.keyed(room.camera_left_m, 'room', 'camera_left')}",
            allowed=f"at most {typed.length(free_m)}, for its middle hangs behind the sitter",
            advice="give the width that fits, or move the sitter to the middle of the room",
        )


def _window_problems(typed: AsTyped, window: Window, index: int) -> Iterator[Problem]:
    room = typed.setup.room
    if window.sill_m + window.height_m > room.height_m + WORTH_SAYING_M:
        yield Problem(
            key=typed.key("window", index, "height"),
            given=f"{typed.length(window.height_m, 'window', index, 'height')} above sill "
            f"{typed.length(window.sill_m, 'window', index, 'sill')}, "
            f"with {typed.keyed(room.height_m, 'room', 'height')}",
            allowed=f"at most {typed.length(max(room.height_m - window.sill_m, 0.0))} there",
            advice="check the sill and the height of the glass",
        )
    if window.wall in ("behind sitter", "behind camera"):
        low_m, high_m, wall_key, wall_m = room.x_min_m, room.x_max_m, "width", room.width_m
    else:
        low_m, high_m, wall_key, wall_m = room.y_min_m, room.y_max_m, "length", room.length_m
    ends_m = (window.along_m - window.width_m / 2, window.along_m + window.width_m / 2)
    if ends_m[0] < low_m - WORTH_SAYING_M or ends_m[1] > high_m + WORTH_SAYING_M:
        yield Problem(
            key=typed.key("window", index, "along"),
            given=f"{typed.length(window.along_m, 'window', index, 'along')} with width "
            f"{typed.length(window.width_m, 'window', index, 'width')} in the wall "
            f'"{window.wall}", with {typed.keyed(wall_m, "room", wall_key)}',
            allowed=f"both edges between {typed.length(low_m)} and {typed.length(high_m)} "
            "along that wall",
            advice="count along from level with the sitter to the middle of the window",
        )
