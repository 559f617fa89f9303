"""Where does the colour of the light go apart, and which gel brings it together?"""

from dataclasses import dataclass

from tapemark.analysis.color import LightColor, MixedColor, SourceColor
from tapemark.analysis.exposure import ROOM_LAMPS
from tapemark.analysis.finding import Finding, Severity, percent, stops_text
from tapemark.analysis.scene import Scene
from tapemark.photometry import mired_shift
from tapemark.studio import GEL_PRESETS

#: Two parts of a picture that differ by this are just seen to: the weakest sheet one hangs
#: before a light (assumption). Heads and modifiers drift as much, [flash-color]. [mired]
SEEN_MIRED = 20.0
PLAIN_MIRED = 40.0  # nobody misses it: half of half CTO (assumption)
#: What gets less light than this share of the face's, 4 stops under, is too dark to show a
#: colour (assumption). [-]
SHOWS_COLOR = 1 / 16
EFFECT_SHARE = 0.1  # of the light from a deep colour: it shows (assumption) [-]
#: From this share of a place's light on, a deep colour hides how warm the rest is (assumption).
DEEP_HIDES_SHARE = 0.5
SHEETS = tuple(name for name in GEL_PRESETS if name.endswith((" CTO", " CTB")))


@dataclass(frozen=True, kw_only=True, slots=True)
class GelChoice:
    """A sheet from the presets for a wanted shift.

    Attributes
    ----------
    name : str
        Of the preset.
    shift_mired : float
        Its shift, warmer positive. [mired]
    loss_stops : float
        Light it takes. [stops]
    left_mired : float
        What it leaves of the wanted shift. [mired]
    """

    name: str
    shift_mired: float
    loss_stops: float
    left_mired: float

    def text(self) -> str:
        """Return it with what it does: ``half CTO (+81 mired, takes 0.5 stops)``."""
        left = f", {abs(self.left_mired):.0f} mired remain"
        return (
            f"{self.name} ({self.shift_mired:+.0f} mired, takes {stops_text(self.loss_stops)}"
            f"{left if abs(self.left_mired) >= SEEN_MIRED else ''})"
        )


def nearest_gel(wanted_mired: float) -> GelChoice | None:
    """Return the sheet nearest to a wanted shift, or None where no sheet is nearer.

    Parameters
    ----------
    wanted_mired : float
        Shift, warmer positive. [mired]
    """
    sheets = {name: GEL_PRESETS[name].values for name in SHEETS}
    shifts = {name: float(str(values["shift_mired"])) for name, values in sheets.items()}
    best = min(shifts, key=lambda name: abs(wanted_mired - shifts[name]))
    if abs(wanted_mired) <= abs(wanted_mired - shifts[best]):
        return None
    return GelChoice(
        name=best,
        shift_mired=shifts[best],
        loss_stops=float(str(sheets[best]["loss_stops"])),
        left_mired=wanted_mired - shifts[best],
    )


def color_findings(scene: Scene, color: LightColor) -> list[Finding]:
    """Return findings about the colour of the light on one face and behind it.

    Parameters
    ----------
    scene : Scene
        Its lights and its camera.
    color : LightColor
        The colours of the light there.
    """
    if color.face is None:
        return _effects(color)
    on_face = _sides(scene, color)
    balance = [] if on_face and not color.white_balance_stated else _balance(scene, color)
    return on_face + balance + _background(scene, color) + _effects(color)


def _sides(scene: Scene, color: LightColor) -> list[Finding]:
    """Return whether the shadow side has another colour than the lit one."""
    lit, shadow, apart = color.lit_side, color.shadow_side, color.shadow_from_lit_mired
    if lit is None or shadow is None or apart is None:
        return []
    if abs(apart) < SEEN_MIRED or shadow.exposure_lx_s < SHOWS_COLOR * lit.exposure_lx_s:
        return []
    if _hidden(lit, shadow):
        return []
    place = shadow if shadow.off_key else lit
    side = "it" if shadow.off_key else "the lit side"
    return [
        _finding(
            "mixed-color-on-face",
            _severity(apart),
            f"The shadow side of the face is {apart_text(apart)} than the lit side, about "
            f"{_kelvin(shadow.color_k)} against {_kelvin(lit.color_k)} (±20 mired): "
            f"{_share_of(color, place)} {side}.",
            _bring_to_key(scene, color, place.off_key),
        )
    ]


def _balance(scene: Scene, color: LightColor) -> list[Finding]:
    """Return whether the face as a whole is off the white balance."""
    face = color.face
    if face is None or abs(face.mired_from_white) < SEEN_MIRED or _hidden(face):
        return []
    white, to_face = _kelvin(color.white_balance_k), _kelvin(face.color_k)
    set_to = f"et the white balance to {to_face}, or take it from a grey card at the face"
    if color.white_balance_stated:
        balanced, advice = f"With the white balance at {white}", f"S{set_to}."
    else:
        balanced = f"With the white balance on {color.key}, {white},"
        advice = f"{_bring_to_key(scene, color, face.off_key)} Or s{set_to}."
    return [
        _finding(
            "white-balance-off",
            _severity(face.mired_from_white),
            f"{balanced} the face comes out {apart_text(face.mired_from_white)} than neutral: "
            f"its light is about {to_face} (±20 mired).",
            advice,
        )
    ]


def _background(scene: Scene, color: LightColor) -> list[Finding]:
    """Return whether the background has another colour than the face."""
    face, back, apart = color.face, color.background, color.background_from_face_mired
    if face is None or back is None or apart is None:
        return []
    if abs(apart) < SEEN_MIRED or back.exposure_lx_s < SHOWS_COLOR * face.exposure_lx_s:
        return []
    if _hidden(face, back):
        return []
    place = back if back.off_key else face
    side = "it" if back.off_key else "the face"
    source = _source(color, place.off_key)
    meant = bool(source.gel) and place is back
    return [
        _finding(
            "background-color",
            "note" if meant else _severity(apart),
            f"The background is lit {apart_text(apart)} than the face, about "
            f"{_kelvin(back.color_k)} against {_kelvin(face.color_k)} (±20 mired): "
            f"{_share_of(color, place)} {side}.",
            f"Leave it if it is meant; else take the {source.gel} off {source.name}."
            if meant
            else _bring_to_key(scene, color, place.off_key),
        )
    ]


def _effects(color: LightColor) -> list[Finding]:
    """Return which deep colours reach the face."""
    return [
        _finding(
            "deep-color-on-face",
            "note",
            f"{deep_share_text(one)}, and colours it.",
            f"Leave it if it is meant; else keep {one.name} off the face with a flag or a grid.",
        )
        for one in color.sources
        if one.glow is not None and _shows(color, one)
    ]


def _shows(color: LightColor, one: SourceColor) -> bool:
    """Return whether a deep colour is seen on the face, or on its shadow side alone."""
    in_shadow = one.shadow_share >= EFFECT_SHARE
    bright = one.shadow_share * (color.shadow_to_lit or 0.0) >= SHOWS_COLOR
    return one.face_share >= EFFECT_SHARE or (in_shadow and bright)


def deep_share_text(one: SourceColor) -> str:
    """Return how much a deep-coloured light gives the face, and its shadow side.

    ``fill with its gel, red, gives 30 % of the light on the face, 70 % on its shadow side``
    """
    shadow = f", {percent(one.shadow_share)} on its shadow side" if one.shadow_share > 0.0 else ""
    return (
        f"{one.name} with its gel, {one.gel}, gives {percent(one.face_share)} of the light on the "
        f"face{shadow}"
    )


def _bring_to_key(scene: Scene, color: LightColor, name: str) -> str:
    """Return what gives one source the colour of the key."""
    source, key = _source(color, name), _source(color, color.key)
    wanted = float(mired_shift(source.bare_k, to_k=key.color_k or color.white_balance_k))
    gel = nearest_gel(wanted)
    if name == ROOM_LAMPS:
        return _against_lamps(scene, color, source)
    if any(one.name == name for one in scene.setup.screens):
        return f"Dim {name}, or turn it away from the sitter."
    if any(one.name == name for one in scene.setup.windows):
        sheet = "" if gel is None else f", or hang {gel.text()} over it"
        return f"Draw the blind of {name}{sheet}."
    if gel is not None and gel.name != source.gel:
        old = f" in place of its {source.gel}" if source.gel else ""
        return f"Put {gel.text()} on {name}{old}."
    if gel is None and source.gel:
        return f"Take the {source.gel} off {name}."
    return f"Compare {name} and {color.key} on a grey card, one at a time."


def _against_lamps(scene: Scene, color: LightColor, lamps: SourceColor) -> str:
    """Return what helps against lamps that cannot be given a gel one by one."""
    lights = [one for one in color.sources if _is_lit(scene, one.name) and one.glow is None]
    choices = {one.name: nearest_gel(_to(lamps, one)) for one in lights}
    sheets: dict[str, list[str]] = {}
    for name, gel in choices.items():
        if gel is not None:
            sheets.setdefault(gel.text(), []).append(name)
    if not sheets:
        return "Switch the room lamps off."
    puts = ", ".join(f"{text} on {' and '.join(names)}" for text, names in sheets.items())
    return (
        f"Switch the room lamps off. If they must stay on, put {puts}, and set the white balance "
        f"to {_kelvin(lamps.bare_k)}."
    )


def _to(target: SourceColor, source: SourceColor) -> float:
    """Return the shift that gives one source, without a gel, the colour of another [mired]."""
    return float(mired_shift(source.bare_k, to_k=target.bare_k))


def _is_lit(scene: Scene, name: str) -> bool:
    return any(one.name == name and one.on for one in scene.setup.lights)


def _source(color: LightColor, name: str) -> SourceColor:
    return next(one for one in color.sources if one.name == name)


def _hidden(*places: MixedColor) -> bool:
    return any(one.deep_share >= DEEP_HIDES_SHARE for one in places)


def _share_of(color: LightColor, place: MixedColor) -> str:
    source = _source(color, place.off_key)
    return (
        f"{source.name}, {_kelvin(source.color_k or source.bare_k)}, gives "
        f"{percent(place.off_key_share)} of the light on"
    )


def apart_text(mired: float) -> str:
    """Return a difference in mired and in words: ``45 mired warmer``."""
    return f"{abs(mired):.0f} mired {'warmer' if mired > 0 else 'cooler'}"


def _kelvin(color_k: float) -> str:
    return f"{50 * round(color_k / 50):.0f} K"


def _severity(apart_mired: float) -> Severity:
    return "caution" if abs(apart_mired) >= PLAIN_MIRED else "note"


def _finding(code: str, severity: Severity, text: str, what_to_do: str) -> Finding:
    text = f"{text[:1].upper()}{text[1:]}"
    return Finding(code=code, severity=severity, text=text, what_to_do=what_to_do, topic="exposure")
