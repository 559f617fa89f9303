"""What is wrong with the exposure, and how is it put right?"""

from tapemark.analysis.ambient import UNSEEN_STOPS
from tapemark.analysis.exposure import Exposure
from tapemark.analysis.finding import Finding, Severity, aperture_text, percent, stops_text
from tapemark.analysis.head_output import HIGH_SPEED_SYNC_STOPS, flash_loss_stops
from tapemark.analysis.power_advice import PowerAdvice, power_advice, power_change_stops
from tapemark.analysis.scene import Scene
from tapemark.photometry import nominal_shutter_s, stops_between
from tapemark.studio import Camera, Setup
from tapemark.units import UnitSystem, dialled_power, format_length, write_shutter_s

#: An exposure is called off where it is so far off, and farther than it is known. [stops]
LEAST_OFF_STOPS = 0.35  # a third of a stop and a little
MOST_OFF_STOPS = 1.0
#: Steady light with more than this share of the picture is worth a note: 4 stops under. [-]
SEEN_SHARE = 0.06
#: Shutters shorter than this are beyond the sync limit of nearly every focal-plane shutter, the
#: fastest being 1/180 to 1/250 s. [s], [sync-limit]
SURELY_TOO_SHORT_S = 1 / 260

MOSTLY_STEADY = 0.9  # share of the light: flash then hardly counts
STILL_FOR_S = 1 / 30  # a sitter holds still for so long (common practice, no published source)
WIDEST_APERTURE = 1.4  # of usual portrait lenses


def exposure_findings(scene: Scene, exposure: Exposure) -> list[Finding]:
    """Return findings about the light that reaches one face."""
    if exposure.aperture is None or exposure.stops_over is None:
        return [
            _finding(
                "no-light-on-face",
                "trouble",
                "No light reaches the face.",
                "Switch a light on, or aim one at the face.",
            )
        ]
    found = _off_findings(scene, exposure, exposure.stops_over)
    return found + _ambient_findings(scene, exposure)


def setting_findings(setup: Setup) -> list[Finding]:
    """Return findings about what is set on camera and heads, whoever is in the frame."""
    return _sync_findings(setup) + _dial_findings(setup) + _grid_findings(setup)


def _off_findings(scene: Scene, exposure: Exposure, over: float) -> list[Finding]:
    """Return whether the reading is off the camera's setting, and what cannot be set."""
    known = max(exposure.spread.high_stops, -exposure.spread.low_stops)
    if abs(over) <= min(max(known, LEAST_OFF_STOPS), MOST_OFF_STOPS):
        return []
    advice = power_advice(scene, exposure)
    way = "over" if over > 0 else "under"
    found = [
        _finding(
            "exposure-off",
            "caution",
            f"The lights meter {aperture_text(exposure.aperture or 1.0)} at the face, the camera "
            f"is set to f/{scene.setup.camera.aperture:g}: {abs(over):.1f} stops {way}exposed "
            f"({exposure.spread.text()}).",
            _how_to_expose(scene, exposure, over, advice),
        )
    ]
    beyond = [one for one in advice if not one.reachable]
    return found + ([_reach_finding(beyond, scene.setup.units)] if beyond else [])


def _how_to_expose(
    scene: Scene, exposure: Exposure, over: float, advice: tuple[PowerAdvice, ...]
) -> str:
    """Return how to bring light and camera together."""
    up = power_change_stops(scene, exposure)
    reading = aperture_text(exposure.aperture or 1.0)
    if over < 0 and exposure.ambient.share > MOSTLY_STEADY:
        return _how_to_expose_steadily(scene, exposure, over)
    if up is None or not advice:
        if over > 0:
            return f"Set {reading}, or a shorter shutter time: the heads are not to blame."
        return f"Set {reading}, a longer shutter time or a higher ISO."
    if all(one.reachable for one in advice):
        dials = ", ".join(f"{one.name} to {one.dial}" for one in advice)
        way = f"Turn the lights {'down' if up < 0 else 'up'} by {stops_text(up)}: {dials}"
    elif up > 0:
        way = "Bring the lights nearer or raise the ISO: they cannot be turned up that far"
    else:
        way = "Move the lights back or lower the ISO: they cannot be turned down that far"
    return f"{way}, or set {reading}; then meter at the face."


def _how_to_expose_steadily(scene: Scene, exposure: Exposure, over: float) -> str:
    """Return how to give more exposure where nearly all of the light burns all the time."""
    shutter_s = scene.setup.camera.shutter_s * 2.0**-over
    ways = []
    if shutter_s <= STILL_FOR_S:
        ways.append(f"set the shutter to {write_shutter_s(nominal_shutter_s(shutter_s))}")
    if (exposure.aperture or 0.0) >= WIDEST_APERTURE:
        ways.append(f"set {aperture_text(exposure.aperture or 1.0)}")
    ways.append(f"raise the ISO by {stops_text(over)}")
    ways.append("bring the lights nearer")
    text = ", or ".join(ways)
    return f"{text[:1].upper()}{text[1:]}; then meter at the face."


def _reach_finding(beyond: list[PowerAdvice], units: UnitSystem) -> Finding:
    """Return which heads cannot give what is wanted, and what could."""
    high = beyond[0].beyond_stops > 0
    limit = "more than full power" if high else "less than its lowest power"
    parts = [f"{one.name} by {stops_text(one.beyond_stops)}" for one in beyond]
    worst = max(beyond, key=lambda one: abs(one.beyond_stops))
    moves = [
        f"{one.name} to {format_length(one.distance_m, system=units)} from the face"
        for one in beyond
        if one.distance_m is not None
    ]
    way = "bring" if high else "move"
    ways = [f"{way} {' and '.join(moves)}"] if moves else []
    ways.append(f"set ISO {worst.iso} and all heads anew")
    if not high:
        ways.append(f"put a neutral filter of {stops_text(worst.beyond_stops)} on the lens")
    text = ", or ".join(ways)
    return _finding(
        "power-out-of-reach",
        "caution",
        f"To meet the camera's aperture a head would have to give {limit}: {', '.join(parts)}.",
        f"{text[:1].upper()}{text[1:]}.",
    )


def _sync_findings(setup: Setup) -> list[Finding]:
    """Return whether the shutter is too short for flash."""
    camera = setup.camera
    flashes = [one.name for one in setup.lights if one.on and one.head.kind == "flash"]
    if not flashes or camera.shutter_s >= camera.sync_s * (1.0 - 1e-6):
        return []
    limit, now = _shutter_text(camera.sync_s), _shutter_text(camera.shutter_s)
    if camera.high_speed_sync:
        lost = flash_loss_stops(camera)
        text = f"High-speed sync at {now} costs the flashes about {stops_text(lost)}."
        return [_finding("high-speed-sync", "note", text, f"{limit} gives them back their light.")]
    stated = "sync_s" in camera.model_fields_set
    sure = stated or camera.shutter_s < SURELY_TOO_SHORT_S
    return [
        _finding(
            "sync-too-short",
            "trouble" if sure else "caution",
            f"{now} is shorter than the sync limit of {limit}"
            f"{'' if stated else ' (assumed)'}: the flash would light part of the frame only.",
            f"Set {limit} or longer; or high-speed sync if every flash has it, at a cost of "
            f"about {stops_text(HIGH_SPEED_SYNC_STOPS)} or more.",
        )
    ]


def _ambient_findings(scene: Scene, exposure: Exposure) -> list[Finding]:
    """Return whether light that burns all the time shows beside the flash."""
    steady, camera = exposure.ambient, scene.setup.camera
    if steady.stops_under_flash is None or steady.share <= SEEN_SHARE:
        return []
    under = steady.stops_under_flash
    way = "under" if under >= 0 else "over"
    text = (
        f"{', '.join(steady.sources[:3])}: steady light, {percent(steady.share)} of the exposure, "
        f"{stops_text(under)} {way} the flash at {_shutter_text(camera.shutter_s)}."
    )
    return [_finding("ambient-shows", "note", text, _how_to_hide(exposure, under, camera))]


def _how_to_hide(exposure: Exposure, under: float, camera: Camera) -> str:
    """Return how steady light beside flash, so many stops under it, is left out."""
    steady = exposure.ambient
    if flash_loss_stops(camera) > 0:
        return (
            f"If it is not wanted, go back to {_shutter_text(camera.sync_s)}: without high-speed "
            f"sync it is {under + HIGH_SPEED_SYNC_STOPS:.1f} stops under."
        )
    if steady.shutter_s is not None:
        shutter = _shutter_text(steady.shutter_s)
        return f"If it is not wanted, set {shutter} ({UNSEEN_STOPS:.0f} stops under)."
    at_limit = stops_between(
        exposure.exposure_lx_s - steady.exposure_lx_s,
        reference=steady.illuminance_lx * min(camera.sync_s, camera.shutter_s),
    )
    return (
        "If it is not wanted, switch it off, close the blind, or stop down and turn the flash up "
        f"({float(at_limit):.1f} stops under at the sync limit)."
    )


def _dial_findings(setup: Setup) -> list[Finding]:
    """Return which heads are set lower than they go."""
    found = []
    for light in setup.lights:
        lowest = light.head.lowest_power_stops
        if light.on and light.power_stops < lowest - 0.05:
            step = light.head.power_step_stops
            now = dialled_power(light.power_stops, step_stops=step)
            found.append(
                _finding(
                    "power-below-lowest",
                    "caution",
                    f"{light.name} is set to {now}, but its head goes down to "
                    f"{dialled_power(lowest, step_stops=step)} only.",
                    f"Set it to {dialled_power(lowest, step_stops=step)} or more; if that is too "
                    "much light, move it back or put a neutral filter or gel before it.",
                )
            )
    return found


def _grid_findings(setup: Setup) -> list[Finding]:
    """Return which grids take an amount of light that nobody has metered."""
    names = [
        one.name
        for one in setup.lights
        if one.on
        and one.meter is None
        and one.modifier.grid_deg is not None
        and one.modifier.grid_loss_stops is None
    ]
    if not names:
        return []
    return [
        _finding(
            "grid-loss-unknown",
            "note",
            f"The grid on {' and '.join(names)} is taken to lose nothing on its axis.",
            "Meter the light with and without its grid, and add grid_loss to the modifier.",
        )
    ]


def _finding(code: str, severity: Severity, text: str, what_to_do: str) -> Finding:
    return Finding(code=code, severity=severity, text=text, what_to_do=what_to_do, topic="exposure")


def _shutter_text(shutter_s: float) -> str:
    """Return a shutter time as cameras show it: ``1/160 s``, ``2 s``."""
    return f"1/{1 / shutter_s:.0f} s" if shutter_s < 0.4 else f"{shutter_s:g} s"
