"""Would a light, from each place, live in both eyes as a catchlight, or be shaded by brow or rim?

Asked at a coarse set of places; what changes smoothly, the share that is seen, is interpolated.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.catchlights import (
    CATCHLIGHT_CONTRAST,
    CORNEA_REFLECTANCE,
    SEEN_SHARE,
    hidden_at_eye,
)
from tapemark.analysis.corneal_mirror import mirror_points
from tapemark.analysis.cover import IRIS_REFLECTANCE
from tapemark.analysis.eye_shade import CLEARANCE_M, iris_places
from tapemark.analysis.scene import Scene
from tapemark.anatomy import rim_crosses, rim_of
from tapemark.geometry import FloatArray, dot, normalize

_IRIS_RINGS = ((0.3, 2), (0.8, 4))  # radius over that of the iris, places


@dataclass(frozen=True, kw_only=True, eq=False)
class EyeShares:
    """What the eyes have of a light at places, (2, n) arrays, right eye first, 0 to 1.

    Attributes
    ----------
    catchlight : (2, n) array
        Share of its catchlight that is seen.
    head, rim : (2, n) arrays
        Share of its light kept from the iris by brow, nose or cheek; and by the frame's rim.
    """

    catchlight: FloatArray
    head: FloatArray
    rim: FloatArray

    def stacked(self) -> FloatArray:
        """Return the three as one array, (3, 2, n)."""
        return np.stack([self.catchlight, self.head, self.rim])


def eye_shares(scene: Scene, samples: FloatArray) -> EyeShares:
    """Return what the eyes have of a light at some places.

    Parameters
    ----------
    scene : Scene
        About one person.
    samples : (n, k, 3) array
        Points spread over the lit face at each place, its middle first, world. [m]
    """
    mirrored = mirror_points(scene, samples)
    paths = np.stack([mirrored.to_light, mirrored.to_camera])
    hidden = np.any(list(hidden_at_eye(scene, mirrored.points, paths).values()), axis=0)
    eyes = scene.eyes
    facing = dot(mirrored.points - eyes.cornea_center[:, None, None], eyes.gaze[:, None, None])
    behind = (facing < 0).any(axis=2) | (
        dot(samples[:, 0] - eyes.cornea_center[:, None], eyes.gaze[:, None]) < 0
    )
    head, rim = _shade(scene, samples[:, 1:])
    return EyeShares(
        catchlight=np.where(behind, 0.0, 1.0 - hidden.mean(axis=2)), head=head, rim=rim
    )


def bright_enough(
    brightness: FloatArray, received: FloatArray, *, threshold: float = CATCHLIGHT_CONTRAST
) -> np.ndarray:
    """Return where a catchlight stands out on the iris.

    Parameters
    ----------
    brightness : (...) array
        Of the light. [cd·s/m²]
    received : (...) array
        All light on the eye. [lx·s]
    threshold : float
        Least contrast against the lit iris. [-]
    """
    iris = IRIS_REFLECTANCE * np.maximum(received, 1e-12) / np.pi
    return np.asarray(CORNEA_REFLECTANCE * brightness / iris >= threshold)


def seen_catchlight(share: FloatArray) -> np.ndarray:
    """Return where enough of a catchlight is seen, from the share that is."""
    return np.asarray(share >= SEEN_SHARE)


def _shade(scene: Scene, samples: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the shares of a light kept from each iris by the head and by the rim, (2, n)."""
    points, normals = iris_places(scene, rings=_IRIS_RINGS)
    count = len(points) // 2
    targets = samples.reshape(-1, 3)
    span = targets - points[:, None]
    directions = normalize(span)
    weight = np.maximum(dot(directions, normals[:, None]), 0.0)
    pose = scene.pose
    by_head = scene.head.hides(
        ((points - pose.origin) @ pose.axes)[:, None],
        directions @ pose.axes,
        clearance_m=CLEARANCE_M,
    )
    by_rim = np.zeros_like(by_head)
    glasses, lens = scene.sitter.glasses, scene.lenses
    if glasses is not None and lens is not None:
        rim = rim_of(glasses)
        for index in (0, 1):
            own = slice(index * count, (index + 1) * count)
            by_rim[own] = rim_crosses(
                points[own, None], directions[own], lens=lens, index=index, rim=rim
            )
    shape = (2, count, len(samples), samples.shape[1])
    whole = np.maximum(weight.reshape(shape).sum(axis=(1, 3)), 1e-12)
    head = (weight * by_head).reshape(shape).sum(axis=(1, 3)) / whole
    rim_only = (weight * (by_rim & ~by_head)).reshape(shape).sum(axis=(1, 3)) / whole
    return head, rim_only
