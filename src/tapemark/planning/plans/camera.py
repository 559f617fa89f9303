"""Where does the camera stand, with which lens, for the frame that a brief asks for?"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis import build_scenes, framing
from tapemark.analysis.framing import (
    ADVISED_DISTANCE_M,
    CROPS_M,
    ROOM_BEHIND_CAMERA_M,
    SEATED_CROPS_M,
)
from tapemark.optics import conjugate_distances
from tapemark.studio import Brief, Camera, Place, Setup, changed
from tapemark.units import MM

GROUP_SPARE = 1.03  # of a group's frame, over what just holds it
NATURAL_M = 1.4  # least distance at which a face looks natural, and a little
LONGEST_M = 4.0  # farther than this one talks to nobody (common practice)
HAIR_OVER_EYES_M = 0.17  # top of the hair over the eyes, about
HEADROOM = 0.07  # of the frame's height, over the hair
LEAST_EYES_UP = 0.55  # eyes this far up the frame, at least
#: A frame may be so much larger or smaller than its name says, before another name is nearer.
LATITUDE = 1.15
LOW_CAMERA_FROM_M = 0.7  # frames taller than this are taken from below the eyes


@dataclass(frozen=True, kw_only=True, slots=True)
class CameraChoice:
    """A camera for a brief.

    Attributes
    ----------
    camera : Camera
        Where it stands, with its lens.
    limit : str
        What kept it from the usual distance; empty where nothing did.
    """

    camera: Camera
    limit: str


def choose_camera(brief: Brief) -> CameraChoice:
    """Return the camera whose lens gives the frame from the most natural distance."""
    if brief.framing == "group" or brief.companions:
        return _for_group(brief)
    crops = SEATED_CROPS_M if brief.sitter.posture == "seated" else CROPS_M
    height_m = crops[brief.framing]
    return _for_height(brief, height_m=height_m, across_m=0.0)


def _for_height(brief: Brief, *, height_m: float, across_m: float) -> CameraChoice:
    """Return the camera for a frame so high at the sitter, its middle so far to camera-left."""
    farthest = brief.room.length_m - brief.room.behind_sitter_m - ROOM_BEHIND_CAMERA_M
    frame = _camera(brief, focal_mm=brief.camera.lenses_mm[0], distance_m=1.0, aim=(0.0, 1.0))
    drawn = frame.frame_height_mm * MM / height_m
    options = []
    for focal_mm in sorted(brief.camera.lenses_mm):
        exact = float(conjugate_distances(drawn, focal_length_m=focal_mm * MM)[0])
        nearest, most = exact / LATITUDE, exact * LATITUDE
        wanted = min(max(exact, min(ADVISED_DISTANCE_M, most)), max(farthest, nearest))
        wanted = min(wanted, most)
        options.append((_unease(wanted, farthest), focal_mm, wanted, exact))
    _, focal_mm, distance, exact = min(options)
    distance = round(min(distance, max(farthest, 0.5)), 2)
    size = height_m * distance / exact
    eye_m = brief.sitter.eye_height_m
    eyes_up = max(LEAST_EYES_UP, 1.0 - HAIR_OVER_EYES_M / size - HEADROOM)
    aim_m = max(eye_m - (eyes_up - 0.5) * size, 0.05)
    limit = ""
    if exact > farthest * LATITUDE:
        limit = "the room behind the camera"
    elif distance < ADVISED_DISTANCE_M - 0.05:
        limit = "the shortest distance that the lenses allow" if exact < farthest else "the room"
    camera = _camera(brief, focal_mm=focal_mm, distance_m=distance, aim=(across_m, aim_m))
    return CameraChoice(camera=camera, limit=limit)


def _unease(distance_m: float, farthest_m: float) -> float:
    """Return how far a distance is from one at which a face looks and feels natural."""
    near = max(np.log(ADVISED_DISTANCE_M / distance_m), 0.0)
    far = max(np.log(distance_m / LONGEST_M), 0.0)
    beyond = max(np.log(distance_m / max(farthest_m, 0.1)), 0.0)
    return float(near + far + 10.0 * beyond + (3.0 if distance_m < NATURAL_M else 0.0))


def _camera(
    brief: Brief, *, focal_mm: float, distance_m: float, aim: tuple[float, float]
) -> Camera:
    across_m, aim_m = aim
    wanted, eye_m = brief.camera, brief.sitter.eye_height_m
    tall = max(2.0 * (eye_m - aim_m), 0.0)
    low_m = 0.0 if tall < 2.0 * 0.35 * LOW_CAMERA_FROM_M else 0.6 * (eye_m - aim_m)
    orientation = wanted.orientation
    if orientation is None:
        orientation = "landscape" if brief.companions else "portrait"
    side_deg = float(np.rad2deg(np.arctan2(across_m, 0.001))) if abs(across_m) > 0.005 else 0.0
    return Camera(
        place=Place(distance_m=distance_m, side_deg=0.0, height_m=round(eye_m - low_m, 2)),
        aim=Place(
            distance_m=round(abs(across_m), 2),
            side_deg=side_deg,
            height_m=round(aim_m, 2),
        ),
        focal_length_mm=focal_mm,
        sensor=wanted.sensor,
        orientation=orientation,
        aperture=brief.aperture,
        shutter_s=wanted.shutter_s,
        sync_s=wanted.sync_s,
        iso=wanted.iso,
        framing=brief.framing,
    )


def _for_group(brief: Brief) -> CameraChoice:
    """Return the camera for several people: the frame is first tried, then fitted to them."""
    people = (brief.sitter, *brief.companions)
    across = [one.mark_m[0] for one in people]
    middle = 0.5 * (min(across) + max(across))
    top = max(one.eye_height_m for one in people) + HAIR_OVER_EYES_M
    height_m = 1.5
    for _ in range(3):
        choice = _for_height(brief, height_m=height_m, across_m=middle)
        choice = _raised(brief, choice, top_m=top)
        seen = framing(build_scenes(bare_setup(brief, choice.camera)))
        if not np.isfinite(seen.wish_distance_m):
            break
        height_m = seen.frame_height_m * GROUP_SPARE
        height_m *= float(seen.wish_distance_m / choice.camera.place.distance_m)
    return choice


def _raised(brief: Brief, choice: CameraChoice, *, top_m: float) -> CameraChoice:
    """Return a camera aimed so that the highest head keeps its headroom."""
    camera = choice.camera
    frame_m = camera.frame_height_mm / camera.focal_length_mm * camera.place.distance_m
    aim_m = max(top_m + 2.0 * HEADROOM * frame_m - 0.5 * frame_m, 0.3)
    lens_m = round(min(max(aim_m, 0.8), brief.room.height_m - 0.3), 2)
    place = changed(camera.place, {"height_m": lens_m})
    aim = camera.aim
    assert isinstance(aim, Place)  # as `_camera` makes it
    aimed = changed(aim, {"height_m": round(aim_m, 2)})
    return CameraChoice(camera=changed(camera, {"place": place, "aim": aimed}), limit=choice.limit)


def bare_setup(brief: Brief, camera: Camera) -> Setup:
    """Return the setup of a brief before any light or backdrop is put up."""
    return Setup(
        title=brief.title,
        units=brief.units,
        room=brief.room,
        sitter=brief.sitter,
        companions=brief.companions,
        camera=camera,
        windows=brief.windows,
        screens=brief.screens,
        circuits=brief.circuits,
        walkways=brief.walkways,
    )
