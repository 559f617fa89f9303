"""A rig put up as a setup: taped places, a backdrop, and powers as they are dialled."""

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.planning.plans.candidates import Layout, tape
from tapemark.planning.plans.gear import Kit
from tapemark.studio import Backdrop, Brief, Camera, Light, Panel, Place, Setup, Sitter, changed


def setup_of(
    layout: Layout, *, brief: Brief, camera: Camera, powers_stops: FloatArray, title: str = ""
) -> Setup:
    """Return a layout as a setup.

    Parameters
    ----------
    layout : Layout
        Where things stand.
    brief : Brief
        Room, people and surroundings.
    camera : Camera
        The camera.
    powers_stops : (lights,) array
        Power of each light, counted from full. [stops]
    title : str
        Heading of the setup.
    """
    rig = layout.rig
    return Setup(
        title=title or brief.title,
        units=brief.units,
        room=brief.room,
        sitter=turned(brief.sitter, rig.turn_deg),
        companions=brief.companions,
        camera=camera,
        lights=tuple(
            _light(
                name,
                rig.kits[number],
                place=taped(layout.centers[number], brief=brief),
                aim=_aim(layout, number, brief=brief),
                power_stops=float(powers_stops[number]),
            )
            for number, name in enumerate(rig.names)
        ),
        panels=_panels(layout, brief),
        windows=brief.windows,
        screens=brief.screens,
        backdrop=backdrop_of(brief, layout.gap_m),
        circuits=brief.circuits,
        walkways=brief.walkways,
    )


def _aim(layout: Layout, number: int, *, brief: Brief) -> str | Place:
    """Return what a light points at: key and fill the face, all else a place."""
    if number <= layout.rig.fill and layout.rig.pattern != "bounce":
        return "face"
    return taped(layout.targets[number], brief=brief)


def turned(sitter: Sitter, turn_deg: float) -> Sitter:
    """Return the sitter with the face turned, as far as that was not stated."""
    if sitter.turn_deg == turn_deg:
        return sitter
    return changed(sitter, {"turn_deg": turn_deg})


def taped(point: FloatArray, *, brief: Brief) -> Place:
    """Return a point of the room as it is taped: distance, side to the degree, and height."""
    x, y, z = point
    return Place(
        distance_m=tape(float(np.hypot(x, y)), brief=brief),
        side_deg=float(round(np.rad2deg(np.arctan2(x, y)))) + 0.0,
        height_m=tape(float(z), brief=brief),
    )


def backdrop_of(brief: Brief, gap_m: float | None) -> Backdrop | None:
    """Return the backdrop as it hangs; None where the brief lists none."""
    gear = brief.backdrop
    if gear is None or gap_m is None:
        return None
    wish = {} if brief.background == "any" else {"look": brief.background}
    return Backdrop(
        distance_m=min(tape(gap_m, brief=brief), brief.room.behind_sitter_m),
        width_m=gear.width_m,
        height_m=gear.height_m,
        reflectance=gear.reflectance,
        **wish,
    )


def _light(name: str, kit: Kit, *, place: Place, aim: str | Place, power_stops: float) -> Light:
    values: dict[str, object] = {
        "name": name,
        "head": kit.head.head,
        "modifier": kit.modifier.modifier,
        "place": place,
        "aim": aim,
        "power_stops": power_stops,
    }
    if kit.head.meter is not None:
        values["meter"] = kit.head.meter
    if kit.stand is not None:
        values["stand"] = kit.stand.stand
    return Light.model_validate(values)


def _panels(layout: Layout, brief: Brief) -> tuple[Panel, ...]:
    gear = layout.rig.panel
    if layout.panel is None or gear is None:
        return ()
    panel = Panel(
        name=gear.name,
        width_m=gear.width_m,
        height_m=gear.height_m,
        place=taped(layout.panel, brief=brief),
        reflectance=gear.reflectance,
    )
    return (panel,)
