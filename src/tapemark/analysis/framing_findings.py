"""What is wrong with frame, distance and sharpness, and what to do?"""

import numpy as np

from tapemark.analysis.depth_of_field import DepthOfField, FeatureSharpness
from tapemark.analysis.finding import Finding, Severity, percent, stops_text
from tapemark.analysis.frame_clearance import Clearance
from tapemark.analysis.framing import Framing, Overhang, PersonInFrame
from tapemark.analysis.scene import Scene
from tapemark.photometry import nominal_aperture
from tapemark.studio import Setup
from tapemark.units import format_length

#: Faces photographed from 0.45 m were rated worse than from 1.35 m; [bryan-2012]. [m]
FACE_TOO_NEAR_M, FACE_NEAR_M = 0.6, 1.35
HEADROOM_MOST, HEADROOM_GOOD = 0.25, 0.10  # of the frame's height; common practice
NEAR_EDGE = 0.02  # of the frame's width: a lens is not known better (assumption)
SMALLEST_APERTURE = 22.0  # f-number; common practice: beyond it the whole frame goes soft
_JOINTS = ("knees", "ankles", "feet")
_MARGIN_M = 0.03  # beyond the least move


def framing_findings(scene: Scene, frame: Framing) -> list[Finding]:
    """Return findings about who and how much is in the frame."""
    found = [one for person in frame.people for one in _cut_findings(scene, frame, person)]
    return found + _wish_findings(scene, frame) + _room_around(scene, frame)


def perspective_findings(scene: Scene, frame: Framing) -> list[Finding]:
    """Return whether the camera is so near that the face looks distorted."""
    seen = frame.perspective
    if not seen.distance_m < FACE_NEAR_M:
        return []
    system = scene.setup.units
    larger = percent(seen.nose_over_ear - 1.0)
    whose = f"{seen.sitter}'s face" if len(frame.people) > 1 else "the face"
    if np.isfinite(seen.matching_focal_length_mm):
        back = format_length(seen.advised_distance_m, system=system)
        what = (
            f"Go back to {back} and set about {seen.matching_focal_length_mm:.0f} mm: the head "
            "stays as large."
        )
    else:
        what = (
            "Turn the set so that the camera can go farther back; a longer lens alone is no cure."
        )
    return [
        _finding(
            "perspective-close",
            "trouble" if seen.distance_m < FACE_TOO_NEAR_M else "caution",
            f"The camera is {format_length(seen.distance_m, system=system)} from {whose}: the nose "
            f"is drawn {larger} larger than the ears, whatever the lens.",
            what,
            sitter=seen.sitter,
        )
    ]


def sharpness_findings(scene: Scene, field: DepthOfField | None) -> list[Finding]:
    """Return what the depth of field does not hold."""
    if field is None:
        return []
    soft = [one for one in field.features if not one.sharp]
    if not soft:
        return []
    group = len({one.sitter for one in field.features}) > 1
    system = scene.setup.units
    near, far = format_length(field.near_m, system=system), _far(field.far_m, scene.setup)
    return [
        _finding(
            "depth-of-field-thin",
            _how_soft(soft),
            f"At f/{scene.setup.camera.aperture:g} it is sharp from {near} to {far}, focused on "
            f"{field.focus_on}'s nearer eye: {_features_in_words(soft, group=group)} "
            f"{'is' if len(soft) == 1 else 'are'} not (circle of confusion "
            f"{field.circle_mm:.3f} mm, {field.circle_from}).",
            _how_to_hold(scene, field, soft),
            sitter="" if group else field.focus_on,
        )
    ]


def clearance_findings(scene: Scene, clearances: tuple[Clearance, ...]) -> list[Finding]:
    """Return which lights, stands, panels and screens show in the frame, or nearly."""
    found, system = [], scene.setup.units
    for one in clearances:
        far = format_length(abs(one.gap_m), system=system)
        thing = _thing(one)
        if one.in_frame and not one.hidden:
            found.append(
                _finding(
                    "light-in-frame" if one.kind == "light" else f"{one.kind}-in-frame",
                    "trouble" if one.over_backdrop else "caution",
                    f"{thing} is in the frame, {far} past its {one.edge} edge"
                    + ("." if one.over_backdrop else ", beside the backdrop."),
                    _how_to_clear(one, scene.setup),
                )
            )
        elif 0.0 <= one.gap < NEAR_EDGE:
            found.append(
                _finding(
                    "near-frame-edge",
                    "note",
                    f"{thing} clears the {one.edge} edge of the frame by {far} only.",
                    f"Look at the {one.edge} edge in the test shot.",
                )
            )
    return found


def _cut_findings(scene: Scene, frame: Framing, person: PersonInFrame) -> list[Finding]:
    """Return where the frame leaves a person out or cuts them off."""
    if not person.seen:
        text = f"{person.sitter} is not in the frame."
        what = f"Aim the camera at {person.sitter}, or go back."
        return [_finding("person-out-of-frame", "trouble", text, what, sitter=person.sitter)]
    past = person.head_past
    if frame.crop == "tight head" and person.face_whole:
        past = tuple(one for one in past if one.edge != "top")
    if past:
        code, severity, part = (
            ("person-cut-off", "trouble", "face")
            if not person.face_whole
            else ("head-cut-off", "caution", "head")
        )
    elif len(frame.people) > 1 and frame.wish in {None, "group"} and person.body_past:
        code, severity, part = "shoulder-cut-off", "caution", "shoulder"
        past = person.body_past
    else:
        return []
    return [
        _finding(
            code,
            "trouble" if severity == "trouble" else "caution",
            f"The frame cuts {person.sitter}'s {part}: {_edges(past, scene.setup)}.",
            _how_to_take_in(past, scene.setup),
            sitter=person.sitter,
        )
    ]


def _wish_findings(scene: Scene, frame: Framing) -> list[Finding]:
    """Return whether the frame is another than the one wished for, and the cure."""
    if frame.wish is None or frame.crop in {frame.wish, "nobody"}:
        return []
    system = scene.setup.units
    height = format_length(frame.frame_height_m, system=system)
    back = format_length(frame.wish_distance_m, system=system)
    by_lens = f"set about {frame.wish_focal_length_mm:.0f} mm from here"
    nearer = frame.wish_distance_m < frame.perspective.distance_m
    by_foot = f"{'go nearer, to' if nearer else 'go back to'} {back} with this lens"
    can_walk = FACE_NEAR_M <= frame.wish_distance_m <= frame.farthest_m
    what = f"{by_foot}, or {by_lens}" if can_walk else by_lens
    if not can_walk and nearer:
        what += "; nearer would distort the face"
    elif not can_walk:
        farthest = format_length(frame.farthest_m, system=system)
        what += f": the room lets the camera back to {farthest} only"
    return [
        _finding(
            "framing-missed",
            "caution",
            f"The frame takes in {height} at the sitter, which is {frame.crop} and not "
            f"{frame.wish}.",
            f"{what[:1].upper()}{what[1:]}.",
        )
    ]


def _room_around(scene: Scene, frame: Framing) -> list[Finding]:
    """Return notes on much room over the heads, and on a frame that ends at a joint."""
    found = []
    whole = [one for one in frame.people if one.seen and not one.head_past]
    if len(whole) < len(frame.people):
        return []
    highest = min(frame.people, key=lambda one: one.headroom)
    if highest.headroom > HEADROOM_MOST:
        lower = (highest.headroom - HEADROOM_GOOD) * frame.frame_height_m
        found.append(
            _finding(
                "headroom-large",
                "note",
                f"{percent(highest.headroom)} of the frame's height is empty above the head.",
                f"Aim the camera {format_length(lower, system=scene.setup.units)} lower, so that "
                "the eyes come into the upper third.",
            )
        )
    for one in frame.people:
        if one.lower_edge in _JOINTS:
            found.append(
                _finding(
                    "cut-at-joint",
                    "note",
                    f"The bottom edge cuts {one.sitter} at the {one.lower_edge}.",
                    "Aim a little higher or lower: between joints the cut looks meant.",
                    sitter=one.sitter,
                )
            )
    return found


def _how_to_take_in(past: tuple[Overhang, ...], setup: Setup) -> str:
    """Return how the frame takes in what it cuts."""
    edges = {one.edge for one in past}
    if {"camera-left", "camera-right"} <= edges or {"top", "bottom"} <= edges:
        return "Go back, or set a shorter lens."
    ways = {"top": "higher", "bottom": "lower"}
    moves = [
        f"{format_length(one.by_m + _MARGIN_M, system=setup.units)} "
        f"{ways.get(one.edge, f'farther to {one.edge}')}"
        for one in past
    ]
    return f"Aim the camera {' and '.join(moves)}, or go back."


def _edges(past: tuple[Overhang, ...], setup: Setup) -> str:
    return " and ".join(
        f"{format_length(one.by_m, system=setup.units)} past the {one.edge} edge" for one in past
    )


def _thing(one: Clearance) -> str:
    if one.part == "body":
        return one.name
    return f"The {'boom arm' if one.part == 'boom' else 'stand'} of {one.name}"


def _how_to_clear(one: Clearance, setup: Setup) -> str:
    far = format_length(abs(one.gap_m) + _MARGIN_M, system=setup.units)
    if one.edge == "top":
        return f"Raise {one.name} by {far}, or frame tighter."
    if one.edge == "bottom":
        return f"Lower {one.name} by {far}, or frame tighter."
    return f"Move {one.name} {far} farther to {one.edge}, or frame tighter."


def _how_soft(soft: list[FeatureSharpness]) -> Severity:
    """Return trouble if both eyes of somebody are soft, caution for an eye or a nose."""
    eyes = [one.sitter for one in soft if one.feature.endswith("eye")]
    if len(set(eyes)) < len(eyes):
        return "trouble"
    return "caution" if any(one.feature != "ear" for one in soft) else "note"


def _features_in_words(soft: list[FeatureSharpness], *, group: bool) -> str:
    if not group:
        return " and ".join(f"the {one.feature}" for one in soft)
    eyes = [one for one in soft if one.feature.endswith("eye")] or soft
    return " and ".join(f"{one.sitter}'s {one.feature}" for one in eyes)


def _how_to_hold(scene: Scene, field: DepthOfField, soft: list[FeatureSharpness]) -> str:
    """Return how to get sharp what is not, the easiest way first."""
    set_to = scene.setup.camera.aperture
    eyes_soft = any(one.feature.endswith("eye") for one in soft)
    if eyes_soft and field.better_focus_on != field.focus_on:
        better = max(_next_stop(field.aperture_for_better), set_to)
        if better < _next_stop(field.aperture_for_eyes) and better <= SMALLEST_APERTURE:
            stop = "" if better <= set_to else f" and {_stop_down(better, set_to)}"
            return f"Focus on {field.better_focus_on}'s nearer eye{stop}."
    needed = _next_stop(field.aperture_for_all)
    if needed <= SMALLEST_APERTURE:
        how = _stop_down(needed, set_to)
        return f"{how[:1].upper()}{how[1:]}."
    needed = _next_stop(field.aperture_for_eyes)
    if eyes_soft and needed <= SMALLEST_APERTURE:
        how = _stop_down(needed, set_to)
        return f"{how[:1].upper()}{how[1:]} for the eyes, and let the rest go soft."
    if len({one.sitter for one in field.features}) > 1:
        return "Bring the faces into one plane square to the camera, or go back and crop."
    return "Let nose and ear go soft, or go back and crop: no usual aperture holds them."


def _stop_down(aperture: float, set_to: float) -> str:
    more = stops_text(2.0 * float(np.log2(aperture / set_to)))
    return f"stop down to f/{float(nominal_aperture(aperture)):g} and give {more} more light or ISO"


def _next_stop(aperture: float) -> float:
    """Return the next third-stop aperture that is no wider [-]."""
    return float(2.0 ** (np.ceil(6.0 * np.log2(max(aperture, 1.0)) - 1e-6) / 6.0))


def _far(far_m: float, setup: Setup) -> str:
    return format_length(far_m, system=setup.units) if np.isfinite(far_m) else "far away"


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
