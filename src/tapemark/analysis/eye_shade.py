"""How much light do brow, nose and the frame's rim keep from each iris?

Taken over the iris, which faces where the eye looks, by how much of each real
light it sees.  The rim is taken as a tube around the lens; what the lens bends
aside and what the lids hide are left out.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.emitter import Emitter
from tapemark.analysis.key_light import KeyLight
from tapemark.analysis.light_at_places import FAINT, hidden_patches
from tapemark.analysis.scene import Scene
from tapemark.analysis.source_patches import SourcePatches, patch_light, source_patches
from tapemark.anatomy import SIDES, Side, rim_crosses, rim_of
from tapemark.geometry import FloatArray, normalize
from tapemark.units import MM

#: Paths leave the iris inside the eye: so much of their start is not looked for in the head.
CLEARANCE_M = 12.0 * MM
RINGS = ((0.0, 1), (0.45, 4), (0.85, 8))  # radius over that of the iris, places


@dataclass(frozen=True, kw_only=True, slots=True)
class EyeShade:
    """Light kept from one iris, as shares of what would reach it with nothing near the eye.

    Attributes
    ----------
    side : str
        The sitter's own ``right`` or ``left`` eye.
    head_share, rim_share : float
        Lost to brow, nose or cheek; and of the rest to the rim. Of all
        lights, 0 to 1.
    key_head_share, key_rim_share : float
        The same of the key alone.
    head_source, rim_source : str
        Whose light is lost most; empty where none is.
    """

    side: Side
    head_share: float
    rim_share: float
    key_head_share: float
    key_rim_share: float
    head_source: str
    rim_source: str


def eye_shade(scene: Scene, *, key: KeyLight | None) -> tuple[EyeShade, EyeShade]:
    """Return what light each eye loses, right eye first."""
    points, normals = iris_places(scene)
    cut = [(one, source_patches(one)) for one in scene.emitters]
    given = [
        patch_light(emitter, patches, places=points, normals=normals) for emitter, patches in cut
    ]
    total = sum(float(one.sum()) for one in given)
    losses = {
        emitter.name: _losses(scene, emitter, patches, points=points, given=light)
        for (emitter, patches), light in zip(cut, given, strict=True)
        if light.sum() > FAINT * total
    }
    lit = sum((light.sum(axis=1) for light in given), np.zeros(len(points)))
    right, left = (_shade(index, losses, lit=lit, key=key) for index in (0, 1))
    return right, left


def _losses(
    scene: Scene,
    emitter: Emitter,
    patches: SourcePatches,
    *,
    points: FloatArray,
    given: FloatArray,
) -> FloatArray:
    """Return given light, loss to the head and loss to the rim at each place, (3, n) [lx·s]."""
    by_head = hidden_patches(
        scene, emitter, patches, places=points, clearance_m=CLEARANCE_M, others=()
    )
    by_rim = _hidden_by_rim(scene, points, patches.points) & ~by_head
    return np.stack(
        [given.sum(axis=1), (given * by_head).sum(axis=1), (given * by_rim).sum(axis=1)]
    )


def _hidden_by_rim(scene: Scene, points: FloatArray, targets: FloatArray) -> np.ndarray:
    """Return which paths from the iris places cross the rim before that eye, (n, k)."""
    hidden = np.zeros((len(points), len(targets)), dtype=bool)
    glasses, lens = scene.sitter.glasses, scene.lenses
    if glasses is None or lens is None:
        return hidden
    rim, count = rim_of(glasses), len(points) // 2
    for index in (0, 1):
        own = slice(index * count, (index + 1) * count)
        starts = points[own, None, :]
        directions = normalize(targets - starts)
        hidden[own] = rim_crosses(starts, directions, lens=lens, index=index, rim=rim)
    return hidden


def _shade(
    index: int, losses: dict[str, FloatArray], *, lit: FloatArray, key: KeyLight | None
) -> EyeShade:
    """Return the sums over one iris."""
    count = len(lit) // 2
    own = slice(index * count, (index + 1) * count)
    sums = {name: one[:, own].sum(axis=1) for name, one in losses.items()}
    total = float(lit[own].sum())
    of_key = sums.get(key.name if key is not None else "", np.zeros(3))
    head = sum(float(one[1]) for one in sums.values())
    rim = sum(float(one[2]) for one in sums.values())
    return EyeShade(
        side=SIDES[index],
        head_share=_share(head, total),
        rim_share=_share(rim, total),
        key_head_share=_share(float(of_key[1]), float(of_key[0])),
        key_rim_share=_share(float(of_key[2]), float(of_key[0])),
        head_source=_worst(sums, 1),
        rim_source=_worst(sums, 2),
    )


def _share(part: float, whole: float) -> float:
    return part / whole if whole > 0 else 0.0


def _worst(sums: dict[str, FloatArray], row: int) -> str:
    """Return which light loses most in a row, or nothing."""
    found = max(sums, key=lambda name: float(sums[name][row]), default="")
    return found if found and sums[found][row] > 0 else ""


def iris_places(
    scene: Scene, *, rings: tuple[tuple[float, int], ...] = RINGS
) -> tuple[FloatArray, FloatArray]:
    """Return places over both irises and the way they face, right eye first, (2n, 3) each.

    Parameters
    ----------
    scene : Scene
        Whose eyes.
    rings : tuple of (float, int)
        Radius over that of the iris, and places, of each ring. [-]
    """
    eyes = scene.eyes
    found = []
    for share, count in rings:
        angle = (np.arange(count) + 0.5) * 2.0 * np.pi / count
        radius = share * eyes.iris_diameter_m / 2
        flat = np.zeros((count, 3))
        flat[:, 0], flat[:, 2] = radius * np.cos(angle), radius * np.sin(angle)
        found.append(flat)
    local = np.concatenate(found)
    points = eyes.iris_center[:, None, :] + local @ np.swapaxes(eyes.gaze_axes, 1, 2)
    normals = np.broadcast_to(eyes.gaze[:, None, :], points.shape)
    return points.reshape(-1, 3), normals.reshape(-1, 3)
