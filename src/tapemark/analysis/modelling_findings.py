"""What about the modelling of the face should the photographer look at?

Light is a matter of taste; so these are cautions and notes, never trouble.
The limits are common practice, no published source, where none is named.
"""

import numpy as np

from tapemark.analysis.eye_shade import EyeShade
from tapemark.analysis.finding import Finding, Severity, percent, stops_text
from tapemark.analysis.modelling import Modelling
from tapemark.analysis.scene import Scene
from tapemark.analysis.sheen import Sheen

SHADED_EYE = 0.5  # share of the key that brow or nose keep from an iris
SHADED_EYE_ALL = 0.35  # and of all light: below it the fill has opened the socket
RIM_OVER_IRIS = 0.25  # share of the light
CONTRAST_STOPS, HARD_STOPS = 3.0, 4.0  # lit cheek over dark cheek
FLAT_STOPS = 0.3  # cheeks this alike, and no shadow of the nose
FROM_BELOW_DEG = -10.0
#: Patterns whose shadows are meant to be deep.
DEEP_PATTERNS = ("split", "rim")


def modelling_findings(scene: Scene, modelling: Modelling) -> list[Finding]:
    """Return findings about pattern, shadows and shine of a face.

    Parameters
    ----------
    scene : Scene
        Sitter and lights.
    modelling : Modelling
        How the face is modelled.
    """
    if modelling.key is None:
        return []
    return [
        *_eye_findings(modelling),
        *_rim_findings(modelling),
        *_nose_findings(modelling),
        *_from_below(modelling),
        *_contrast_findings(modelling),
        *_sheen_findings(scene, modelling),
    ]


def _caution(code: str, text: str, what_to_do: str, severity: Severity = "caution") -> Finding:
    return Finding(
        code=code, severity=severity, text=text, what_to_do=what_to_do, topic="modelling"
    )


def _eye_findings(modelling: Modelling) -> list[Finding]:
    """Return eyes that lie in the shadow of brow or nose."""
    shaded = [
        eye
        for eye in modelling.eyes
        if eye.key_head_share > SHADED_EYE and eye.head_share > SHADED_EYE_ALL
    ]
    if not shaded or modelling.pattern in DEEP_PATTERNS:
        return []
    key, high = modelling.key, _steep(modelling)
    lost = max(eye.key_head_share for eye in shaded)
    what = "Brow" if high else "Nose or brow"
    cure = (
        f"Lower {key}, or bring a white panel in from below."
        if high
        else f"Swing {key} towards the nose's own line, or turn the face towards it."
    )
    text = f"{what} keeps {percent(lost)} of {key} from {_whose(shaded)}: dark sockets."
    return [_caution("eyes-shaded", text, cure)]


def _steep(modelling: Modelling) -> bool:
    up, across = modelling.elevation_deg or 0.0, abs(modelling.azimuth_deg or 0.0)
    return up > 0.6 * across


def _rim_findings(modelling: Modelling) -> list[Finding]:
    """Return irises with the shadow of the frame across."""
    crossed = [eye for eye in modelling.eyes if eye.rim_share > RIM_OVER_IRIS]
    if not crossed:
        return []
    worst = max(crossed, key=lambda eye: eye.rim_share)
    text = (
        f"The frame's rim throws its shadow across {_whose(crossed)}: it keeps "
        f"{percent(worst.rim_share)} of the light from the iris, mostly of {worst.rim_source}."
    )
    cure = f"Lower {worst.rim_source}, or give it a larger face so that the shadow softens."
    return [_caution("rim-shadow", text, cure)]


def _nose_findings(modelling: Modelling) -> list[Finding]:
    nose = modelling.nose
    if nose is None or nose.over_lip_mm is None or not nose.crosses_lip:
        return []
    if round(-nose.over_lip_mm) < 1 or modelling.pattern in DEEP_PATTERNS:
        return []
    text = f"The nose's shadow crosses the upper lip, {-nose.over_lip_mm:.0f} mm past its top edge."
    cure = f"Lower {modelling.key} until the shadow ends above the lip."
    return [_caution("nose-shadow-long", text, cure)]


def _from_below(modelling: Modelling) -> list[Finding]:
    up = modelling.elevation_deg
    if up is None or up > FROM_BELOW_DEG:
        return []
    text = f"{modelling.key} lights the face from {abs(up):.0f}° below: shadows fall upwards."
    cure = f"Raise {modelling.key} over the eyes, or let another light be the key."
    return [_caution("lit-from-below", text, cure)]


def _contrast_findings(modelling: Modelling) -> list[Finding]:
    """Return cheeks that are dead alike, or far apart."""
    ratio = modelling.highlight_to_shadow
    stops = np.inf if ratio is None else float(np.log2(ratio))
    if modelling.pattern == "flat" and modelling.nose is None and stops < FLAT_STOPS:
        text = f"Both cheeks meter within {stops_text(stops)} and the nose throws no shadow: flat."
        cure = f"For more form raise {modelling.key} or swing it to a side; check the lenses again."
        return [_caution("light-flat", text, cure, "note")]
    if stops <= CONTRAST_STOPS or modelling.pattern in DEEP_PATTERNS:
        return []
    side = modelling.shadow_cheek.side if modelling.shadow_cheek is not None else "dark"
    how = "no light at all" if ratio is None else f"{stops_text(stops)} less than the other"
    text = f"The {side} cheek gets {how}; the room's own bounce is not counted."
    fill = modelling.ratio.fill if modelling.ratio is not None else None
    cure = f"Turn {fill} up" if fill else "Bring a white panel or a fill in on that side"
    severity: Severity = "caution" if stops > HARD_STOPS else "note"
    return [_caution("shadow-deep", text, f"{cure}, if the shadows should stay open.", severity)]


def _sheen_findings(scene: Scene, modelling: Modelling) -> list[Finding]:
    """Return skin that would shine, the worst place first."""
    shiny = sorted(
        (one for one in modelling.sheen if one.risk == "high"),
        key=lambda one: one.stops_over_skin,
        reverse=True,
    )
    if not shiny or modelling.pattern == "rim":
        return []
    worst = shiny[0]
    places = " and ".join(one.region for one in shiny[:2])
    text = (
        f"{worst.source} would shine on the {places}: about {stops_text(worst.stops_over_skin)} "
        "over the skin around it (estimate, more on oily skin)."
    )
    return [_caution("skin-shine", text, _how_to_dull(scene, worst), "note")]


def _how_to_dull(scene: Scene, worst: Sheen) -> str:
    """Return how a highlight on skin is dulled: by a larger light, or by powder."""
    light = next((one for one in scene.setup.lights if one.name == worst.source), None)
    if light is None:
        return "Powder the skin, or turn the face a little."
    if max(light.modifier.face_size_m) < 0.5:
        return f"Give {worst.source} a larger, softer face, or swing it aside; or powder the skin."
    return f"Bring {worst.source} nearer, so that it is larger, or swing it aside; or powder."


def _whose(eyes: list[EyeShade]) -> str:
    return "both eyes" if len(eyes) == 2 else f"the {eyes[0].side} eye"
