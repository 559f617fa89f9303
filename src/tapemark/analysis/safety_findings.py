"""What to say about safety, and what to do: it informs, defers, and never certifies."""

from tapemark.analysis.circuits import HOUSEHOLD_OUTLET_V, HOUSEHOLD_OUTLET_W, CircuitLoad
from tapemark.analysis.finding import Finding, Severity, Topic
from tapemark.analysis.flash_rate import MOST_FLASHES_IN_1_S, TRIGGER_BAND_HZ
from tapemark.analysis.heat import HotLight
from tapemark.analysis.photochromic import DARKENS_FROM_LX, DarkeningLenses
from tapemark.analysis.safety import Safety
from tapemark.analysis.scene import Scene
from tapemark.analysis.stand_findings import stand_findings
from tapemark.studio import Setup, Sitter
from tapemark.units import format_length

POWER_DEFERS = "Nameplates, the local code and an electrician decide."
HEAT_DEFERS = "The marking on the luminaire decides how much room it needs."
FLASH_DEFERS = "Ask them, or whoever cares for them: no count or distance makes it safe."
CABLE_DEFERS = "The house and its rules for exits and walkways decide."


def safety_findings(scene: Scene, found: Safety) -> list[Finding]:
    """Return findings about safety, for all the people in a setup.

    Parameters
    ----------
    scene : Scene
        The scene about the main sitter.
    found : Safety
        What was found in it.
    """
    return [
        *stand_findings(scene.setup, found),
        *_flash_findings(scene, found),
        *(finding for load in found.circuits for finding in _circuit_findings(load)),
        *_unassigned_findings(found),
        *(_hot_finding(one) for one in found.hot),
        *_way_findings(found),
        *(_darkening_finding(one, scene.setup) for one in found.darkening),
    ]


def _finding(
    code: str,
    severity: Severity,
    text: str,
    what_to_do: str,
    *,
    sitter: str = "",
    topic: Topic = "safety",
) -> Finding:
    return Finding(
        code=code, severity=severity, text=text, what_to_do=what_to_do, topic=topic, sitter=sitter
    )


def _about(name: str, setup: Setup) -> str:
    """Return whom a finding is about; nobody in particular where there is only one."""
    return name if setup.companions else ""


def _flash_findings(scene: Scene, found: Safety) -> list[Finding]:
    setup, flashes = scene.setup, found.flashes
    at_risk = [one for one in setup.people if one.photosensitive]
    low, high = TRIGGER_BAND_HZ
    findings = []
    if flashes.too_fast:
        findings.append(
            _finding(
                "flash-too-fast",
                "trouble" if at_risk else "caution",
                f"A frame every {flashes.interval_s:g} s is {flashes.most_in_1_s} flashes in a "
                f"second; the planning rule is at most {MOST_FLASHES_IN_1_S}, for {low:.0f} to "
                f"{high:.0f} a second set off most seizures.",
                "Leave at least 0.5 s between frames, fire all heads together, and warn "
                f"everybody in the room. {FLASH_DEFERS}",
            )
        )
    if flashes.flashes:
        findings += [_photosensitive(one, setup) for one in at_risk]
    findings += [_light_sensitive(one, scene) for one in setup.people if one.light_sensitive]
    findings += [
        _finding(
            "flash-close",
            "caution",
            f"{near.light} is a small hard flash "
            f"{format_length(near.distance_m, system=setup.units)} from the eyes of {near.person}.",
            f"Back {near.light} off or put a diffuser on it. {FLASH_DEFERS}",
            sitter=_about(near.person, setup),
        )
        for near in flashes.close
    ]
    return findings


def _photosensitive(person: Sitter, setup: Setup) -> Finding:
    return _finding(
        "photosensitive",
        "trouble",
        f"Flashing light may bring on a seizure in {person.name}, and flash is on.",
        "Light with continuous heads instead. If they still want flash: single frames well "
        f"apart, a word before each, and stop at the first sign. {FLASH_DEFERS}",
        sitter=_about(person.name, setup),
    )


def _light_sensitive(person: Sitter, scene: Scene) -> Finding:
    lights = [one for one in scene.emitters if one.kind == "light" and one.brightness > 0.0]
    hardest = max(lights, key=lambda one: one.brightness, default=None)
    first = "" if hardest is None else f", {hardest.name} first"
    return _finding(
        "light-sensitive",
        "note",
        f"Bright light is hard on {person.name}.",
        f"Turn the lights down and make them larger{first}; keep the room lit, and say before "
        f"each frame that it comes. {FLASH_DEFERS}",
        sitter=_about(person.name, scene.setup),
    )


def _circuit_findings(load: CircuitLoad) -> list[Finding]:
    what = f"{load.voltage_v:.0f} V, {load.breaker_a:g} A"
    name = f"one household circuit ({what}, assumed)" if load.assumed else f"{load.name} ({what})"
    findings = []
    if load.over:
        findings.append(
            _finding(
                "circuit-over",
                "trouble" if load.trips and not load.assumed else "caution",
                f"The lights draw {load.current_a:.1f} A ({load.power_w:.0f} W) from {name}: "
                f"{100 * load.breaker_share:.0f} % of its breaker, with what may burn for hours "
                "counted by 125 %.",
                f"{_how_to_lighten(load)} {POWER_DEFERS}",
            )
        )
    elif load.power_w > HOUSEHOLD_OUTLET_W and _is_household(load):
        findings.append(
            _finding(
                "outlet-over-2-kw",
                "note",
                f"{load.name} carries {load.power_w:.0f} W; New Zealand and Australia hold "
                "lighting on one household outlet to 2 kW.",
                f"Spread the lights over two outlets there. {POWER_DEFERS}",
            )
        )
    if load.unknown and not load.assumed:
        findings.append(
            _finding(
                "draw-unknown",
                "note",
                f"What these draw from {load.name} is not known: {', '.join(load.unknown)}.",
                f"Read the watts on the nameplate and add them (mains). {POWER_DEFERS}",
            )
        )
    return findings


def _is_household(load: CircuitLoad) -> bool:
    low, high = HOUSEHOLD_OUTLET_V
    return not load.assumed and low <= load.voltage_v <= high


def _how_to_lighten(load: CircuitLoad) -> str:
    if not load.lights:
        return "Take the other loads off this circuit."
    if len(load.lights) == 1:
        return f"Put {load.lights[0]} on a circuit of its own with a larger breaker."
    known = " and describe both" if load.assumed else ""
    return f"Put {load.lights[0]} on another circuit{known}."


def _unassigned_findings(found: Safety) -> list[Finding]:
    if not found.without_circuit:
        return []
    return [
        _finding(
            "circuit-not-said",
            "note",
            f"On no circuit, so not counted: {', '.join(found.without_circuit)}.",
            f"Say for each light which circuit it draws from. {POWER_DEFERS}",
        )
    ]


def _hot_finding(one: HotLight) -> Finding:
    words = {
        "gel": "a gel",
        "cloth": "the cloth of its modifier",
        "backdrop": "the backdrop",
        "ceiling": "the ceiling",
    }
    power = "" if one.power_w is None else f" of {one.power_w:.0f} W"
    near = " and ".join(words[thing] for thing in one.near)
    return _finding(
        "hot-lamp",
        "caution",
        f"{one.light} has a {one.lamp} lamp{power} close to {near}.",
        "Use gels and cloth made for hot lamps, off the lamp and with air around them, let it "
        f"cool before you touch it, or take an LED. {HEAT_DEFERS}",
    )


def _way_findings(found: Safety) -> list[Finding]:
    findings = []
    for way in dict.fromkeys(one.way for one in found.cables):
        own = [one for one in found.cables if one.way == way]
        names = ", ".join(one.light for one in own)
        findings.append(
            _finding(
                "cable-in-walkway" if own[0].walkway else "cable-before-camera",
                "caution" if own[0].walkway else "note",
                f"Cables straight to the outlet would cross {way}: {names}.",
                "Use an outlet on the same side, or go round by the wall or overhead; where it "
                f"must cross, a cable ramp, or tape all along it. {CABLE_DEFERS}",
            )
        )
    findings += [
        _finding(
            "stand-in-walkway",
            "caution",
            f"The legs of {one.light} reach into {one.way}.",
            f"Move the stand out of it, or close it off. {CABLE_DEFERS}",
        )
        for one in found.stands_in_way
    ]
    return findings


def _darkening_finding(one: DarkeningLenses, setup: Setup) -> Finding:
    if not one.darken:
        return _finding(
            "lenses-darken",
            "note",
            f"The lenses of {one.person} darken in daylight.",
            "Have them come in some minutes early, so that the lenses clear.",
            sitter=_about(one.person, setup),
            topic="eyes",
        )
    return _finding(
        "lenses-darken",
        "caution",
        f"The lenses of {one.person} darken in daylight, and {' and '.join(one.sources)} puts "
        f"about {one.window_lx:.0f} lx on the face (estimate; they are taken to darken from "
        f"{DARKENS_FROM_LX:.0f} lx).",
        "Draw the blind or turn the set away from the window, and give the lenses some minutes "
        "to clear; or ask whether they have a clear pair with them.",
        sitter=_about(one.person, setup),
        topic="eyes",
    )
