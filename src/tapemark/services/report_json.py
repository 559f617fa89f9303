"""A check report as plain data, ready for JSON."""

import math
from typing import Any

from tapemark.analysis import Catchlight, Finding, LensGlare
from tapemark.services.check import CheckReport

Plain = dict[str, Any]


def report_as_plain(report: CheckReport) -> Plain:
    """Return a check report as dictionaries, lists, numbers and text.

    Returns
    -------
    dict
        ``title``, ``verdict``, ``eyes`` (``left`` and ``right``, the sitter's
        own), ``exposure``, ``findings`` and ``assumptions``. Shares are 0 to
        1; None stands for what has no value.
    """
    setup = report.scene.setup
    return {
        "title": setup.title,
        "verdict": report.verdict,
        "eyes": {side: _eye(report, side) for side in ("left", "right")},
        "exposure": _exposure(report),
        "findings": [_finding(one) for one in report.findings],
        "assumptions": list(setup.assumptions),
    }


def _eye(report: CheckReport, side: str) -> Plain:
    lens = next((one for one in report.lenses if one.side == side), None)
    sight = next(one for one in report.sights if one.side == side)
    return {
        **_lens(lens),
        "catchlights": [_catchlight(one) for one in report.catchlights if one.side == side],
        "rim_share": _rounded(sight.rim_share),
        "hidden_by_head_share": _rounded(sight.head_share),
        "if_guessed_otherwise": [
            {"what": one.what, "verdict": verdict, "veil": _rounded(veil)}
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
        "veil": _rounded(lens.veil),
        "lens_cover": _rounded(lens.lens_cover),
        "reflections": [
            {
                "source": one.source,
                "surface": one.surface,
                "lens_cover": _rounded(one.lens_cover),
                "veil": _rounded(one.veil),
                "stops_over_skin": _rounded(one.stops_over_skin, 1),
            }
            for one in lens.reflections
        ],
    }


def _catchlight(one: Catchlight) -> Plain:
    return {
        "source": one.source,
        "clock": _rounded(one.clock, 1) or 12.0,
        "visible": one.visible,
        "hidden_by": one.hidden_by or None,
        "offset_mm": [_rounded(part, 2) for part in one.offset_mm],
        "size_mm": [_rounded(one.width_mm, 2), _rounded(one.height_mm, 2)],
    }


def _exposure(report: CheckReport) -> Plain:
    reading = report.exposure
    ratio = reading.ratio
    return {
        "aperture": _rounded(reading.aperture, 2),
        "stops_over_camera": _rounded(reading.stops_over, 1),
        "ratio": None
        if ratio is None
        else {
            "convention": "(key + fill) : fill",
            "value": _rounded(ratio.highlight_to_shadow, 2),
            "key_over_fill_stops": _rounded(ratio.key_over_fill_stops, 1),
            "key": ratio.key,
            "fill": ratio.fill,
        },
        "lights": [
            {
                "name": one.name,
                "aperture": _rounded(one.aperture, 2),
                "power_stops": _rounded(one.power_stops, 2),
            }
            for one in reading.lights
        ],
    }


def _finding(one: Finding) -> Plain:
    return {
        "code": one.code,
        "severity": one.severity,
        "text": one.text,
        "what_to_do": one.what_to_do,
    }


def _rounded(value: float | None, digits: int = 4) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    return round(value, digits) + 0.0
