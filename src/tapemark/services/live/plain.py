"""A live view as plain data for a page: short, and told in the person's own units."""

from typing import TYPE_CHECKING, Any

from tapemark.analysis import Catchlight, LensGlare, aperture_text
from tapemark.analysis.catchlights import clock_text
from tapemark.services.editing.limits import height_limits
from tapemark.services.editing.moves import beam_turn_deg
from tapemark.services.live.seen import PersonSeen
from tapemark.services.plain import Plain, as_plain, rounded
from tapemark.studio import Camera, Light, Place, Setup, Sitter, aim_point_m
from tapemark.units import format_length, format_side, write_aperture, write_shutter_s

if TYPE_CHECKING:
    from tapemark.services.live.view import LiveView

BODY_SHARE = 0.5  # of the head's turn, by which the body follows


def view_as_plain(view: "LiveView") -> Plain:
    """Return a live view as plain data."""
    setup, main = view.setup, view.people[0]
    plain: Plain = {
        "title": setup.title,
        "units": setup.units,
        "verdict": view.verdict,
        "people": [_person(one, main=one is main) for one in view.people],
        "exact": view.report is not None,
    }
    if "numbers" in view.wants:
        plain["lights"] = [_light(one, view) for one in setup.lights]
        plain["camera"] = _camera(setup.camera, setup)
        plain["sitter"] = _sitter(setup.sitter, setup)
        plain["companions"] = [_sitter(one, setup) for one in setup.companions]
        plain["others"] = _others(setup)
        plain["room"] = _room(setup)
        plain["exposure"] = _exposure(main)
        plain["pattern"] = main.pattern
    if view.report is not None and "findings" in view.wants:
        plain["findings"] = [as_plain(one) for one in view.report.findings]
        plain["assumptions"] = list(setup.assumptions)
    return plain


def _person(one: PersonSeen, *, main: bool) -> Plain:
    return {
        "name": one.scene.sitter.name,
        "main": main,
        "glasses": one.scene.sitter.glasses is not None,
        "verdict": one.verdict,
        "pattern": one.pattern,
        "eyes": {side: _eye(one, side) for side in ("right", "left")},
    }


def _eye(one: PersonSeen, side: str) -> Plain:
    lens: LensGlare | None = next((part for part in one.lenses if part.side == side), None)
    return {
        "verdict": "clear" if lens is None else lens.verdict,
        "veil": 0.0 if lens is None else rounded(lens.veil),
        "lens_cover": 0.0 if lens is None else rounded(lens.lens_cover),
        "catchlights": [_catchlight(part) for part in one.catchlights if part.side == side],
        "reflections": []
        if lens is None
        else [
            {
                "source": part.source,
                "surface": part.surface,
                "lens_cover": rounded(part.lens_cover),
                "veil": rounded(part.veil),
                "stops_over_skin": rounded(part.stops_over_skin, 1),
            }
            for part in lens.reflections
        ],
    }


def _catchlight(one: Catchlight) -> Plain:
    return {
        "source": one.source,
        "clock": clock_text(one.clock),
        "visible": one.visible,
        "hidden_by": one.hidden_by or None,
    }


def _light(light: Light, view: "LiveView") -> Plain:
    setup = view.setup
    x, y, z = light.place.position_m
    aim = aim_point_m(light, setup=setup)
    limits = height_limits(light, setup)
    reading = next((one for one in view.people[0].exposure.lights if one.name == light.name), None)
    shown = {part.source for one in view.people for lens in one.lenses for part in lens.reflections}
    veiling = {
        part.source
        for one in view.people
        for lens in one.lenses
        if lens.verdict == "veiled"
        for part in lens.reflections
        if part.veil > 0.0
    }
    return {
        "name": light.name,
        "thing": f"light.{light.name}",
        "on": light.on,
        "x": rounded(x, 3),
        "y": rounded(y, 3),
        "z": rounded(z, 3),
        "aim": light.aim if not isinstance(light.aim, Place) else "place",
        "aim_x": rounded(aim[0], 3),
        "aim_y": rounded(aim[1], 3),
        "aim_z": rounded(aim[2], 3),
        "beam_turn_deg": rounded(beam_turn_deg(light, setup), 1),
        "reading": None
        if reading is None or reading.aperture is None
        else aperture_text(reading.aperture),
        "power": None if reading is None else reading.dial,
        "power_stops": rounded(light.power_stops, 2),
        **_place_words(light.place, setup),
        "shown": light.name in shown,
        "veils": light.name in veiling,
        "lowest_m": limits.lowest_m,
        "highest_m": limits.highest_m if limits.stated else limits.ceiling_m,
        "stand_m": limits.stand_m,
    }


def _place_words(place: Place, setup: Setup) -> Plain:
    return {
        "height": format_length(place.height_m, system=setup.units),
        "distance": format_length(place.distance_m, system=setup.units),
        "side": format_side(place.side_deg),
    }


def _camera(camera: Camera, setup: Setup) -> Plain:
    x, y, z = camera.place.position_m
    aim = aim_point_m(camera, setup=setup)
    return {
        "thing": "camera",
        "x": rounded(x, 3),
        "y": rounded(y, 3),
        "z": rounded(z, 3),
        "aim_x": rounded(aim[0], 3),
        "aim_y": rounded(aim[1], 3),
        "aim_z": rounded(aim[2], 3),
        "focal": f"{camera.focal_length_mm:g} mm",
        "aperture": write_aperture(camera.aperture),
        "shutter": write_shutter_s(camera.shutter_s),
        "iso": camera.iso,
        "orientation": camera.orientation,
        **_place_words(camera.place, setup),
    }


def _sitter(sitter: Sitter, setup: Setup) -> Plain:
    main = sitter is setup.sitter
    x, y = sitter.mark_m
    return {
        "thing": "sitter" if main else f"companion.{sitter.name}",
        "name": sitter.name,
        "x": rounded(x, 3),
        "y": rounded(y, 3),
        "z": rounded(sitter.eye_height_m, 3),
        "eye_height": format_length(sitter.eye_height_m, system=setup.units),
        "head_turn_deg": rounded(sitter.turn_deg, 1),
        "body_turn_deg": rounded(BODY_SHARE * sitter.turn_deg, 1),
        "chin_deg": rounded(sitter.chin_deg, 1),
        "tip_deg": rounded(sitter.tip_deg, 1),
        "posture": sitter.posture,
    }


def _others(setup: Setup) -> list[Plain]:
    """Return panels, screens, windows and the backdrop, each with its place."""
    found: list[Plain] = []
    for kind, things in (("panel", setup.panels), ("screen", setup.screens)):
        for one in things:
            x, y, z = one.place.position_m
            found.append(
                {
                    "thing": f"{kind}.{one.name}",
                    "name": one.name,
                    "x": rounded(x, 3),
                    "y": rounded(y, 3),
                    "z": rounded(z, 3),
                    **_place_words(one.place, setup),
                }
            )
    room = setup.room
    for window in setup.windows:
        at: dict[str, tuple[float, float]] = {
            "behind sitter": (window.along_m, room.y_min_m),
            "behind camera": (window.along_m, room.y_max_m),
            "camera-left": (room.x_max_m, window.along_m),
            "camera-right": (room.x_min_m, window.along_m),
        }
        x, y = at[window.wall]
        z = window.sill_m + window.height_m / 2
        found.append(
            {"thing": f"window.{window.name}", "name": window.name}
            | {key: rounded(value, 3) for key, value in zip("xyz", (x, y, z), strict=True)}
        )
    if setup.backdrop is not None:
        behind = rounded(-setup.backdrop.distance_m, 3)
        high = rounded(setup.backdrop.height_m, 3)
        distance = format_length(setup.backdrop.distance_m, system=setup.units)
        place = {"x": 0.0, "y": behind, "z": high, "distance": distance}
        found.append({"thing": "backdrop", "name": "backdrop", **place})
    return found


def _room(setup: Setup) -> dict[str, Any]:
    """Return the walls and the ceiling, world frame [m]."""
    room = setup.room
    ends = {
        "x_min": room.x_min_m,
        "x_max": room.x_max_m,
        "y_min": room.y_min_m,
        "y_max": room.y_max_m,
        "height": room.height_m,
    }
    return {key: rounded(value, 3) for key, value in ends.items()}


def _exposure(main: PersonSeen) -> Plain:
    reading, ratio = main.exposure, main.ratio
    return {
        "together": None if reading.aperture is None else aperture_text(reading.aperture),
        "wanted": write_aperture(main.scene.setup.camera.aperture),
        "stops": rounded(reading.stops_over, 1),
        "ratio": None
        if ratio is None
        else {
            "text": ratio.text,
            "convention": ratio.convention,
            "stops": rounded(ratio.stops, 1),
            "fill": ratio.fill,
        },
    }
