"""A check report as plain data, ready for JSON."""

from tapemark.analysis import (
    Catchlight,
    Exposure,
    FrameReport,
    LensGlare,
    LightReading,
    PersonReport,
    PowerAdvice,
    Spread,
    power_advice,
)
from tapemark.services.check import CheckReport
from tapemark.services.plain import Plain, as_plain, rounded


def report_as_plain(report: CheckReport) -> Plain:
    """Return a check report as dictionaries, lists, numbers and text.

    Returns
    -------
    dict
        ``title`` and ``verdict``; for the sitter ``eyes`` (``left`` and ``right``, the sitter's
        own), ``exposure``, ``color`` and ``modelling``; the same for everybody under ``people``;
        ``background``, ``framing`` and ``safety``; ``findings`` and ``assumptions``. Shares are
        0 to 1; None stands for what has no value.
    """
    setup = report.scene.setup
    people = [_person(one) for one in report.people]
    return {
        "title": setup.title,
        "verdict": report.verdict,
        **{key: people[0][key] for key in ("eyes", "exposure", "color", "modelling")},
        "people": people,
        "background": _background(report.frame),
        "framing": _framing(report.frame),
        "safety": as_plain(report.safety),
        "findings": [as_plain(one) for one in report.findings],
        "assumptions": list(setup.assumptions),
    }


def _person(person: PersonReport) -> Plain:
    return {
        "name": person.scene.sitter.name,
        "verdict": person.verdict,
        "eyes": {side: _eye(person, side) for side in ("left", "right")},
        "exposure": _exposure(person),
        "color": as_plain(person.color),
        "modelling": as_plain(person.modelling),
    }


def _background(frame: FrameReport) -> Plain | None:
    if frame.background is None:
        return None
    return {
        **as_plain(frame.background),
        "spills": as_plain(frame.spills),
        "glows": as_plain(frame.glows),
    }


def _framing(frame: FrameReport) -> Plain:
    return {
        **as_plain(frame.framing),
        "sharpness": as_plain(frame.sharpness),
        "clearances": as_plain(frame.clearances),
        "flares": as_plain(frame.flares),
    }


def _eye(report: PersonReport, side: str) -> Plain:
    lens = next((one for one in report.lenses if one.side == side), None)
    sight = next(one for one in report.sights if one.side == side)
    return {
        **_lens(lens),
        "catchlights": [_catchlight(one) for one in report.catchlights if one.side == side],
        "rim_share": rounded(sight.rim_share),
        "hidden_by_head_share": rounded(sight.head_share),
        "if_guessed_otherwise": [
            {"what": one.what, "verdict": verdict, "veil": rounded(veil)}
            for one in report.outcomes
            for own, verdict, veil in ((k, v, one.veils[k]) for k, v in one.verdicts.items())
            if own == side
        ],
    }


def _lens(lens: LensGlare | None) -> Plain:
    if lens is None:
        return {"verdict": "clear", "veil": 0.0, "lens_cover": 0.0, "reflections": []}
    return {
        "verdict": lens.verdict,
        "veil": rounded(lens.veil),
        "lens_cover": rounded(lens.lens_cover),
        "reflections": [
            {
                "source": one.source,
                "surface": one.surface,
                "lens_cover": rounded(one.lens_cover),
                "veil": rounded(one.veil),
                "stops_over_skin": rounded(one.stops_over_skin, 1),
            }
            for one in lens.reflections
        ],
    }


def _catchlight(one: Catchlight) -> Plain:
    return {
        "source": one.source,
        "clock": rounded(one.clock, 1) or 12.0,
        "visible": one.visible,
        "hidden_by": one.hidden_by or None,
        "offset_mm": [rounded(part, 2) for part in one.offset_mm],
        "size_mm": [rounded(one.width_mm, 2), rounded(one.height_mm, 2)],
    }


def _exposure(report: PersonReport) -> Plain:
    reading = report.exposure
    ratio = reading.ratio
    return {
        "aperture": rounded(reading.aperture, 2),
        "stops_over_camera": rounded(reading.stops_over, 1),
        "ratio": None
        if ratio is None
        else {
            "convention": "(key + fill) : fill",
            "value": rounded(ratio.highlight_to_shadow, 2),
            "key_over_fill_stops": rounded(ratio.key_over_fill_stops, 1),
            "key": ratio.key,
            "fill": ratio.fill,
        },
        "receptor": {"aperture": "dome to the camera", "flat_aperture": "flat to the light"},
        "flat_aperture": rounded(reading.flat_aperture, 2),
        "spread_stops": _spread(reading.spread),
        "ambient": _ambient(reading),
        "room_estimate": {
            "aperture_with_it": rounded(reading.aperture_with_room, 2),
            "share": rounded(reading.room.exposure_lx_s / reading.exposure_lx_s, 3)
            if reading.exposure_lx_s > 0
            else None,
            "reflectance": rounded(reading.room.reflectance, 2),
        },
        "lights": [_light(one) for one in reading.lights],
        "powers": [_power(one) for one in power_advice(report.scene, reading)],
    }


def _light(one: LightReading) -> Plain:
    return {
        "name": one.name,
        "aperture": rounded(one.aperture, 2),
        "power_stops": rounded(one.power_stops, 2),
        "dial": one.dial,
        "flat_aperture": rounded(one.flat_aperture, 2),
        "steady_share": rounded(one.steady_share, 3),
        "illuminance_lx": rounded(one.illuminance_lx, 1),
        "known_by": one.known_by,
        "spread_stops": _spread(one.spread),
    }


def _power(one: PowerAdvice) -> Plain:
    return {
        "name": one.name,
        "wanted_stops": rounded(one.wanted_stops, 2),
        "dial": one.dial,
        "beyond_stops": rounded(one.beyond_stops, 2),
        "distance_m": rounded(one.distance_m, 2),
        "iso": one.iso,
        "aperture": rounded(one.aperture, 2),
    }


def _ambient(reading: Exposure) -> Plain:
    steady = reading.ambient
    return {
        "illuminance_lx": rounded(steady.illuminance_lx, 1),
        "share": rounded(steady.share, 4),
        "stops_under_flash": rounded(steady.stops_under_flash, 1),
        "stops_under_setting": rounded(steady.stops_under_setting, 1),
        "sources": list(steady.sources),
        "shutter_s": rounded(steady.shutter_s, 6),
    }


def _spread(spread: Spread) -> list[float | None]:
    return [rounded(spread.low_stops, 2), rounded(spread.high_stops, 2)]
