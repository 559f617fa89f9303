"""How much light falls on the face, from which emitter?"""

from dataclasses import dataclass, replace

import numpy as np

from tapemark.analysis.emitter import Emitter
from tapemark.analysis.scene import Scene
from tapemark.analysis.shading import blocked_paths, shining_outline, shining_samples
from tapemark.geometry import FloatArray, to_world
from tapemark.units import MM

EYE_SOCKET_M = 5.0 * MM  # receivers this far in front of the corneas


@dataclass(frozen=True, kw_only=True, slots=True)
class FaceLight:
    """Luminous exposure around the eyes, on a surface that faces as the face does.

    Attributes
    ----------
    at_eyes : tuple of two floats
        All emitters together at the right and the left eye. [lx·s]
    free_shares : tuple of floats
        Share of each emitter, 0 to 1, that nothing hides from between the eyes.
    """

    at_eyes: tuple[float, float]
    free_shares: tuple[float, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class SteadyLight:
    """Light of one emitter around the eyes, before what else may come to stand in between.

    Attributes
    ----------
    emitter : Emitter
        The emitter.
    exposure : (2,) array
        At the right and the left eye, nothing in between. [lx·s]
    targets : (n, 3) array
        Places spread over what shines of it. [m]
    blocked : (n,) bool array
        Which of them are hidden from between the eyes.
    """

    emitter: Emitter
    exposure: FloatArray
    targets: FloatArray
    blocked: np.ndarray


def face_light(scene: Scene, *, steady: tuple[SteadyLight, ...] = ()) -> FaceLight:
    """Return the light on the face of a scene.

    Parameters
    ----------
    scene : Scene
        About one person.
    steady : tuple of SteadyLight
        Of emitters that are among those of the scene, with everything but those left out
        looked for in between.

    Notes
    -----
    What stands in between is looked for; shadows of nose, brow and frame are not.
    """
    kept = {id(one.emitter): one for one in steady}
    added = tuple(one for one in scene.emitters if id(one) not in kept)
    places = eye_places(scene)
    middle = places.mean(axis=0)
    parts = [
        _with_more(kept[id(one)], middle, added)
        if id(one) in kept
        else _light_of(scene, one, places=places)
        for one in scene.emitters
    ]
    shares = tuple(float(1.0 - one.blocked.mean()) for one in parts)
    each = [one.exposure * share for one, share in zip(parts, shares, strict=True)]
    total = np.sum(each, axis=0) if each else np.zeros(2)
    return FaceLight(at_eyes=(float(total[0]), float(total[1])), free_shares=shares)


def steady_light(scene: Scene) -> tuple[SteadyLight, ...]:
    """Return the light of each emitter of a scene on the face, for scenes with more of them."""
    places = eye_places(scene)
    return tuple(_light_of(scene, one, places=places) for one in scene.emitters)


def _light_of(scene: Scene, emitter: Emitter, *, places: FloatArray) -> SteadyLight:
    normal = np.broadcast_to(scene.pose.axes[:, 1], places.shape)
    targets = shining_samples(shining_outline(emitter)[None])[0]
    return SteadyLight(
        emitter=emitter,
        exposure=emitter.exposure_at(places, normal=normal),
        targets=targets,
        blocked=blocked_paths(
            places.mean(axis=0),
            targets,
            emitter=emitter,
            others=scene.emitters,
            bodies=scene.neighbours,
        ),
    )


def _with_more(one: SteadyLight, middle: FloatArray, added: tuple[Emitter, ...]) -> SteadyLight:
    """Return the light of an emitter with more emitters that may stand in between."""
    more = blocked_paths(middle, one.targets, emitter=one.emitter, others=added)
    return replace(one, blocked=one.blocked | more)


def eye_places(scene: Scene) -> FloatArray:
    """Return the receivers in front of right and left cornea, world, (2, 3) [m]."""
    half = scene.sitter.face.interpupillary_mm * MM / 2
    local = np.array([[half, EYE_SOCKET_M, 0.0], [-half, EYE_SOCKET_M, 0.0]])
    return to_world(local, origin=scene.pose.origin, axes=scene.pose.axes)
