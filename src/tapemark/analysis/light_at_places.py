"""How much light does each emitter put on places of the sitter's skin, shadows included?

The light of a face without anything in between is exact; of it arrives the
share that the place sees, found by looking at patches of the real face past
the sitter's own head and everything else that stands in between.
"""

import numpy as np

from tapemark.analysis.emitter import Emitter
from tapemark.analysis.light_faces import FlatFace
from tapemark.analysis.scene import Scene
from tapemark.analysis.shading import ROOM_KINDS, blocked_paths
from tapemark.analysis.source_patches import (
    COARSE_PAIRS,
    FINE_PAIRS,
    SourcePatches,
    patch_light,
    source_patches,
)
from tapemark.geometry import FloatArray, dot
from tapemark.units import MM

CLEARANCE_M = 2.0 * MM  # of a path's start that the head is not looked for
#: Places that see less than all of a light and more than nothing of it are asked again, finely.
PARTLY = 0.01
FAINT = 0.01  # of the light on a place: nobody would see this emitter's shadows


def light_at_places(
    scene: Scene,
    places: FloatArray,
    *,
    normals: FloatArray,
    clearance_m: float = CLEARANCE_M,
    pairs: int | None = None,
) -> FloatArray:
    """Return the light that each emitter puts on small patches of the sitter's skin.

    Parameters
    ----------
    scene : Scene
        Sitter, emitters and everybody else.
    places, normals : (n, 3) arrays
        Patches of skin in the world [m] and the way they face [-].
    clearance_m : float
        Length at the start of each path where the head is not looked for. [m]
    pairs : int, optional
        How finely the faces of the lights are cut; see `source_patches`. If not given, places in
        half shadow are looked at finely and the others coarsely.

    Returns
    -------
    (emitters, n) array
        Illuminance times time, in the order of the scene's emitters. [lx·s]

    Notes
    -----
    The head's own shadow, other people, the sitter's trunk, panels and the
    backs of other lights are looked for; the rim of the glasses, hair, arms
    and stands are not. An emitter that gives less than a hundredth of the
    light everywhere counts in full.
    """
    found = np.array(
        [emitter.exposure_at(places, normal=normals) for emitter in scene.emitters]
    ).reshape(len(scene.emitters), len(places))
    telling = found > FAINT * found.sum(axis=0)
    for index, emitter in enumerate(scene.emitters):
        if not telling[index].any():
            continue
        lit = np.flatnonzero(found[index] > 0)
        if pairs is None:
            share = _adaptive_share(
                scene, emitter, places[lit], normals=normals[lit], clearance_m=clearance_m
            )
        else:
            share = seen_share(
                scene,
                emitter,
                places=places[lit],
                normals=normals[lit],
                clearance_m=clearance_m,
                pairs=pairs,
            )
        found[index, lit] *= share
    return found


def _adaptive_share(
    scene: Scene,
    emitter: Emitter,
    places: FloatArray,
    *,
    normals: FloatArray,
    clearance_m: float,
) -> FloatArray:
    """Return the share of an emitter that places see, those in half shadow looked at finely."""
    share = seen_share(scene, emitter, places=places, normals=normals, clearance_m=clearance_m)
    partly = np.flatnonzero((share > PARTLY) & (share < 1.0 - PARTLY))
    if len(partly) and emitter.lit_map is None:
        share[partly] = seen_share(
            scene,
            emitter,
            places=places[partly],
            normals=normals[partly],
            clearance_m=clearance_m,
            pairs=FINE_PAIRS,
        )
    return share


def seen_share(
    scene: Scene,
    emitter: Emitter,
    *,
    places: FloatArray,
    normals: FloatArray,
    clearance_m: float = CLEARANCE_M,
    pairs: int = COARSE_PAIRS,
) -> FloatArray:
    """Return the share of an emitter's light on places that nothing hides.

    Parameters
    ----------
    scene, places, normals, clearance_m, pairs
        As in `light_at_places`.
    emitter : Emitter
        One of the scene's.

    Returns
    -------
    (n,) array
        Share, 0 to 1; 0 where the place faces away. [-]
    """
    patches = source_patches(emitter, pairs=pairs)
    weight = patch_light(emitter, patches, places=places, normals=normals)
    return weighted_share(
        weight, ~hidden_patches(scene, emitter, patches, places=places, clearance_m=clearance_m)
    )


def weighted_share(weight: FloatArray, kept: np.ndarray) -> FloatArray:
    """Return the share of the weights (n, k) that is kept, (n,); 0 where there is no weight."""
    total = weight.sum(axis=-1)
    share = (weight * kept).sum(axis=-1) / np.where(total > 0, total, 1.0)
    return np.asarray(share)


def hidden_patches(
    scene: Scene,
    emitter: Emitter,
    patches: SourcePatches,
    *,
    places: FloatArray,
    clearance_m: float = CLEARANCE_M,
    others: tuple[Emitter, ...] | None = None,
) -> np.ndarray:
    """Return which patches of an emitter are hidden from places on the face.

    Parameters
    ----------
    scene, emitter, places, clearance_m
        As in `seen_share`.
    patches : SourcePatches
        Of the emitter.
    others : tuple of Emitter, optional
        What else may stand in between; by default everything in the way. With
        an empty tuple the head alone is looked for.

    Returns
    -------
    (n, k) bool array
        True where something stands in between.
    """
    span = patches.points - places[:, None, :]
    directions = span / np.sqrt(dot(span, span))[..., None]
    axes, origin = scene.pose.axes, scene.pose.origin
    starts = (places - origin) @ axes
    hidden = scene.head.hides(starts[:, None, :], directions @ axes, clearance_m=clearance_m)
    if others == ():
        return hidden
    if others is None:
        others = in_the_way(scene, emitter, places=places)
    if others:
        targets = np.broadcast_to(patches.points, span.shape)
        hidden |= blocked_paths(places[:, None, :], targets, emitter=emitter, others=others)
    own = () if patches.points[:, 2].min() > places[:, 2].min() else (scene.body.only("trunk"),)
    for body in (*own, *scene.neighbours):
        hidden |= body.hides(places, patches.points)
    return hidden


def in_the_way(scene: Scene, emitter: Emitter, *, places: FloatArray) -> tuple[Emitter, ...]:
    """Return which other things may stand between an emitter and places near each other."""
    middle = places.mean(axis=0)
    around = float(np.sqrt(((places - middle) ** 2).sum(axis=-1).max(initial=0.0)))
    found = []
    for other in scene.emitters:
        if other is emitter or other.kind in ROOM_KINDS or other.name in emitter.fed_by:
            continue
        if _beside(other, middle, around=around, emitter=emitter):
            continue
        found.append(other)
    return tuple(found)


def _beside(other: Emitter, middle: FloatArray, *, around: float, emitter: Emitter) -> bool:
    """Return whether a thing is surely clear of all paths from a ball of places to an emitter."""
    face, far = other.face, emitter.face
    span, offset = far.center - middle, face.center - middle
    along = min(max(float(offset @ span) / float(span @ span), 0.0), 1.0)
    aside = offset - along * span
    reach = face.reach_m + max(around, far.reach_m)
    if float(aside @ aside) > reach * reach:
        return True
    if not isinstance(face, FlatFace):
        return False
    here, there = -float(offset @ face.axes[:, 1]), float((span - offset) @ face.axes[:, 1])
    same_side = here * there > 0
    return same_side and abs(here) > around and abs(there) > far.reach_m
