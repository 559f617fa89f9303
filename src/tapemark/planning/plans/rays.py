"""Which lit faces lie among the rays that the camera sees mirrored in the lenses?

The rays do not depend on the lights, so they are traced once for each turn of the face: coarsely,
as stated and at the ends of what is guessed about the glasses.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis import Scene, lenses_for, view_lenses
from tapemark.analysis.cover import eye_share
from tapemark.analysis.lens_view import SURFACES
from tapemark.analysis.light_faces import Face, FlatFace
from tapemark.analysis.spread import BASE_CURVE_SPREAD_D, FACE_FORM_SPREAD_DEG, TILT_RANGE_DEG
from tapemark.anatomy import LensGuess
from tapemark.geometry import FloatArray
from tapemark.studio import Glasses

COLUMNS, ROWS = 15, 11
#: A face so far from the nearest ray counts half as on it; a search then keeps its distance. [m]
SOFT_M = 0.15


@dataclass(frozen=True, kw_only=True, eq=False)
class MirroredRays:
    """Rays from the lenses of one person; each row one ray.

    Attributes
    ----------
    origins, directions : (n, 3) arrays
        Where they leave the lens [m] and where they go [-].
    lens_share, eye_share : (n,) arrays
        Share of its lens, and of its eye opening, that each stands for; 0 to 1. [-]
    block : (n,) int array
        Number of the lens, as stated or guessed, that each leaves.
    stated : (blocks,) bool array
        Which lenses are as stated.
    """

    origins: FloatArray
    directions: FloatArray
    lens_share: FloatArray
    eye_share: FloatArray
    block: np.ndarray
    stated: np.ndarray


def mirrored_rays(scene: Scene) -> MirroredRays | None:
    """Return the rays from the lenses of a scene's sitter; None without glasses."""
    glasses = scene.sitter.glasses
    if glasses is None:
        return None
    guesses = (LensGuess(), *_ends(glasses))
    stack = lenses_for(scene.sitter, pose=scene.pose, guesses=guesses)
    view = view_lenses(scene, stack, columns=COLUMNS, rows=ROWS)
    blocks = len(view.solid_angle)
    lens = view.solid_angle / np.maximum(view.solid_angle.sum(axis=(1, 2), keepdims=True), 1e-12)
    eye = lens * eye_share(view)
    eye = eye / np.maximum(eye.sum(axis=(1, 2), keepdims=True), 1e-12)
    number = np.broadcast_to(np.arange(blocks)[:, None, None], lens.shape)
    rows = []
    for surface in SURFACES:
        rays = view.reflected[surface]
        kept = (rays.weight > 0.0) & (lens > 0.0) & np.isfinite(rays.directions).all(axis=-1)
        free = rays.free[kept]
        rows.append(
            (
                rays.origins[kept],
                rays.directions[kept],
                lens[kept] * free,
                eye[kept] * free,
                number[kept],
            )
        )
    parts = [np.concatenate(own) for own in zip(*rows, strict=True)]
    return MirroredRays(
        origins=parts[0],
        directions=parts[1],
        lens_share=parts[2],
        eye_share=parts[3],
        block=parts[4],
        stated=np.arange(blocks) < 2,
    )


def shares_met(
    rays: MirroredRays, face: Face, *, both_sides: bool = False
) -> tuple[FloatArray, FloatArray]:
    """Return how much of each lens, and of each eye, a lit face covers or nearly covers.

    Parameters
    ----------
    rays : MirroredRays
        What the lenses show.
    face : FlatFace or BowlFace
        The face; a bowl counts as its opening.
    both_sides : bool
        Whether it is lit from behind as well.

    Returns
    -------
    lens, eye : (blocks,) arrays
        0 to about 1, softened at the edges by `SOFT_M`. [-]
    """
    axes = face.axes
    span = face.center - rays.origins
    along = rays.directions @ axes[:, 1]
    into = span @ axes[:, 1]
    ahead = (into * along > 0.0) & (both_sides | (along < 0.0))
    distance = np.where(ahead, into / np.where(ahead, along, 1.0), 0.0)
    off = distance[:, None] * rays.directions - span
    across, up = np.abs(off @ axes[:, 0]), np.abs(off @ axes[:, 2])
    if isinstance(face, FlatFace) and face.shape == "rectangle":
        margin = np.minimum(face.width_m / 2 - across, face.height_m / 2 - up)
    else:
        wide = face.width_m if isinstance(face, FlatFace) else face.diameter_m
        margin = wide / 2 - np.hypot(across, up)
    share = np.where(ahead, np.clip(0.5 + 0.5 * (margin + SOFT_M / 2) / SOFT_M, 0.0, 1.0), 0.0)
    count = len(rays.stated)
    lens, eye = (
        np.bincount(rays.block, weights=share * own, minlength=count).astype(np.float64)
        for own in (rays.lens_share, rays.eye_share)
    )
    return lens, eye


def _ends(glasses: Glasses) -> tuple[LensGuess, ...]:
    """Return the ends of what is guessed that reach farthest: tilt, curve and face form."""
    found: list[LensGuess] = []
    spread = glasses.prescription_spread_d
    if spread > 0.0:
        found += [LensGuess(sphere_shift_d=shift) for shift in (-spread, spread)]
    if "base_curve" in glasses.guessed:
        curve = BASE_CURVE_SPREAD_D
        found += [LensGuess(base_curve_shift_d=shift) for shift in (-curve, curve)]
    if "pantoscopic_tilt" in glasses.guessed:
        found += [LensGuess(pantoscopic_tilt_deg=tilt) for tilt in TILT_RANGE_DEG]
    if "face_form" in glasses.guessed:
        form = glasses.face_form_deg
        found += [
            LensGuess(face_form_deg=form + shift)
            for shift in (-FACE_FORM_SPREAD_DEG, FACE_FORM_SPREAD_DEG)
        ]
    return tuple(found)
