"""Where does each emitter show on the lenses, cell by cell?

Every reflected ray of a `LensView` is followed to the first thing it meets.
Cells at the edge of a reflection are resolved into sub-rays, so that areas
vary smoothly as a light is moved.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.edge_cells import EdgeCells, boundaries, edge_cells
from tapemark.analysis.emitter import Emitter
from tapemark.analysis.face_light import FaceLight
from tapemark.analysis.lens_view import SURFACES, LensView
from tapemark.analysis.light_faces import FlatFace
from tapemark.analysis.scene import Scene
from tapemark.geometry import FloatArray, dot, normalize, stacked

#: A reflection counts where it is brighter than this share of what lies
#: behind it (assumption, to be calibrated on real test shots).
THRESHOLD_CONTRAST = 0.05
#: Reflectances seen through the lens (from memory, not measured here):
#: white of the eye, iris, pupil away from coaxial light.
SCLERA_REFLECTANCE = 0.6
IRIS_REFLECTANCE = 0.06
PUPIL_REFLECTANCE = 0.004
FRAME_REACH_M = 0.12  # no lens lies farther from between the eyes
SMALL_EMITTER_M = 0.35  # smaller ones may fall between lattice points
NEAR_MISS_COSINE = 0.98
MOST_STOPS = 20.0  # brighter than skin in the dark is not told apart
SUB_RAYS = 3  # along each side of a cell at the edge of a reflection


@dataclass(frozen=True, kw_only=True, eq=False)
class CoverMap:
    """Reflections on the lattice of a `LensView`; axes (surface, lens, row, column).

    Attributes
    ----------
    shares, eye_shares : dict of str to array
        For each emitter that shows: share of each cell that it covers, and
        that it covers over the eye opening, 0 to 1.
    stops : dict of str to array
        For each emitter that shows: brightness against skin [stops], shape
        (surface, lens); -inf where it does not show.
    """

    shares: dict[str, FloatArray]
    eye_shares: dict[str, FloatArray]
    stops: dict[str, FloatArray]


def cover_map(
    scene: Scene,
    view: LensView,
    *,
    light: FaceLight,
    threshold_contrast: float = THRESHOLD_CONTRAST,
    sub_rays: int = SUB_RAYS,
) -> CoverMap:
    """Return where each emitter shows in the lenses.

    Parameters
    ----------
    scene : Scene
        Emitters.
    view : LensView
        The camera's view of the lenses.
    light : FaceLight
        Light on the face around the eyes.
    threshold_contrast : float
        Least reflected luminance, as a share of what lies behind, that counts.
    sub_rays : int
        Rays along each side of a cell at the edge of a reflection.
    """
    origins = stacked([view.reflected[surface].origins for surface in SURFACES])
    directions = stacked([view.reflected[surface].directions for surface in SURFACES])
    weight = np.stack([view.reflected[surface].weight for surface in SURFACES])
    glasses = scene.sitter.glasses
    weight[1] *= 1.0 if glasses is None else glasses.tint_transmission**2  # in and out again
    skin, behind = behind_lenses(view, light, scene)
    least = threshold_contrast * behind / np.maximum(weight, 1e-12)
    owner, brightness = (
        field.reshape(origins.shape[:-1])
        for field in _seen(scene, origins.reshape(-1, 3), directions.reshape(-1, 3))
    )
    free = np.stack([view.reflected[surface].free for surface in SURFACES])
    label = np.where(brightness > least, owner, -1)
    eye = eye_share(view)
    shown = {
        number: np.stack([own, own * eye, own * brightness])
        for number in range(len(scene.emitters))
        if (own := (label == number).astype(float)).any()
    }
    edge = boundaries(label) | _near_misses(scene, label, origins, directions)
    _resolve(
        shown,
        edge_cells(edge & (weight > 0) & (view.solid_angle > 0), sub_places=sub_rays),
        scene=scene,
        least=least,
        rays=(origins, directions),
        opening=view.opening,
    )
    names = [emitter.name for emitter in scene.emitters]
    stops = {names[number]: _brightest(weight * own[2], skin) for number, own in shown.items()}
    return CoverMap(
        shares={names[number]: own[0] * free for number, own in shown.items()},
        eye_shares={names[number]: own[1] * free for number, own in shown.items()},
        stops=stops,
    )


def eye_share(view: LensView) -> FloatArray:
    """Return the share of each cell that lies over the eye opening, (L, rows, columns)."""
    share = np.nan_to_num(view.opening, nan=-1.0) / view.row_height + 0.5
    return np.asarray(np.minimum(np.maximum(share, 0.0), 1.0))


def behind_lenses(view: LensView, light: FaceLight, scene: Scene) -> tuple[FloatArray, FloatArray]:
    """Return luminous exposure of bare lit skin (lens,) and behind each cell [cd·s/m²]."""
    pairs = view.opening.shape[0] // 2
    received = np.tile(np.asarray(light.at_eyes), pairs) / np.pi
    sitter = scene.sitter
    tint = sitter.glasses.tint_transmission if sitter.glasses is not None else 1.0
    kind = np.full(view.opening.shape, sitter.skin_reflectance)
    eye = view.opening > 0
    kind = np.where(eye, SCLERA_REFLECTANCE, kind)
    kind = np.where(eye & (view.iris > 0), IRIS_REFLECTANCE, kind)
    kind = np.where(eye & (view.pupil > 0), PUPIL_REFLECTANCE, kind)
    through = (np.nan_to_num(view.through_weight) * tint) ** 2
    return sitter.skin_reflectance * received, kind * through * received[:, None, None]


def _seen(
    scene: Scene, origins: FloatArray, directions: FloatArray
) -> tuple[np.ndarray, FloatArray]:
    """Return which emitter each ray (n, 3) meets first (-1: none) and its brightness."""
    nearest = np.full(len(origins), np.inf)
    owner = np.full(len(origins), -1)
    brightness = np.zeros(len(origins))
    for number, emitter in enumerate(scene.emitters):
        near = _towards(scene, emitter, directions)
        if near.size == 0:
            continue
        hits = emitter.face.hits(origins[near], directions[near])
        with np.errstate(invalid="ignore"):
            first = hits.distance < nearest[near]
        if not first.any():
            continue
        met, distance = near[first], hits.distance[first]
        rays = directions[met]
        nearest[met], owner[met] = distance, number
        brightness[met] = emitter.brightness_at(
            origins[met] + distance[:, None] * rays, rays, from_front=hits.from_front[first]
        )
    for body in scene.neighbours:
        met = np.nonzero(owner >= 0)[0]
        hidden = met[body.blocks(origins[met], directions[met], reach_m=nearest[met])]
        owner[hidden], brightness[hidden] = -1, 0.0
    return owner, brightness


def _towards(scene: Scene, emitter: Emitter, directions: FloatArray) -> np.ndarray:
    """Return the numbers of rays that can meet an emitter: those within its cone."""
    span = emitter.face.center - scene.pose.origin
    distance = float(np.sqrt(dot(span, span)))
    reach = emitter.face.reach_m + FRAME_REACH_M
    if reach < distance:
        least = np.sqrt(1.0 - (reach / distance) ** 2)
        return np.nonzero(dot(directions, span / distance) > least)[0]
    if isinstance(emitter.face, FlatFace):
        offset = float(dot(span, emitter.face.axes[:, 1]))
        if abs(offset) > FRAME_REACH_M:
            return np.nonzero(dot(directions, np.sign(offset) * emitter.face.axes[:, 1]) > 0)[0]
    return np.arange(len(directions))


def _resolve(
    shown: dict[int, FloatArray],
    cells: EdgeCells,
    *,
    scene: Scene,
    least: FloatArray,
    rays: tuple[FloatArray, FloatArray],
    opening: FloatArray,
) -> None:
    """Replace shares and brightness of whole cells by those of sub-rays in the cells given."""
    if cells.at.size == 0:
        return
    origins, directions = (cells.vectors(field) for field in rays)
    owner, brightness = _seen(scene, origins.reshape(-1, 3), normalize(directions).reshape(-1, 3))
    brightness = brightness.reshape(origins.shape[:-1])
    visible = brightness > least.reshape(-1)[cells.at]
    found = np.where(visible, owner.reshape(visible.shape), -1)
    over_eye = cells.values(np.stack([opening, opening])) > 0
    for number in range(len(scene.emitters)):
        own = found == number
        if number in shown or own.any():
            share = shown.setdefault(number, np.zeros((3, *least.shape)))
            share[0].reshape(-1)[cells.at] = own.mean(axis=0)
            share[1].reshape(-1)[cells.at] = (own & over_eye).mean(axis=0)
            share[2].reshape(-1)[cells.at] = (own * brightness).max(axis=0)
    for number in [number for number, share in shown.items() if not share[0].any()]:
        del shown[number]


def _near_misses(
    scene: Scene, label: np.ndarray, origins: FloatArray, directions: FloatArray
) -> np.ndarray:
    """Return cells around the ray that passes closest to an emitter no ray met.

    A small lamp can fall between lattice points; its cell is then resolved.
    """
    edge = np.zeros(label.shape, dtype=bool)
    rows, columns = label.shape[-2:]
    rays = directions.reshape(-1, rows * columns, 3)
    for number, emitter in enumerate(scene.emitters):
        if emitter.face.reach_m > SMALL_EMITTER_M:
            continue
        towards = normalize(emitter.face.center - origins[..., rows // 2, columns // 2, :])
        closeness = np.einsum("bnk,bk->bn", rays, towards.reshape(-1, 3))
        best = np.argmax(np.nan_to_num(closeness, nan=-1.0), axis=1)
        closest = np.take_along_axis(closeness, best[:, None], axis=1)[:, 0]
        met = (label == number).any(axis=(-2, -1)).ravel()
        for block in np.nonzero(~met & (closest > NEAR_MISS_COSINE))[0]:
            row, column = divmod(int(best[block]), columns)
            place = np.unravel_index(block, label.shape[:-2])
            edge[place][max(row - 1, 0) : row + 2, max(column - 1, 0) : column + 2] = True
    return edge


def _brightest(reflected: FloatArray, skin: FloatArray) -> FloatArray:
    """Return the brightest reflected place against skin [stops], (surface, lens)."""
    peak = reflected.max(axis=(2, 3))
    with np.errstate(divide="ignore"):
        return np.asarray(np.minimum(np.log2(peak / np.maximum(skin, 1e-30)), MOST_STOPS))
