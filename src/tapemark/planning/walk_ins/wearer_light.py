"""How much light falls around the eyes of many wearers: the question of `face_light`."""

import numpy as np

from tapemark.analysis import Emitter
from tapemark.analysis.face_light import EYE_SOCKET_M
from tapemark.analysis.shading import blocked_paths, shining_outline, shining_samples
from tapemark.geometry import FloatArray
from tapemark.planning.walk_ins.wearer_faces import WearerFaces


def light_at_eyes(faces: WearerFaces, sending: tuple[Emitter, ...]) -> FloatArray:
    """Return the luminous exposure around each eye, on a surface that faces as the face does.

    Returns
    -------
    (L,) array
        All emitters together. [lx·s]

    Notes
    -----
    What stands in between is looked for from between the eyes.
    """
    axes = np.repeat(faces.head_axes, 2, axis=0)
    half = (faces.cornea_center - np.repeat(faces.head_origin, 2, axis=0)) * axes[:, :, 0]
    beside = half.sum(axis=-1)
    ahead = np.ascontiguousarray(axes[:, :, 1])
    places = np.repeat(faces.head_origin, 2, axis=0) + beside[:, None] * axes[:, :, 0]
    places += EYE_SOCKET_M * ahead
    total = np.zeros(len(places))
    for emitter in sending:
        if emitter.brightness > 0 or emitter.back_brightness > 0:
            share = _free(faces, emitter, sending)
            total += emitter.exposure_at(places, normal=ahead) * np.repeat(share, 2)
    return total


def _free(faces: WearerFaces, emitter: Emitter, sending: tuple[Emitter, ...]) -> FloatArray:
    """Return the share of an emitter that nothing hides from each face, (n,) [-]."""
    samples = shining_samples(shining_outline(emitter)[None])[0]
    middle = faces.head_origin + EYE_SOCKET_M * faces.head_axes[:, :, 1]
    ends = np.broadcast_to(samples, (len(middle), *samples.shape))
    hidden = blocked_paths(middle[:, None, :], ends, emitter=emitter, others=sending)
    return np.asarray(1.0 - hidden.mean(axis=1))
