"""What is changed from one sitter to the next, thing by thing, in words for an assistant."""

from dataclasses import dataclass

from tapemark.planning.run_orders.controls import SAME, Control, ControlKind
from tapemark.studio import Setup
from tapemark.units import INCH, UnitSystem, dialled_power, format_length, format_side


@dataclass(frozen=True, kw_only=True, slots=True)
class Change:
    """One thing set anew.

    Attributes
    ----------
    kind : str
        ``stool``, ``camera``, ``height``, ``side`` or ``power`` of a light, ``panel``.
    name : str
        What is set.
    amount : float
        By how much: metres up, degrees to camera-left, stops up; 1 for a stool brought in, -1
        for one taken away.
    to : float
        What it is set to.
    text : str
        As one reads it aloud: ``key up 9 cm``.
    to_text : str
        What it then stands at: ``2.19 m``; empty for a stool.
    """

    kind: ControlKind
    name: str
    amount: float
    to: float
    text: str
    to_text: str


def changes_between(
    before: tuple[float, ...],
    after: tuple[float, ...],
    *,
    controls: tuple[Control, ...],
    setup: Setup,
) -> tuple[Change, ...]:
    """Return what is set anew between two settings, in the order in which one does it.

    Parameters
    ----------
    before, after : tuple of float
        In the order of the controls.
    controls : tuple of Control
        What is set.
    setup : Setup
        For units, and for the steps of the heads.
    """
    steps = {light.name: light.head.power_step_stops for light in setup.lights}
    return tuple(
        _change(one, now, then, system=setup.units, step=steps.get(one.name, 0.1))
        for one, now, then in zip(controls, before, after, strict=True)
        if abs(then - now) > SAME
    )


def changes_text(changes: tuple[Change, ...]) -> str:
    """Return a list of changes in a line: ``camera up 6 cm (to 1.26 m), key up 9 cm (...)``."""
    return ", ".join(
        f"{one.text} (to {one.to_text})" if one.to_text else one.text for one in changes
    )


def _change(
    control: Control, before: float, after: float, *, system: UnitSystem, step: float
) -> Change:
    more, name = after - before, control.name
    if control.kind == "stool":
        text, to_text = ("stool in" if more > 0 else "stool out"), ""
    elif control.kind == "side":
        way = "left" if more > 0 else "right"
        text, to_text = f"{name} {abs(more):.0f}\N{DEGREE SIGN} to camera-{way}", format_side(after)
    elif control.kind == "power":
        way = "up" if more > 0 else "down"
        text = f"{name} power {way} {abs(more):.1f}"
        to_text = dialled_power(after, step_stops=step)
    else:
        way = "up" if more > 0 else "down"
        text = f"{name} {way} {_short(abs(more), system=system)}"
        to_text = format_length(after, system=system)
    return Change(kind=control.kind, name=name, amount=more, to=after, text=text, to_text=to_text)


def _short(length_m: float, *, system: UnitSystem) -> str:
    """Return a length of less than a few metres as an assistant hears it."""
    if system == "us":
        return f"{max(round(length_m / INCH), 1)} in"
    return f"{max(round(100 * length_m), 1)} cm"
