"""Where would skin shine: which light does it mirror towards the camera, and how brightly?

Skin is a matt body under a thin rough film.  The film mirrors a few per cent,
spread over a lobe about the mirror direction; where a small bright light lies
in that lobe, the skin shows a highlight.  A larger or farther-swung light
spreads it out.

References
----------
The rough film is the microfacet model of [cook-torrance] with the lobe of
Beckmann.  How rough skin is, is an assumption here.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapemark.analysis.face_points import (
    BROWS,
    CHEEKBONE,
    NOSE,
    SkinPlaces,
    mirrored,
    named_places,
)
from tapemark.analysis.light_at_places import FAINT, hidden_patches
from tapemark.analysis.scene import Scene
from tapemark.analysis.source_patches import SourcePatches, patch_light, source_patches
from tapemark.geometry import FloatArray, dot, normalize

Risk = Literal["low", "some", "high"]
Region = Literal["forehead", "nose", "right cheekbone", "left cheekbone"]

#: Root mean square slope of the film on clean dry skin (assumption, ±0.07; oily skin is
#: smoother and shines more). [-]
SKIN_ROUGHNESS = 0.25
SKIN_FILM_INDEX = 1.4  # refractive index of the film (assumption)
#: Highlights so far over the skin around them are noticed, and are hard to retouch
#: (assumptions). [stops]
SOME_STOPS, HIGH_STOPS = 0.35, 0.7
#: Where the skin itself is nearly dark, a highlight is held against this share of what the
#: face has on average. [-]
LEAST_AROUND = 0.25
PLACES: dict[Region, tuple[tuple[float, float], ...]] = {
    "forehead": BROWS,
    "nose": NOSE,
    "right cheekbone": CHEEKBONE,
    "left cheekbone": mirrored(CHEEKBONE),
}
_ALL = tuple(place for places in PLACES.values() for place in places)


@dataclass(frozen=True, kw_only=True, slots=True)
class Sheen:
    """The brightest place of one part of the face as the camera sees it.

    Attributes
    ----------
    region : str
        Part of the face.
    stops_over_skin : float
        Skin with its highlight over the same skin without. [stops]
    risk : str
        ``low``, ``some`` or ``high``.
    source : str
        The light that shows most there; empty where none does.
    """

    region: Region
    stops_over_skin: float
    risk: Risk
    source: str


def sheen(scene: Scene) -> tuple[Sheen, ...]:
    """Return how much each part of the face shines: forehead, nose, right and left cheekbone.

    Notes
    -----
    Good to about half a stop: nobody knows how oily a skin is before looking.
    Powder takes most of it away and is not known to the setup.
    """
    skin = named_places(scene.head, _ALL).in_world(scene.pose)
    towards_camera = normalize(scene.camera - skin.points)
    matt, shine = _matt_and_shine(scene, skin, towards_camera)
    lamps = scene.setup.room.ambient_lx * scene.setup.camera.shutter_s
    body = (matt.sum(axis=0) + lamps) * scene.sitter.skin_reflectance / np.pi
    around = np.maximum(body, LEAST_AROUND * body.mean())
    ratio = shine.sum(axis=0) / np.where(around > 0, around, np.inf)
    found, first = [], 0
    for region, places in PLACES.items():
        own = slice(first, first + len(places))
        first += len(places)
        worst = own.start + int(np.argmax(ratio[own]))
        found.append(_sheen(scene, region, ratio=float(ratio[worst]), shine=shine[:, worst]))
    return tuple(found)


def film_brightness(
    light: FloatArray,
    *,
    towards_light: FloatArray,
    towards_camera: FloatArray,
    normal: FloatArray,
    roughness: float = SKIN_ROUGHNESS,
) -> FloatArray:
    """Return what the rough film on skin mirrors towards the camera.

    Parameters
    ----------
    light : (...) array
        Light that falls on the skin from a small patch. [lx·s]
    towards_light, towards_camera, normal : (..., 3) arrays
        Unit vectors from the skin. [-]
    roughness : float
        Root mean square slope of the film. [-]

    Returns
    -------
    (...) array
        Luminance times time, 0 where camera or light is behind the skin. [cd·s/m²]

    Notes
    -----
    L = E F D G/(4 cos_light cos_camera): Beckmann's lobe D, reflectance F of a
    smooth film by Schlick's formula, shading of the film by itself G.

    References
    ----------
    [cook-torrance], [schlick].
    """
    half = normalize(towards_light + towards_camera)
    cos_half = np.maximum(dot(half, normal), 1e-6)
    cos_light, cos_camera = dot(towards_light, normal), dot(towards_camera, normal)
    faces = np.maximum(dot(half, towards_camera), 1e-6)
    head_on = ((SKIN_FILM_INDEX - 1.0) / (SKIN_FILM_INDEX + 1.0)) ** 2
    fresnel = head_on + (1.0 - head_on) * (1.0 - faces) ** 5
    squared = cos_half**2
    lobe = np.exp((squared - 1.0) / (squared * roughness**2)) / (np.pi * roughness**2 * squared**2)
    lit = np.maximum(np.minimum(cos_light, cos_camera), 0.0)
    masked = np.minimum(1.0, 2.0 * cos_half * lit / faces)
    below = np.maximum(4.0 * cos_light * cos_camera, 1e-9)
    return np.asarray(np.where(lit > 0, light * fresnel * lobe * masked / below, 0.0))


def _matt_and_shine(
    scene: Scene, skin: SkinPlaces, towards_camera: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return light on the skin [lx·s] and what the film mirrors of it [cd·s/m²], (emitters, n)."""
    cut = [source_patches(one) for one in scene.emitters]
    given = [
        patch_light(emitter, patches, places=skin.points, normals=skin.normals)
        for emitter, patches in zip(scene.emitters, cut, strict=True)
    ]
    total = sum(float(one.sum()) for one in given)
    matt, shine = np.zeros((2, len(scene.emitters), len(skin.points)))
    for index, (emitter, patches, light) in enumerate(zip(scene.emitters, cut, given, strict=True)):
        if light.sum() <= FAINT * total:
            continue
        light = light * ~hidden_patches(scene, emitter, patches, places=skin.points)
        matt[index] = light.sum(axis=1)
        shine[index] = _shine(patches, light, skin, towards_camera)
    return matt, shine


def _shine(
    patches: SourcePatches, light: FloatArray, skin: SkinPlaces, towards_camera: FloatArray
) -> FloatArray:
    brightness = film_brightness(
        light,
        towards_light=normalize(patches.points - skin.points[:, None, :]),
        towards_camera=towards_camera[:, None, :],
        normal=skin.normals[:, None, :],
    )
    return np.asarray(brightness.sum(axis=1))


def _sheen(scene: Scene, region: Region, *, ratio: float, shine: FloatArray) -> Sheen:
    stops = float(np.log2(1.0 + ratio))
    source = scene.emitters[int(np.argmax(shine))].name if len(shine) and shine.max() > 0 else ""
    risk: Risk = "high" if stops >= HIGH_STOPS else "some" if stops >= SOME_STOPS else "low"
    return Sheen(region=region, stops_over_skin=stops, risk=risk, source=source)
