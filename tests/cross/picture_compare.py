"""The layer of the glasses in a picture beside what the analyses say, pixel by pixel."""

import dataclasses
import functools
from dataclasses import dataclass

import numpy as np
from tests.cross.picture_cases import setup_of

from tapemark.analysis import build_scenes, cover_map, face_light, view_lenses
from tapemark.geometry import FloatArray
from tapemark.rendering import build_stage, load_tracer
from tapemark.rendering.glasses_layer import GlassesLayer
from tapemark.rendering.lens_solids import front_distance, look_through
from tapemark.rendering.looks import looks_of
from tapemark.rendering.parts import LUMINANCE
from tapemark.rendering.view import whole_window

SIZE = (480, 600)
FINENESS = 0.5  # of the mannequin: its face, not its hair
FINE_PIXELS = 8  # in one of the picture: an eighth of a millimetre on the lens
LATTICE = {"columns": 300, "rows": 210}
SURFACES = ("front", "back")
NO_FRAME, RIMS, WHOLE_FRAME = (), ("rim", "thread"), ("",)  # ends of its parts' names


@dataclass(frozen=True, kw_only=True, eq=False)
class Compared:
    """One reflection on one lens, on the fine pixels of the picture.

    Attributes
    ----------
    ours, theirs : (rows, columns) bool arrays
        Where it shows, by the analysis and in the picture: at least half as bright as it is.
    our_brightness, their_brightness : (rows, columns) arrays
        Luminous exposure. [cd·s/m²]
    places : (rows, columns, 2) array
        Where on the lens each pixel looks, boxed; NaN beside it. [m]
    """

    ours: np.ndarray
    theirs: np.ndarray
    our_brightness: FloatArray
    their_brightness: FloatArray
    places: FloatArray

    @property
    def overlap(self) -> float:
        """Intersection over union."""
        both = np.count_nonzero(self.ours & self.theirs)
        return both / max(np.count_nonzero(self.ours | self.theirs), 1)

    @property
    def size_mm2(self) -> float:
        """Of both together on the lens."""
        wide, tall = (
            np.nanmedian(np.linalg.norm(np.diff(self.places, axis=axis), axis=-1)) * 1e3
            for axis in (0, 1)
        )
        return float(np.count_nonzero(self.ours | self.theirs) * wide * tall)

    @property
    def apart_mm(self) -> float:
        """Between the centroids on the lens."""
        ours, theirs = (self.places[one].mean(axis=0) for one in (self.ours, self.theirs))
        return float(np.linalg.norm(ours - theirs)) * 1e3

    @property
    def gap_stops(self) -> float:
        """Picture against analysis, over what both show but its border."""
        inside = inner(self.ours & self.theirs)
        theirs, ours = self.their_brightness[inside].mean(), self.our_brightness[inside].mean()
        return float(np.log2(theirs / ours))


def stage_of(setup, *, frame=()):
    """Return the scene, stage and layer of a setup's sitter; all light white.

    Of the frame there is what ends with one of the names given.
    """
    scenes = build_scenes(setup)
    tracer = load_tracer("scalar_rgb", origin=scenes[0].pose.origin)
    stage = build_stage(scenes, tracer=tracer, colors={}, fineness=FINENESS)
    (sitter,) = stage.people
    kept = tuple(part for part in sitter.frame if part.name.endswith(frame))
    stage = dataclasses.replace(stage, people=(dataclasses.replace(sitter, frame=kept),))
    near = [one for one in (*stage.bodies, *stage.frames) if one.name.endswith("skin")]
    looks = looks_of(tracer, [*near, *stage.frames])
    window = whole_window(scenes[0], size=SIZE)
    layer = GlassesLayer(stage, 0, window=window, looks=looks, samples=1, fineness=FINE_PIXELS)
    return scenes[0], stage, layer


@functools.cache
def compared(case, *, frame=NO_FRAME):
    """Return the reflections of a case by lens and surface."""
    scene, stage, layer = stage_of(setup_of(case, framed=bool(frame)), frame=frame)
    emitter = scene.emitters[-1]
    light = stage.lit_by()
    if emitter.lit_map is not None:  # of the bounce alone, not of the lamp
        dark = tuple(one.dark() for one in light.faces)
        light = dataclasses.replace(light, faces=dark, uneven=())
    pictured = layer.mirrored(light, seed=1, families=SURFACES)
    view = view_lenses(scene, scene.lenses, **LATTICE)
    cover = cover_map(scene, view, light=face_light(scene), threshold_contrast=0.0)
    shares = cover.shares.get(emitter.name)
    places = [lens_places(scene, layer, index) for index in (0, 1)]
    return {
        (index, surface): _one(
            scene, layer, view, index, surface, emitter, shares, pictured, places[index]
        )
        for index in (0, 1)
        for surface in SURFACES
        if shares is not None
    }


def _one(scene, layer, view, index, surface, emitter, shares, pictured, places):
    share = shares[SURFACES.index(surface), index] * seen_share(scene, view, index)
    bright = filled(mirrored_brightness(scene, view, index, surface, emitter), share)
    ours = read_lattice(share, view, places) * read_lattice(bright, view, places)
    theirs = np.where(layer.sights[index].covered, pictured[surface] @ LUMINANCE, 0.0)
    lit = theirs[theirs > 0.05 * theirs.max(initial=0.0)]
    level = 0.5 * np.percentile(lit, 75) if lit.size else np.inf
    return Compared(
        ours=ours > level,
        theirs=theirs > level,
        our_brightness=ours,
        their_brightness=theirs.astype(float),
        places=places,
    )


def seen_share(scene, view, index):
    """Return the share of each cell of our lattice that the camera sees, of a whole cell's."""
    towards = view.points[index] - scene.camera
    towards = towards / np.linalg.norm(towards, axis=-1, keepdims=True)
    sides = np.cross(np.gradient(towards, axis=0), np.gradient(towards, axis=1))
    with np.errstate(invalid="ignore"):
        share = view.solid_angle[index] / np.linalg.norm(sides, axis=-1)
    return np.nan_to_num(share).clip(0.0, 1.0)


def mirrored_brightness(scene, view, index, surface, emitter):
    """Return how bright our rays find the emitter, dimmed by the lens; 0 for a miss."""
    rays = view.reflected[surface]
    origins, along = rays.origins[index], rays.directions[index]
    hits = emitter.face.hits(origins, along)
    met = origins + np.nan_to_num(hits.distance)[..., None] * along
    bright = emitter.brightness_at(met, along, from_front=hits.from_front)
    tint = scene.sitter.glasses.tint_transmission**2 if surface == "back" else 1.0
    return np.where(np.isfinite(hits.distance), bright * rays.weight[index] * tint, 0.0)


def filled(bright, share):
    """Return brightness with its mean where a cell is partly covered but its own ray misses."""
    known = bright[(bright > 0.0) & (share > 0.0)]
    return np.where(bright > 0.0, bright, known.mean() if known.size else 0.0)


def lens_places(scene, layer, index):
    """Return where on a lens the pixels of the fine window look, boxed (x, z) [m]."""
    directions, lenses = layer.fine.directions(), scene.lenses
    distance = front_distance(scene.camera, directions, lenses=lenses, index=index)
    world = scene.camera + distance[..., None] * directions
    return ((world - lenses.boxed_origin[index]) @ lenses.boxed_axes[index])[..., [0, 2]]


def cornea_points(scene, layer, index):
    """Return where on the cornea the pixels of the fine window look through the lens, world."""
    directions, lenses, eyes = layer.fine.directions(), scene.lenses, scene.eyes
    start, along = np.broadcast_to(scene.camera, directions.shape), directions
    if lenses is not None:
        rays = look_through(scene.camera, directions, lenses=lenses, index=index)
        start, along = rays.origins, rays.directions
    span = start - eyes.cornea_center[index]
    half = (span * along).sum(axis=-1)
    with np.errstate(invalid="ignore"):
        root = np.sqrt(half**2 - (span * span).sum(axis=-1) + eyes.cornea_radius_m**2)
        return start + (-half - root)[..., None] * along


def read_lattice(field, view, places):
    """Return a field of our lattice at places on the lens, between its points; 0 beside."""
    rows, columns = field.shape
    x, z = (np.nan_to_num(places[..., axis], nan=1.0) for axis in (0, 1))
    column = np.interp(x, view.x, np.arange(columns)).clip(0, columns - 1.001)
    row = np.interp(z, view.z, np.arange(rows)).clip(0, rows - 1.001)
    left, low = column.astype(int), row.astype(int)
    across, up = column - left, row - low
    lower = field[low, left] * (1 - across) + field[low, left + 1] * across
    upper = field[low + 1, left] * (1 - across) + field[low + 1, left + 1] * across
    return np.where(np.isnan(places[..., 0]), 0.0, lower * (1 - up) + upper * up)


def inner(region):
    """Return the pixels of a region whose eight neighbours belong to it as well."""
    padded = np.pad(region, 1)
    rows, columns = region.shape
    shifted = [padded[i : i + rows, j : j + columns] for i in range(3) for j in range(3)]
    return np.logical_and.reduce(shifted)
