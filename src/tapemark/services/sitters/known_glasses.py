"""What is known of somebody's glasses: each number, how far it may be off, where it is from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tapemark.anatomy.lens import predicted_base_curve_d
from tapemark.studio import Glasses, Prescription, Sitter
from tapemark.units import number_text


@dataclass(frozen=True, kw_only=True, slots=True)
class KnownValue:
    """One thing that is known of glasses.

    Attributes
    ----------
    name, value : str
        What, and how much.
    spread : str
        How far it may be off; empty where it was stated.
    source : str
        Where it is from.
    """

    name: str
    value: str
    spread: str
    source: str


def known_glasses(sitter: Sitter) -> tuple[KnownValue, ...]:
    """Return what is known and assumed of a sitter's glasses; empty without glasses."""
    return () if sitter.glasses is None else tuple(_values(sitter.glasses))


def _values(glasses: Glasses) -> Iterator[KnownValue]:
    stated = glasses.model_fields_set

    def source(*fields: str) -> str:
        if all(one in stated for one in fields):
            return "as you wrote"
        if glasses.preset is not None:
            return f"assumed for {glasses.preset}"
        return "assumed"

    size = (glasses.lens_width_mm, glasses.lens_height_mm, glasses.bridge_mm)
    wide, high, bridge = (number_text(one) for one in size)
    sizes = ("lens_width_mm", "lens_height_mm", "bridge_mm")
    yield _value("Size", f"{wide} × {high} mm, bridge {bridge} mm", source(*sizes), spread="±3 mm")
    yield _prescription(glasses)
    yield _base_curve(glasses)
    tilt, wrap = glasses.pantoscopic_tilt_deg, glasses.face_form_deg
    yield _value("Tilt", f"{tilt:g}°", source("pantoscopic_tilt_deg"), spread="usually 5° to 15°")
    yield _value("Face form", f"{wrap:g}°", source("face_form_deg"), spread="±3°")
    yield _value(
        "Distance from the eye",
        f"{glasses.vertex_distance_mm:g} mm",
        source("vertex_distance_mm"),
        spread="8 to 15 mm",
    )
    yield _value(
        "Coating",
        glasses.coating,
        source("coating"),
        spread="look for a green or violet sheen",
    )


def _value(name: str, value: str, source: str, *, spread: str) -> KnownValue:
    said = source == "as you wrote"
    return KnownValue(name=name, value=value, spread="" if said else spread, source=source)


def _prescription(glasses: Glasses) -> KnownValue:
    right, left = glasses.assumed_right, glasses.assumed_left
    value = f"right {_power(right)}, left {_power(left)}"
    if not glasses.prescription_guessed:
        return KnownValue(name="Power", value=value, spread="", source="as you wrote")
    looked = glasses.look_through is not None or glasses.edge is not None
    source = "from a glance at the lens" if looked else "assumed"
    if glasses.right is not None and glasses.preset is not None:
        source = f"assumed for {glasses.preset}"
    return KnownValue(
        name="Power",
        value=value,
        spread=f"±{glasses.prescription_spread_d:g} D",
        source=source,
    )


def _power(one: Prescription) -> str:
    text = f"{one.sphere_d:+.2f} D"
    return text if not one.cylinder_d else f"{text} with {one.cylinder_d:+.2f} D cylinder"


def _base_curve(glasses: Glasses) -> KnownValue:
    curve = predicted_base_curve_d(glasses, prescription=glasses.assumed_right)
    if "base_curve" not in glasses.guessed:
        return KnownValue(
            name="Base curve", value=f"{curve:.1f} D", spread="", source="as you wrote"
        )
    return KnownValue(
        name="Base curve", value=f"{curve:.1f} D", spread="±1 D", source="from the power"
    )
