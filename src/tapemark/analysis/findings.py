"""What is wrong with the setup, in the words of the trade, and what to do?"""

import numpy as np

from tapemark.analysis.catchlights import Catchlight
from tapemark.analysis.eye_sight import EyeSight
from tapemark.analysis.finding import Finding, percent
from tapemark.analysis.glare import LensGlare, Reflection
from tapemark.analysis.scene import Scene
from tapemark.analysis.shading import ROOM_KINDS
from tapemark.analysis.spread import GuessOutcome
from tapemark.anatomy import SIDES, Side
from tapemark.geometry import angle_between, dot
from tapemark.studio import Setup, Sitter

SMALLEST_TOLD = 0.0005  # share of eye or lens: less rounds to nothing
RIM_OVER_EYE = 0.02
#: Eyes turned farther than this show too much white (common practice, no
#: published source). [deg]
COMFORTABLE_GAZE_DEG = 30.0
HEAD_OVER_EYE = 0.25
LEVEL_CAMERA_DEG = 5.0
HEADROOM_M = 0.1  # what a light keeps to ceiling and floor


def lens_findings(scene: Scene, lenses: tuple[LensGlare, ...]) -> list[Finding]:
    """Return findings about reflections in the lenses."""
    found = []
    for lens in lenses:
        if lens.verdict == "clear":
            continue
        veiled = lens.verdict == "veiled"
        guilty = [
            one
            for one in lens.reflections
            if (one.veil if veiled else one.lens_cover) > SMALLEST_TOLD
        ]
        place = (
            f"{percent(lens.veil)} of the {lens.side} eye is veiled"
            if veiled
            else f"Reflections cover {percent(lens.lens_cover)} of the {lens.side} lens, "
            "beside the eye"
        )
        found.append(
            Finding(
                code=f"lens-{lens.verdict}",
                severity="trouble" if veiled else "caution",
                text=f"{place}: {_listed([_source(one, veiled=veiled) for one in guilty])}.",
                what_to_do=_how_to_clear(scene, guilty),
            )
        )
    return found


def catchlight_findings(catchlights: tuple[Catchlight, ...]) -> list[Finding]:
    """Return findings about eyes without a catchlight."""
    found = []
    for side in SIDES:
        own = [one for one in catchlights if one.side == side]
        if any(one.visible for one in own):
            continue
        why = "; ".join(f"{one.source}: {_hidden_in_words(one.hidden_by)}" for one in own)
        found.append(
            Finding(
                code="catchlight-missing",
                severity="trouble",
                text=f"No catchlight in the {side} eye" + (f" ({why})." if why else "."),
                what_to_do=_how_to_light_eye(own),
            )
        )
    return found


def sight_findings(scene: Scene, sights: tuple[EyeSight, ...]) -> list[Finding]:
    """Return findings about eyes hidden by the rim or the head."""
    found = _gaze_findings(scene) + _camera_findings(scene)
    for sight in sights:
        if sight.rim_share > RIM_OVER_EYE:
            found.append(
                Finding(
                    code="rim-over-eye",
                    severity="caution" if sight.rim_share < 0.15 else "trouble",
                    text=f"The rim crosses {percent(sight.rim_share)} of the {sight.side} eye.",
                    what_to_do=_how_to_free_eye(scene),
                )
            )
        if sight.head_share > HEAD_OVER_EYE:
            found.append(
                Finding(
                    code="eye-hidden",
                    severity="caution",
                    text=f"Nose or brow hides {percent(sight.head_share)} of the "
                    f"{sight.side} eye from the camera.",
                    what_to_do="Turn the face back towards the camera if both eyes should show.",
                )
            )
    return found


def _how_to_free_eye(scene: Scene) -> str:
    """Return how the rim leaves the eye: by the glasses, the camera or the head."""
    glasses = scene.sitter.glasses
    if glasses is not None and glasses.slipped_mm > 0:
        return "Seat the glasses properly on the nose."
    span = scene.camera - scene.pose.origin
    steep = abs(float(np.degrees(np.arctan2(span[2], np.hypot(span[0], span[1])))))
    if steep > LEVEL_CAMERA_DEG:
        return "Bring the camera nearer to eye level."
    return "Turn the face back towards the camera, or level the chin."


def _gaze_findings(scene: Scene) -> list[Finding]:
    """Return whether the eyes would have to turn far to meet the camera."""
    forward = scene.pose.axes[:, 1]
    turned = float(np.degrees(angle_between(scene.eyes.gaze.mean(axis=0), forward)))
    if turned <= COMFORTABLE_GAZE_DEG:
        return []
    return [
        Finding(
            code="gaze-strained",
            severity="caution",
            text=f"The eyes would have to turn {turned:.0f}° to look into the camera.",
            what_to_do="Turn the head towards the camera, or let the sitter look past it "
            '(gaze = "ahead").',
        )
    ]


def _camera_findings(scene: Scene) -> list[Finding]:
    """Return what stands between the camera and the eyes."""
    camera, eyes = np.broadcast_to(scene.camera, (2, 3)), scene.eyes.iris_center
    found = []
    for emitter in scene.emitters:
        if emitter.kind in ROOM_KINDS:
            continue
        span = eyes - camera
        distance = np.sqrt(dot(span, span))
        met = emitter.face.hits(camera, span / distance[:, None]).distance
        with np.errstate(invalid="ignore"):
            hides = bool(np.any(met < distance))
        if hides:
            found.append(
                Finding(
                    code="camera-blocked",
                    severity="trouble",
                    text=f"{emitter.name} stands between the camera and the eyes.",
                    what_to_do=f"Move {emitter.name} or the camera until the eyes are free.",
                )
            )
    return found + _neighbour_findings(scene)


def _neighbour_findings(scene: Scene) -> list[Finding]:
    """Return who stands between the camera and the eyes."""
    span = scene.eyes.iris_center - scene.camera
    distance = np.sqrt(dot(span, span))
    others = [one for one in scene.setup.people if one is not scene.sitter]
    return [
        Finding(
            code="camera-blocked",
            severity="trouble",
            text=f"{other.name} stands between the camera and the eyes of {scene.sitter.name}.",
            what_to_do=f"Move {other.name} aside, or seat the one in front lower.",
        )
        for other, body in zip(others, scene.neighbours, strict=True)
        if body.blocks(scene.camera, span / distance[:, None], reach_m=distance).any()
    ]


def flip_findings(
    lenses: tuple[LensGlare, ...], outcomes: tuple[GuessOutcome, ...]
) -> list[Finding]:
    """Return where a verdict would flip within what is only guessed."""
    found = []
    for lens in lenses:
        changed = [one for one in outcomes if one.verdicts[lens.side] != lens.verdict]
        if not changed:
            continue
        worse = lens.verdict == "clear" or any(
            one.verdicts[lens.side] == "veiled" for one in changed
        )
        found.append(
            Finding(
                code="verdict-may-flip",
                severity="caution" if worse else "note",
                text=f"The {lens.side} lens is {lens.verdict} as described, but would be "
                f"{_by_verdict(lens.side, changed)}.",
                what_to_do="These were not stated for the glasses: take a test shot, or measure "
                "them and add them to the file.",
            )
        )
    return found


def _by_verdict(side: Side, changed: list[GuessOutcome]) -> str:
    """Return which changes lead to which verdict, in words."""
    verdicts = dict.fromkeys(one.verdicts[side] for one in changed)
    parts = []
    for verdict in verdicts:
        causes = [one.what for one in changed if one.verdicts[side] == verdict]
        parts.append(f"{verdict} with {' or '.join(causes)}")
    return "; ".join(parts)


def data_findings(setup: Setup) -> list[Finding]:
    """Return what the setup itself leaves open or makes one look at again."""
    return [
        Finding(code="look-again", severity="caution", text=text, what_to_do=what, topic="safety")
        for text, what in (_split(note) for note in setup.notes)
    ]


def prescription_findings(sitter: Sitter) -> list[Finding]:
    """Return a note where the prescription of somebody's glasses is assumed."""
    glasses = sitter.glasses
    if glasses is None or not glasses.prescription_guessed:
        return []
    return [
        Finding(
            code="prescription-guessed",
            severity="note",
            text="The prescription is assumed: right "
            f"{glasses.assumed_right.sphere_d:+.2f} D, left "
            f"{glasses.assumed_left.sphere_d:+.2f} D "
            f"(±{glasses.prescription_spread_d:.1f} D).",
            what_to_do="Ask the sitter, or look through the lens: do the eyes look smaller, "
            "larger or unchanged?",
        )
    ]


def _source(reflection: Reflection, *, veiled: bool) -> str:
    share = reflection.veil if veiled else reflection.lens_cover
    return (
        f"{reflection.source} in the {reflection.surface} surface {percent(share)}, "
        f"{_stops(reflection.stops_over_skin)}"
    )


def _how_to_clear(scene: Scene, reflections: list[Reflection]) -> str:
    """Return what moves the reflections of one lens off, worst first."""
    first = {one.source: one for one in reversed(reflections)}
    names = list(dict.fromkeys(one.source for one in reflections))
    text = "; then ".join(_move_off(scene, first[name]) for name in names[:2])
    return f"{text[:1].upper()}{text[1:]}. One change at a time, then a test shot."


def _move_off(scene: Scene, reflection: Reflection) -> str:
    """Return how one light gets out of a lens: by the nearer edge, or to the side."""
    name = reflection.source
    light = next((one for one in scene.setup.lights if one.name == name), None)
    if light is None:
        bounced = [one for one in scene.emitters if one.name == name and one.kind in ROOM_KINDS]
        if bounced and bounced[0].fed_by:
            return f"aim {' and '.join(bounced[0].fed_by)} farther back or higher"
        return f"cover {name}, or turn the sitter or the camera a little away from it"
    x = light.place.position_m[0]
    side = "camera-left" if x > 0.05 else "camera-right" if x < -0.05 else "one side"
    swing = f"swing {name} farther to {side}"
    reach = light.modifier.face_size_m[1] / 2
    room_above = scene.setup.room.height_m - light.place.height_m - reach > HEADROOM_M
    if reflection.above_eye_mm >= 0:
        way = f"raise {name} or " if room_above else ""
    else:
        way = f"lower {name} or " if light.place.height_m - reach > HEADROOM_M else ""
    return f"{way}{swing}, then re-aim it at the face".replace(f"or swing {name}", "or swing it")


def _listed(parts: list[str]) -> str:
    return "; ".join(parts)


def _how_to_light_eye(own: list[Catchlight]) -> str:
    reasons = {one.hidden_by for one in own}
    if not own:
        return "Put a light in front of the sitter, within about 60° of where the eyes look."
    if reasons == {"rim"}:
        return "Bring camera and light nearer to eye level, so that the rim leaves the eye free."
    across, up = own[0].offset_mm
    aside = abs(across) > abs(up)
    if reasons & {"head", "rim", "edge of the iris"} and aside:
        return "Swing the light towards the camera, or turn the face towards it."
    if reasons & {"lid", "head", "rim", "edge of the iris"}:
        way, other = ("Lower", "below") if up >= 0 else ("Raise", "above")
        return (
            f"{way} the light a little, or bring a small light or a white panel {other} it; "
            "check the lenses again."
        )
    if reasons == {"something in front"}:
        return "Clear the way between the light and the sitter."
    if reasons == {"too faint"}:
        return "Turn that light up against the others, or bring another in from the front."
    return "Bring a light nearer to where the eyes look."


def _hidden_in_words(reason: str) -> str:
    words = {
        "lid": "hidden by the lid",
        "head": "hidden by brow or nose",
        "rim": "hidden by the rim",
        "edge of the iris": "falls beside the iris",
        "something in front": "blocked by something in front of it",
        "too faint": "too faint to see",
    }
    return words[reason]


def _stops(stops: float) -> str:
    way = "over" if stops >= 0 else "under"
    return f"{abs(stops):.1f} stops {way} lit skin"


def _split(note: str) -> tuple[str, str]:
    text, _, what = note.rstrip(".").rpartition(": ")
    return (f"{text[:1].upper()}{text[1:]}.", f"{what[:1].upper()}{what[1:]}.")
