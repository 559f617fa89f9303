"""How is the face modelled: which pattern, how bright are its sides, what shades it?

A pattern is named by the shadows themselves, found on the head by how much of
the real light each place sees, within the directions that are published for
it.  Directions count from the nose, so that a face that turns together with
its light keeps its pattern.

=========== ============ =============== =====================================
pattern     from nose    up              shadow
=========== ============ =============== =====================================
butterfly   under 10°    25 to 70°       under the nose, alike to both sides
clamshell   the same     the same        the same, with a light from below
loop        10 to 50°    25 to 60°       of nose and cheek do not touch
Rembrandt   30 to 75°    any             touch and leave a lit triangle
split       50 to 110°   under 45°       cheek away from the key is dark
rim         behind       any             only an edge of the face is lit
flat        under 20°    under 20°       none that models
=========== ============ =============== =====================================

Elevations have 5 degrees of grace, for the sources are round numbers of
practitioners and differ.

References
----------
Butterfly and its elevations [oneslide-butterfly]; loop and Rembrandt
[portraitlighting-patterns], with Rembrandt's triangle as what decides, since
sources disagree whether its key is higher or lower than for loop
[hurter-patterns]; split [larsen-split]; rim, broad and short [army-ss0510] p.
23; clamshell [howtofilm-clamshell].
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapemark.analysis.cheek_shadow import CheekShadow, cheek_shadow
from tapemark.analysis.exposure import ROOM_LAMPS
from tapemark.analysis.eye_shade import EyeShade, eye_shade
from tapemark.analysis.face_light import FaceLight
from tapemark.analysis.face_points import CHEEK, FOREHEAD, mirrored, named_places
from tapemark.analysis.key_light import (
    FaceRatio,
    KeyLight,
    direction_angles,
    direction_to,
    key_light,
)
from tapemark.analysis.light_at_places import light_at_places
from tapemark.analysis.nose_shadow import NoseShadow, lip_elevation_deg, nose_shadow
from tapemark.analysis.scene import Scene
from tapemark.analysis.sheen import Sheen, sheen
from tapemark.analysis.told_ratio import ToldRatio, told_ratio
from tapemark.anatomy import Side
from tapemark.geometry import normalize
from tapemark.photometry import stops_between

Pattern = Literal["butterfly", "clamshell", "loop", "Rembrandt", "split", "rim", "flat", "none"]

GRACE_DEG = 5.0
IN_LINE_DEG = 10.0  # half-way to where loop begins, 20 degrees
BUTTERFLY_UP_DEG = (25.0, 70.0)
LOOP_UP_DEG, LOOP_ACROSS_DEG = (25.0, 60.0), 50.0
REMBRANDT_ACROSS_DEG = (30.0, 75.0)
SPLIT_ACROSS_DEG, SPLIT_UP_DEG = (50.0, 110.0), 45.0
FLAT_DEG = 20.0  # nearer to the nose's axis a key throws no shadow that models (assumption)
DARK_CHEEK = 0.1  # share of the cheek still lit in split light (assumption)
PROFILE_DEG = 60.0  # a face turned so far from the camera shows its profile
BEHIND = float(np.cos(np.deg2rad(110.0)))  # a key farther round from the camera is behind
#: A light this far below and in line, within so many stops of the key, makes a clamshell; the
#: published ratio is at most 2:1, a white panel gives less (assumption).
CLAMSHELL_DOWN_DEG, CLAMSHELL_STOPS = -10.0, 4.0


@dataclass(frozen=True, kw_only=True, slots=True)
class FaceReading:
    """Light on one part of the skin.

    Attributes
    ----------
    exposure_lx_s : float
        Mean over the part, with all shadows. [lx·s]
    stops_from_key : float or None
        Against the key metered square on; None where no light arrives. [stops]
    by_source : tuple of (str, float)
        How much of it comes from each emitter, and from the room's lamps. [lx·s]
    """

    exposure_lx_s: float
    stops_from_key: float | None
    by_source: tuple[tuple[str, float], ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Modelling:
    """How a face is modelled.

    Attributes
    ----------
    key : str or None
        The light that models the face; None in the dark.
    pattern : str
        One of the patterns above, ``none`` where none fits.
    because : str
        The shadows and directions that led to the name, in words.
    key_side : str or None
        The sitter's own side from which the key comes.
    azimuth_deg, elevation_deg : float or None
        Of the key from the nose, positive to the sitter's own right and up. [deg]
    face_side : str
        ``broad``, ``short`` or ``neither``: whether the key lights the side of
        the face that is turned to the camera.
    ratio : FaceRatio or None
        As set, each light metered alone; None without any fill.
    right_cheek, left_cheek, forehead : FaceReading
        Light on the skin.
    told : ToldRatio or None
        The lighting ratio that is told: as set where there is a fill, else that of the cheeks.
    highlight_to_shadow : float or None
        Brighter cheek over darker, as it falls; None where the darker gets none. [-]
    nose : NoseShadow or None
        None where the nose throws no shadow that one sees.
    shadow_cheek : CheekShadow or None
        The cheek away from the key.
    lip_elevation_deg : float
        Height of a key at which the nose's shadow meets the upper lip with the
        light straight in front. [deg]
    eyes : tuple of EyeShade
        What right and left eye lose to brow and rim.
    sheen : tuple of Sheen
        Where the skin shines towards the camera.
    """

    key: str | None
    pattern: Pattern
    because: str
    key_side: Side | None
    azimuth_deg: float | None
    elevation_deg: float | None
    face_side: Literal["broad", "short", "neither"]
    ratio: FaceRatio | None
    told: ToldRatio | None
    right_cheek: FaceReading
    left_cheek: FaceReading
    forehead: FaceReading
    highlight_to_shadow: float | None
    nose: NoseShadow | None
    shadow_cheek: CheekShadow | None
    lip_elevation_deg: float
    eyes: tuple[EyeShade, EyeShade]
    sheen: tuple[Sheen, ...]


def modelling(scene: Scene, *, light: FaceLight) -> Modelling:
    """Return how the face of a scene is modelled.

    Parameters
    ----------
    scene : Scene
        Sitter, camera and emitters.
    light : FaceLight
        Which share of each emitter the face sees.

    Notes
    -----
    On the parametric head, bare of hair. What the whole room sends back
    bounce after bounce is not in the readings; it lifts shadows in small pale
    rooms. Room lamps are taken to light all sides alike.
    """
    key = key_light(scene, light=light)
    cheek = None if key is None else cheek_shadow(scene, key)
    pattern, because = _pattern(scene, key, cheek)
    right, left, forehead = _readings(scene, key)
    cheeks = _between(right, left)
    return Modelling(
        key=None if key is None else key.name,
        pattern=pattern,
        because=because,
        key_side=None if key is None else _side(key),
        azimuth_deg=None if key is None else key.azimuth_deg,
        elevation_deg=None if key is None else key.elevation_deg,
        face_side="neither" if key is None else _face_side(scene, key),
        ratio=None if key is None else key.ratio,
        told=told_ratio(scene, key, cheeks=cheeks),
        right_cheek=right,
        left_cheek=left,
        forehead=forehead,
        highlight_to_shadow=cheeks,
        nose=None if key is None else nose_shadow(scene, key),
        shadow_cheek=cheek,
        lip_elevation_deg=lip_elevation_deg(scene.head),
        eyes=eye_shade(scene, key=key),
        sheen=sheen(scene),
    )


def lighting_ratio(scene: Scene, key: KeyLight | None) -> ToldRatio | None:
    """Return the ratio that `modelling` tells, alone; cheeks are looked at only without a fill."""
    told = told_ratio(scene, key, cheeks=None)
    if told is not None or key is None:
        return told
    right, left, _ = _readings(scene, key)
    return told_ratio(scene, key, cheeks=_between(right, left))


def _between(right: FaceReading, left: FaceReading) -> float | None:
    """Return the brighter cheek over the darker one; None where that gets nothing."""
    brighter, darker = (
        max(right.exposure_lx_s, left.exposure_lx_s),
        min(right.exposure_lx_s, left.exposure_lx_s),
    )
    return brighter / darker if darker > 0 else None


def named_pattern(scene: Scene, key: KeyLight | None) -> Pattern:
    """Return the pattern alone, as `modelling` names it."""
    return _pattern(scene, key, None if key is None else cheek_shadow(scene, key))[0]


def _pattern(scene: Scene, key: KeyLight | None, cheek: CheekShadow | None) -> tuple[Pattern, str]:
    """Return the pattern's name and what led to it."""
    if key is None or cheek is None:
        return "none", "no light reaches the face"
    across, up = abs(key.azimuth_deg), key.elevation_deg
    where = _where(key)
    if across > SPLIT_ACROSS_DEG[1] or _behind_profile(scene, key):
        return "rim", f"{where}, behind the sitter"
    if up < CLAMSHELL_DOWN_DEG:
        return "none", f"{where}: light from below"
    if across < FLAT_DEG and up < FLAT_DEG:
        return "flat", f"{where}: too near the nose's own line to throw a shadow"
    if across < IN_LINE_DEG:
        return _in_line(scene, key, where)
    return _to_a_side(cheek, across=across, up=up, where=where)


def _in_line(scene: Scene, key: KeyLight, where: str) -> tuple[Pattern, str]:
    if not _within(key.elevation_deg, BUTTERFLY_UP_DEG):
        return "none", f"{where}: too high for a butterfly"
    below = light_from_below(scene, key)
    if below is not None:
        return "clamshell", f"{where}, with {below} from below"
    return "butterfly", f"{where}: the shadow falls straight under the nose"


def _to_a_side(cheek: CheekShadow, *, across: float, up: float, where: str) -> tuple[Pattern, str]:
    """Return the pattern of a key to a side, by the shadows of nose and cheek."""
    low, high = REMBRANDT_ACROSS_DEG
    if cheek.triangle and low <= across <= high:
        return "Rembrandt", (
            f"{where}: the shadows of nose and cheek meet and leave a lit triangle, "
            f"{cheek.triangle_width_mm:.0f} mm wide, on the {cheek.side} cheek"
        )
    if not cheek.shadows_meet and across <= LOOP_ACROSS_DEG + GRACE_DEG:
        if _within(up, LOOP_UP_DEG):
            return "loop", f"{where}: the shadows of nose and cheek do not touch"
        return "none", f"{where}: too {'low' if up < LOOP_UP_DEG[0] else 'high'} for a loop"
    dark = cheek.lit_share < DARK_CHEEK
    if dark and across >= SPLIT_ACROSS_DEG[0] and up <= SPLIT_UP_DEG + GRACE_DEG:
        return "split", f"{where}: the {cheek.side} cheek is dark"
    return "none", f"{where}: the shadows of nose and cheek meet without a triangle"


def _within(angle: float, limits: tuple[float, float]) -> bool:
    return limits[0] - GRACE_DEG <= angle <= limits[1] + GRACE_DEG


def _where(key: KeyLight) -> str:
    """Return where the key stands from the face, in words."""
    across, up = round(abs(key.azimuth_deg)), round(key.elevation_deg)
    side = "in line with the nose" if across == 0 else f"{across}° to the sitter's {_side(key)}"
    return f"{key.name} {side}, {abs(up)}° {'up' if up >= 0 else 'down'}"


def _side(key: KeyLight) -> Side:
    return "right" if key.azimuth_deg >= 0 else "left"


def _behind_profile(scene: Scene, key: KeyLight) -> bool:
    """Return whether the key lights a face in profile from behind, as the camera sees it."""
    towards_camera = _towards_camera(scene)
    turned, _ = direction_angles(towards_camera)
    level = np.array([1.0, 1.0, 0.0])
    apart = float(normalize(key.direction * level) @ normalize(towards_camera * level))
    return abs(turned) > PROFILE_DEG and apart < BEHIND


def _face_side(scene: Scene, key: KeyLight) -> Literal["broad", "short", "neither"]:
    """Return whether the key lights the side of the face turned to the camera."""
    turned, _ = direction_angles(_towards_camera(scene))
    if abs(turned) < IN_LINE_DEG or abs(key.azimuth_deg) < IN_LINE_DEG:
        return "neither"
    return "broad" if (turned > 0) == (key.azimuth_deg > 0) else "short"


def _towards_camera(scene: Scene) -> np.ndarray:
    return np.asarray(normalize((scene.camera - scene.pose.origin) @ scene.pose.axes))


def light_from_below(scene: Scene, key: KeyLight) -> str | None:
    """Return the light that makes a clamshell of a butterfly, if there is one."""
    place = scene.pose.origin[None]
    for emitter in scene.emitters:
        towards = direction_to(scene, emitter)
        across, up = direction_angles(towards)
        if abs(across) > FLAT_DEG or up > CLAMSHELL_DOWN_DEG or emitter.name == key.name:
            continue
        facing = (scene.pose.axes @ towards)[None]
        amount = float(emitter.exposure_at(place, normal=facing)[0])
        if amount > key.exposure_lx_s * 2.0**-CLAMSHELL_STOPS:
            return emitter.name
    return None


def _readings(scene: Scene, key: KeyLight | None) -> tuple[FaceReading, FaceReading, FaceReading]:
    """Return the light on right cheek, left cheek and forehead."""
    parts = (CHEEK, mirrored(CHEEK), FOREHEAD)  # of as many places each
    skin = named_places(scene.head, sum(parts, ())).in_world(scene.pose)
    lamps = scene.setup.room.ambient_lx * scene.setup.camera.shutter_s
    light = light_at_places(scene, skin.points, normals=skin.normals)
    names = [emitter.name for emitter in scene.emitters]
    parted = light.reshape(len(names), len(parts), len(CHEEK)).mean(axis=2)
    right, left, forehead = (
        _reading({**dict(zip(names, parted[:, k], strict=True)), ROOM_LAMPS: lamps}, key)
        for k in range(len(parts))
    )
    return right, left, forehead


def _reading(amounts: Mapping[str, float], key: KeyLight | None) -> FaceReading:
    total, stops = float(sum(amounts.values())), None
    if total > 0 and key is not None:
        stops = float(stops_between(total, reference=key.exposure_lx_s))
    return FaceReading(
        exposure_lx_s=total,
        stops_from_key=stops,
        by_source=tuple((name, float(amount)) for name, amount in amounts.items() if amount > 0),
    )
