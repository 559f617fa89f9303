"""How does the background come out: how bright, how even, with whose shadow on it?

Light on the background is what a flat receptor (C = 250) held against it
reads; the face is read with the dome, as the camera is set by it.  Both in
stops of aperture: 0 means that background and face call for the same one.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapemark.analysis.backdrop_light import BackdropLight, emitting_samples, surface_face
from tapemark.analysis.emitter import Emitter
from tapemark.analysis.exposure import Exposure
from tapemark.analysis.scene import Scene
from tapemark.geometry import FloatArray, dot, normalize
from tapemark.photometry import FLAT, exact_aperture, stops_between

NO_LIGHT_STOPS = -20.0  # said of a place without light
#: A shadow shallower than this, or on less of the background, is not counted (assumption).
SHADOW_SEEN_STOPS, LEAST_SHADOW_SHARE = 0.3, 0.01
#: Gaps between sitter and background that are tried to get rid of a shadow. [m]
GAPS_M = np.arange(0.5, 6.01, 0.5)
_COARSE_RAYS = 12  # along each side of the frame, for trying gaps

ShadowSide = Literal["camera-left", "camera-right", "above", "both sides"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Tone:
    """One tone of the background.

    Attributes
    ----------
    stops_over_key : float or None
        Reading at the background against the reading at the face [stops]; None without light
        on the face.
    level : float
        In the picture, 1 where a straight curve clips; a face reading's 18 % is 0.18. [-]
    srgb : int
        The same as an 8-bit sRGB value. [-]
    """

    stops_over_key: float | None
    level: float
    srgb: int


@dataclass(frozen=True, kw_only=True, slots=True)
class SitterShadow:
    """The shadow of the people on the background, from one light.

    Attributes
    ----------
    light : str
        What casts it.
    side : str
        Where it shows beside the people: ``camera-left``, ``camera-right``, ``above`` or
        ``both sides``.
    share : float
        Share of the visible background that lies in it. [-]
    depth_stops : float
        How much darker than without it, at its deepest. [stops]
    edge_m : float
        Width over which the shadow of the head fades out. [m]
    """

    light: str
    side: ShadowSide
    share: float
    depth_stops: float
    edge_m: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Background:
    """What the camera sees behind the people.

    Attributes
    ----------
    surface : str
        ``backdrop`` or ``wall behind``.
    reflectance : float
        Share of the light that it gives back. [-]
    distance_m : float
        Behind the sitter mark. [m]
    visible_share : float
        Share of the frame that shows it. [-]
    mean, darkest, brightest : Tone
        Over the part that shows.
    evenness_stops : float
        Brightest against darkest. [stops]
    clipped_share : float
        Share of the part that shows which is brighter than a straight curve holds. [-]
    shadows : tuple of SitterShadow
        Largest first.
    """

    surface: str
    reflectance: float
    distance_m: float
    visible_share: float
    mean: Tone
    darkest: Tone
    brightest: Tone
    evenness_stops: float
    clipped_share: float
    shadows: tuple[SitterShadow, ...]


def background(scene: Scene, *, light: BackdropLight, reading: Exposure) -> Background | None:
    """Return how the background comes out; None where the camera sees none of it.

    Parameters
    ----------
    scene : Scene
        The sitter, whose reading counts, and the camera.
    light : BackdropLight
        The light on the background.
    reading : Exposure
        The reading at the face.

    References
    ----------
    [white-background-level], [background-as-seen]
    """
    if not len(light.places):
        return None
    total = light.total
    tones = [
        _tone(float(amount), scene=scene, light=light, reading=reading)
        for amount in (total.mean(), total.min(), total.max())
    ]
    levels = picture_levels(scene, light)
    return Background(
        surface=light.surface,
        reflectance=light.reflectance,
        distance_m=float(-light.places[0, 1]),
        visible_share=light.visible_share,
        mean=tones[0],
        darkest=tones[1],
        brightest=tones[2],
        evenness_stops=float(_stops(total.max()) - _stops(total.min())),
        clipped_share=float(np.mean(levels > 1.0)),
        shadows=_shadows(scene, light),
    )


def stops_over_key(amount: FloatArray, *, scene: Scene, reading: Exposure) -> FloatArray | None:
    """Return amounts of light on the background against the reading at the face.

    Parameters
    ----------
    amount : (...) array
        Luminous exposure. [lx·s]
    scene : Scene
        For the ISO speed.
    reading : Exposure
        At the face.

    Returns
    -------
    (...) array or None
        At least `NO_LIGHT_STOPS` [stops]; None where the face gets no light.
    """
    if reading.aperture is None:
        return None
    at_face = FLAT * reading.aperture**2 / scene.setup.camera.iso
    return np.maximum(stops_between(amount, reference=at_face), NO_LIGHT_STOPS)


def picture_levels(scene: Scene, light: BackdropLight) -> FloatArray:
    """Return the level of each place in the picture, (n,); 1 clips. [-]"""
    return light.reflectance * light.total / _full_exposure(scene)


def srgb_byte(level: float) -> int:
    """Return a level of the picture as an 8-bit sRGB value, by a straight curve.

    Parameters
    ----------
    level : float
        Linear level, clipped to 0 to 1. [-]

    References
    ----------
    [wcag22] for the curve.

    Examples
    --------
    >>> srgb_byte(0.18), srgb_byte(0.9), srgb_byte(2.0)
    (118, 243, 255)
    """
    linear = min(max(level, 0.0), 1.0)
    curved = 12.92 * linear if linear <= 0.0031308 else 1.055 * linear ** (1 / 2.4) - 0.055
    return int(curved * 255.0 + 0.5)


def _full_exposure(scene: Scene) -> float:
    """Return the light on a perfect white that a straight curve just holds. [lx·s]

    A flat receptor's reading puts each reflectance at its own level, [iso-2720].
    """
    camera = scene.setup.camera
    return float(FLAT * exact_aperture(camera.aperture) ** 2 / camera.iso)


def _tone(amount: float, *, scene: Scene, light: BackdropLight, reading: Exposure) -> Tone:
    over = stops_over_key(np.array(amount), scene=scene, reading=reading)
    level = light.reflectance * amount / _full_exposure(scene)
    return Tone(
        stops_over_key=None if over is None else float(over), level=level, srgb=srgb_byte(level)
    )


def _stops(amount: float) -> float:
    return max(float(stops_between(amount, reference=1.0)), NO_LIGHT_STOPS)


def _shadows(scene: Scene, light: BackdropLight) -> tuple[SitterShadow, ...]:
    found = []
    with_shadows = np.maximum(light.total, 2.0**NO_LIGHT_STOPS)
    for index, emitter in enumerate(scene.emitters):
        lost = light.free[index] * light.behind_people[index]
        depth = np.log2(1.0 + lost / with_shadows)
        inside = depth >= SHADOW_SEEN_STOPS
        if inside.mean() < LEAST_SHADOW_SHARE:
            continue
        found.append(
            SitterShadow(
                light=emitter.name,
                side=_side(light, inside),
                share=float(inside.mean()),
                depth_stops=float(min(depth.max(), -NO_LIGHT_STOPS)),
                edge_m=_edge_m(scene, emitter),
            )
        )
    return tuple(sorted(found, key=lambda shadow: -shadow.share * shadow.depth_stops))


def _side(light: BackdropLight, inside: np.ndarray) -> ShadowSide:
    """Return where places in a shadow lie beside the people, as the camera sees it."""
    heads = np.concatenate([body.only("head").centers for body in light.bodies])
    across, down = light.view(heads).T
    places = light.view(light.places[inside])
    left, right = (places[:, 0] < across.min()).mean(), (places[:, 0] > across.max()).mean()
    if left > 0.75:
        return "camera-left"
    if right > 0.75:
        return "camera-right"
    return "above" if (places[:, 1] < down.min()).mean() > 0.25 else "both sides"


def _edge_m(scene: Scene, emitter: Emitter) -> float:
    """Return how wide the shadow of the head fades out: light's size times gap over reach."""
    head = scene.pose.origin
    source = emitter.shining_middle()
    ray = normalize(head - source)
    reach = float(np.sqrt(dot(head - source, head - source)))
    gap = (surface_face(scene).center[1] - head[1]) / min(ray[1], -1e-6)
    facing = abs(float(dot(ray, emitter.face.axes[:, 1])))
    size = 2.0 * float(np.sqrt(emitter.face.area_m2 * max(facing, 0.05) / np.pi))
    return float(size * max(gap, 0.0) / reach)


def clear_gap_m(scene: Scene, *, light: BackdropLight, name: str) -> float | None:
    """Return the gap to the background from which a shadow lies out of sight.

    Parameters
    ----------
    scene, light : Scene, BackdropLight
        The frame and the people; all but the background moves along with the sitter.
    name : str
        Of the emitter that casts the shadow.

    Returns
    -------
    float or None
        Sitter mark to background, in half metres, up to 6 m; None if none of them does it. [m]

    Notes
    -----
    Taken from a few points of the light, any of which counts as the whole.
    """
    emitter = scene.emitters[light.names.index(name)]
    gaps = GAPS_M[-light.places[0, 1] + 0.05 < GAPS_M]
    steps = (np.arange(_COARSE_RAYS) + 0.5) / _COARSE_RAYS
    across, down = np.meshgrid(steps, steps)
    ahead = light.view.world_at(np.stack([across, down], axis=-1).reshape(-1, 2), depth_m=1.0)
    rays = ahead - scene.camera
    rays = rays[rays[:, 1] < -1e-6]
    if not len(gaps) or not len(rays):
        return None
    reach = (-gaps[:, None] - scene.camera[1]) / rays[:, 1]
    places = (scene.camera + rays * reach[..., None]).reshape(-1, 3)
    points = emitting_samples(emitter)[0][::3]
    shaded, seen = np.zeros(len(places), dtype=bool), places[:, 2] > 0.0
    for body in light.bodies:
        shaded |= body.hides(places, points).any(axis=1)
        seen &= ~body.hides(places, scene.camera[None])[:, 0]
    inside = (shaded & seen).reshape(len(gaps), -1).sum(axis=1)
    dirty = inside >= LEAST_SHADOW_SHARE * seen.reshape(len(gaps), -1).sum(axis=1)
    clean = np.flatnonzero(np.logical_or.accumulate(dirty[::-1])[::-1] == 0)
    return float(gaps[clean[0]]) if len(clean) else None
