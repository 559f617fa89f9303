"""What is wrong with the background and with light in the lens, and what to do?

What a wished look asks for is named here; sources disagree about white, and
the range taken is ours.
"""

import numpy as np

from tapemark.analysis.backdrop_light import BackdropLight
from tapemark.analysis.background import (
    Background,
    SitterShadow,
    clear_gap_m,
    picture_levels,
)
from tapemark.analysis.finding import Finding, Severity, percent, stops_text
from tapemark.analysis.flare import FLAG_BEFORE_LENS_M, Flare
from tapemark.analysis.scene import Scene
from tapemark.analysis.spill import (
    FlagPlace,
    Glow,
    Spill,
    cutting_flag,
    cutting_grid_deg,
)
from tapemark.units import format_angle, format_length, format_side

#: Clean white: no darker than the 240s that a background metered like the face gives, and no
#: brighter than a stop over white paper so metered; [white-background-level].
WHITE_LEAST_LEVEL, WHITE_MOST_LEVEL = 0.8714, 1.8
#: A twentieth of the background may lie outside the white range (assumption).
STRAY_PART = 0.05
AS_SEEN_STOPS = 0.5  # either side of the face's reading (assumption)
EVEN_STOPS = 1.0  # of a background wished as seen (assumption)
BLACK_MOST_LEVEL = 0.01  # sRGB 25: kept black (assumption) [-]
BLACK_MARGIN_STOPS = 0.3  # by which advice goes beyond what is just black (assumption)
_EVERY = 5  # of the places on the background, for trying gaps
LEAST_TOLD_STOPS = 0.05  # less is no stop to a tenth, and nothing to tell
#: A shadow is told from this depth on, a very soft one from the second on; it is a caution where
#: both deep and not very soft (assumption).
SHADOW_TOLD_STOPS, SHADOW_DEEP_STOPS, SOFT_EDGE_M = 0.5, 1.0, 0.6
BLACK_SHADOW_STOPS = 6.0  # deeper is not told in stops: light off the room's walls fills it
LEAST_GAP_M, GOOD_GAP_M = 1.0, 3.0  # sitter to background; [background-distance]
DEEP_GLOW_STOPS = 1.0  # over other light: below, the colour turns pale (assumption)
VEIL_SEEN = 0.03  # of the picture's mean: lifts black to a visible grey (assumption) [-]
NOSE_LIT_STOPS = -1.0  # from behind, against the reading at the face (assumption)
MOST_CHANGE_STOPS = 10.0  # of power that advice looks through
BEHIND_CAMERA_M = 0.5  # room that the camera keeps behind it (assumption)


def background_findings(
    scene: Scene, seen: Background | None, *, light: BackdropLight, spilled: tuple[Spill, ...]
) -> list[Finding]:
    """Return findings about the tone of the background and the shadows on it.

    Parameters
    ----------
    scene : Scene
        The setup.
    seen : Background or None
        How it comes out.
    light : BackdropLight
        The light on it.
    spilled : tuple of Spill
        What each light puts on it.
    """
    backdrop = scene.setup.backdrop
    if seen is None or seen.mean.stops_over_key is None:
        return []
    look = None if backdrop is None else backdrop.look
    found = []
    if look == "white":
        found = _white(scene, seen, light=light, spilled=spilled)
    elif look == "as seen":
        found = _as_seen(scene, seen, light=light, spilled=spilled)
    elif look == "black":
        return _black(scene, seen, light=light, spilled=spilled)
    return found + _shadow(scene, seen, light=light)


def glow_findings(
    scene: Scene, coloured: tuple[Glow, ...], *, light: BackdropLight
) -> list[Finding]:
    """Return which gelled lights lose their colour on the background to other light."""
    found = []
    for one in coloured:
        if one.stops_over_others >= DEEP_GLOW_STOPS:
            continue
        others = {
            name: float(light.received[index].sum())
            for index, name in enumerate(light.names)
            if name != one.light
        }
        worst = max(others, key=lambda name: others[name])
        against = _against(one.stops_over_others, "other light", level="as bright as")
        found.append(
            _finding(
                "glow-pale",
                "note",
                f"The {one.gel} of {one.light} on the background is only {against} where it is "
                "strongest: a pale tint.",
                f"{_keep_off(scene, light, worst)}, or turn {one.light} up.",
            )
        )
    return found


def flare_findings(scene: Scene, shining: tuple[Flare, ...]) -> list[Finding]:
    """Return which lights and windows veil the picture, and what keeps them off the lens."""
    found = []
    for one in shining:
        if one.veil < VEIL_SEEN:
            continue
        where = (
            "from within the frame"
            if one.in_frame
            else f"from {format_angle(one.outside_deg)} outside the {one.edge} edge of the frame"
        )
        found.append(
            _finding(
                "flare",
                "caution",
                f"{one.source} shines into the lens {where}: a veil of very "
                f"roughly {percent(one.veil)} of a mid tone over the picture.",
                _how_to_shade(scene, one),
            )
        )
    return found


def spill_findings(scene: Scene, spilled: tuple[Spill, ...]) -> list[Finding]:
    """Return which lights from behind reach nose or cheeks."""
    found = []
    for one in spilled:
        if one.face_stops is None or one.face_stops < NOSE_LIT_STOPS:
            continue
        against = _against(one.face_stops, "the reading at the face", level="level with")
        found.append(
            _finding(
                "rim-on-nose",
                "caution",
                f"{one.light} reaches nose or cheek from behind, {against}.",
                f"Swing {one.light} farther behind the sitter, or flag its front edge.",
                sitter=scene.sitter.name if len(scene.setup.people) > 1 else "",
            )
        )
    return found


def _against(stops: float, what: str, *, level: str) -> str:
    """Return a difference in stops in words: ``0.3 stops over other light``."""
    if abs(stops) < LEAST_TOLD_STOPS:
        return f"{level} {what}"
    return f"{stops_text(stops)} {'over' if stops > 0.0 else 'under'} {what}"


def _white(
    scene: Scene, seen: Background, *, light: BackdropLight, spilled: tuple[Spill, ...]
) -> list[Finding]:
    levels = picture_levels(scene, light)
    dark, bright = (float(np.quantile(levels, one)) for one in (STRAY_PART, 1.0 - STRAY_PART))
    up = float(np.log2(WHITE_LEAST_LEVEL / max(dark, 1e-6)))
    down = float(np.log2(max(bright, 1e-6) / WHITE_MOST_LEVEL))
    if up < LEAST_TOLD_STOPS and down < LEAST_TOLD_STOPS:
        return []
    if up > 0.0 and down > -up:
        return [
            _finding(
                "background-uneven",
                "caution",
                f"The background is not evenly white: {stops_text(seen.evenness_stops)} from its "
                f"darkest to its brightest place, sRGB {seen.darkest.srgb} to "
                f"{seen.brightest.srgb}.",
                "Light it from both sides, each light aimed past the middle and moved farther "
                "from it, before changing any power.",
            )
        ]
    if up > 0.0:
        grey = float(np.mean(levels < WHITE_LEAST_LEVEL))
        return [
            _finding(
                "background-grey",
                "caution",
                f"{percent(grey)} of the background is darker than clean white, down to "
                f"sRGB {seen.darkest.srgb}.",
                _turn(
                    scene,
                    light=light,
                    spilled=spilled,
                    target=WHITE_LEAST_LEVEL,
                    part=STRAY_PART,
                ),
            )
        ]
    over = float(np.log2(2.0 * seen.brightest.level / WHITE_MOST_LEVEL))
    return [
        _finding(
            "background-overblown",
            "caution",
            f"The background is up to {stops_text(over)} brighter than white paper in the "
            "light of the face: it eats into hair and outline and veils the lens.",
            _turn(
                scene,
                light=light,
                spilled=spilled,
                target=WHITE_MOST_LEVEL,
                part=1.0 - STRAY_PART,
            ),
        )
    ]


def _as_seen(
    scene: Scene, seen: Background, *, light: BackdropLight, spilled: tuple[Spill, ...]
) -> list[Finding]:
    """Return findings about a background to look as the eye sees it; [background-as-seen]."""
    over = seen.mean.stops_over_key or 0.0
    if abs(over) > AS_SEEN_STOPS:
        way, name = ("over", "bright") if over > 0 else ("under", "dark")
        return [
            _finding(
                f"background-{name}",
                "caution",
                f"The background reads {stops_text(over)} {way} the face, so that it comes out "
                f"{'brighter' if over > 0 else 'darker'} than it looks.",
                _turn(scene, light=light, spilled=spilled, target=seen.mean.level / 2.0**over),
            )
        ]
    if seen.evenness_stops <= EVEN_STOPS or seen.shadows:
        return []
    return [
        _finding(
            "background-uneven",
            "note",
            f"The background falls off by {stops_text(seen.evenness_stops)} from its brightest "
            "to its darkest place.",
            "Move what lights it farther from it, or take the fall-off as a look.",
        )
    ]


def _black(
    scene: Scene, seen: Background, *, light: BackdropLight, spilled: tuple[Spill, ...]
) -> list[Finding]:
    excess = float(np.log2(max(seen.mean.level, 1e-9) / BLACK_MOST_LEVEL))
    if excess < LEAST_TOLD_STOPS:
        return []
    worst = light.names[int(np.argmax(light.received.sum(axis=1)))]
    meant = {one.light for one in spilled if one.meant}
    what = (
        f"Switch off {worst}, or turn it away from the background"
        if worst in meant
        else _keep_off(
            scene, light, worst, needs_stops=excess + BLACK_MARGIN_STOPS, falling=light.names
        )
    )
    return [
        _finding(
            "background-not-black",
            "caution",
            f"The background comes out at sRGB {seen.mean.srgb}, {stops_text(excess)} too bright "
            f"for black; most of it is light from {worst}.",
            f"{what}.",
        )
    ]


def _turn(
    scene: Scene,
    *,
    light: BackdropLight,
    spilled: tuple[Spill, ...],
    target: float,
    part: float | None = None,
) -> str:
    """Return how the lights on the background bring it to a level.

    `target` is the level that the mean, or the quantile `part` of it, is to have.
    """
    meant = [one.light for one in spilled if one.meant and one.share > 0.0]
    own = light.received[[light.names.index(name) for name in meant]].sum(axis=0)
    share = picture_levels(scene, light) / np.maximum(light.total, 1e-300)
    rest = light.total - own

    def level(stops: float) -> float:
        levels = share * (rest + own * 2.0**stops)
        return float(levels.mean() if part is None else np.quantile(levels, part))

    names, up = " and ".join(meant), level(0.0) < target
    if not meant and up:
        more = float(np.log2(target / max(level(0.0), 1e-6)))
        return (
            "Put a light on the background, out of the frame and off the sitter, that brings it "
            f"up by {stops_text(np.ceil(10.0 * more - 1e-3) / 10.0)}."
        )
    if not meant or (not up and level(-MOST_CHANGE_STOPS) > target):
        return "Move the sitter, with lights and camera, farther from the background."
    low, high = (0.0, MOST_CHANGE_STOPS) if up else (-MOST_CHANGE_STOPS, 0.0)
    for _ in range(20):
        middle = (low + high) / 2.0
        low, high = (middle, high) if level(middle) < target else (low, middle)
    change = float(np.ceil(10.0 * abs(high if up else low) - 1e-3) / 10.0)
    room = min(-one.power_stops for one in scene.setup.lights if one.name in meant)
    if up and change > room:
        return (
            f"Bring {names} nearer to the background or add another: {stops_text(change)} more "
            "are needed than now."
        )
    return f"Turn {names} {'up' if up else 'down'} by {stops_text(change)}."


def _keep_off(
    scene: Scene,
    light: BackdropLight,
    name: str,
    *,
    needs_stops: float = 1.0,
    falling: tuple[str, ...] = (),
) -> str:
    """Return what keeps a light off the background, without a full stop.

    By distance, `falling`, else that light alone, is to fall by so many stops.
    """
    if all(one.name != name for one in scene.setup.lights):
        return f"Keep {name} off the background"
    grid = cutting_grid_deg(scene, light=light, name=name)
    if grid is not None:
        return f"Put a grid of {grid:.0f}° or narrower on {name}, and meter what it takes"
    flag = cutting_flag(scene, light=light, name=name)
    received = light.received[light.names.index(name)].sum()
    if flag is not None:
        left = light.total.sum() - received * flag.cuts_share
        if left * 2.0**needs_stops <= light.total.sum():
            return _flag_words(scene, flag, name)
    gap = _gap_for(scene, light, falling or (name,), stops=needs_stops)
    if gap is not None:
        far = format_length(gap, system=scene.setup.units)
        return (
            f"Move the sitter, with lights and camera, forward to about {far} from the background"
        )
    return f"Bring {name} nearer to the sitter and turn it down, or hang a darker backdrop"


def _gap_for(
    scene: Scene, light: BackdropLight, names: tuple[str, ...], *, stops: float
) -> float | None:
    """Return the gap at which light has fallen by some stops, if the room has it [m].

    To the next decimetre, the sitter's shadow on the background not counted.
    """
    now, longest = -float(light.places[0, 1]), _longest_gap(scene)
    gaps = np.arange(np.floor(10.0 * now + 1e-6) + 1.0, np.floor(10.0 * longest + 1e-6) + 1.0) / 10
    most = light.total if names == light.names else light.received[_indices(light, names)].sum(0)
    wanted = float(most.mean()) / 2.0**stops
    low, high = 0, len(gaps)
    while low < high:
        middle = (low + high) // 2
        enough = _light_at_gap(scene, light, names, gap_m=float(gaps[middle])) <= wanted
        low, high = (low, middle) if enough else (middle + 1, high)
    return float(gaps[low]) if low < len(gaps) else None


def _light_at_gap(
    scene: Scene, light: BackdropLight, names: tuple[str, ...], *, gap_m: float
) -> float:
    """Return the mean light from emitters on the background, were it so far behind [lx·s]."""
    rays = light.places[::_EVERY] - scene.camera
    places = scene.camera + rays * ((-gap_m - scene.camera[1]) / rays[:, 1])[:, None]
    facing, unshaded = np.array([0.0, 1.0, 0.0]), 1.0 - light.hidden + light.behind_people
    found = 0.0
    for index in _indices(light, names):
        before = light.free[index]
        if not before.any():
            continue
        passed = float((before * unshaded[index]).sum() / before.sum())
        after = (
            scene.emitters[index].exposure_at(places, normal=facing)
            if index < len(scene.emitters)
            else before
        )
        found += float(after.mean()) * passed
    return found


def _indices(light: BackdropLight, names: tuple[str, ...]) -> list[int]:
    return [light.names.index(name) for name in names]


def _longest_gap(scene: Scene) -> float:
    """Return the gap at which the camera still has room behind it [m]."""
    return scene.setup.room.length_m - float(scene.camera[1]) - BEHIND_CAMERA_M


def _flag_words(scene: Scene, flag: FlagPlace, name: str) -> str:
    units = scene.setup.units
    x, y, z = flag.middle_m
    side = format_side(float(np.degrees(np.arctan2(x, y))))
    return (
        f"Stand a black panel of about {format_length(flag.width_m, system=units)} by "
        f"{format_length(flag.height_m, system=units)} upright on the {flag.side} side of {name}, "
        f"its middle {format_length(float(np.hypot(x, y)), system=units)} from the sitter at "
        f"{side} and {format_length(z, system=units)} up"
    )


def _shadow(scene: Scene, seen: Background, *, light: BackdropLight) -> list[Finding]:
    told = [
        one
        for one in seen.shadows
        if one.depth_stops >= (SHADOW_TOLD_STOPS if one.edge_m < SOFT_EDGE_M else SHADOW_DEEP_STOPS)
    ]
    if not told:
        return []
    worst = told[0]
    units = scene.setup.units
    whose = "The sitter's shadow" if len(scene.setup.people) == 1 else "A shadow of the group"
    where = (
        "on both sides"
        if worst.side == "both sides"
        else ("above the head" if worst.side == "above" else f"on {worst.side}")
    )
    deep = worst.depth_stops >= SHADOW_DEEP_STOPS and worst.edge_m < SOFT_EDGE_M
    edge = format_length(worst.edge_m, system=units)
    depth = (
        f"up to {stops_text(worst.depth_stops)} deep"
        if worst.depth_stops < BLACK_SHADOW_STOPS
        else "with hardly any other light in it"
    )
    also = f" {told[1].light} throws another." if len(told) > 1 else ""
    return [
        _finding(
            "background-shadow",
            "caution" if deep else "note",
            f"{whose} from {worst.light} shows {where} on {percent(worst.share)} of the "
            f"background, {depth}, with an edge {edge} wide.{also}",
            _how_to_lose(scene, seen, worst, light=light),
        )
    ]


def _how_to_lose(
    scene: Scene, seen: Background, shadow: SitterShadow, *, light: BackdropLight
) -> str:
    """Return how a shadow leaves the picture; distances after [background-distance]."""
    units, longest = scene.setup.units, _longest_gap(scene)
    gap = clear_gap_m(scene, light=light, name=shadow.light)
    if gap is not None and gap <= longest:
        far, now = (format_length(one, system=units) for one in (gap, seen.distance_m))
        return (
            f"Move the sitter, with lights and camera, forward to {far} from the background "
            f"(now {now})."
        )
    raised = f"Raise {shadow.light}, or swing it farther to its side, until the shadow leaves"
    if seen.distance_m < min(LEAST_GAP_M, longest):
        least, good = (format_length(one, system=units) for one in (LEAST_GAP_M, GOOD_GAP_M))
        return f"Move the sitter at least {least}, better {good}, from the background."
    return f"{raised} the frame."


def _how_to_shade(scene: Scene, flare: Flare) -> str:
    units = scene.setup.units
    options = []
    if flare.kind == "window":
        return f"Cover {flare.source}, or move the camera so that the sitter hides it."
    if flare.flag_m is not None:
        width, height = (format_length(max(one, 0.1), system=units) for one in flare.flag_m)
        away = format_length(FLAG_BEFORE_LENS_M, system=units)
        options.append(
            f"hold a black panel of at least {width} by {height} between {flare.source} and the "
            f"lens, {away} from the lens and just outside the {flare.edge} edge of the frame"
        )
    if flare.grid_deg is not None and flare.kind == "light":
        options.append(f"put a grid of {flare.grid_deg:.0f}° or narrower on {flare.source}")
    if not options:
        options.append(f"turn {flare.source} away from the lens, or move it behind the sitter")
    text = ", or ".join(options[:2])
    return f"{text[:1].upper()}{text[1:]}."


def _finding(
    code: str, severity: Severity, text: str, what_to_do: str, *, sitter: str = ""
) -> Finding:
    return Finding(
        code=code,
        severity=severity,
        text=text,
        what_to_do=what_to_do,
        topic="background",
        sitter=sitter,
    )
