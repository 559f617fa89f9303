"""What a fit of head, camera, glasses and lights predicts for a picture, and how that changes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tapemark.anatomy import LensStack
from tapemark.geometry import FloatArray, axes_facing, normalize
from tapemark.photo.matching.followed_back import Excess, Rays, Shining, excess_of, rays_of
from tapemark.photo.matching.landmarks import Landmarks
from tapemark.photo.matching.photo_camera import PhotoCamera
from tapemark.photo.matching.seen_regions import SeenRegion
from tapemark.photo.matching.unknowns import PLACE, Unknowns
from tapemark.studio import Setup, aim_point_m

STEP = 0.1  # of a spread: for differences
#: How exactly an edge of a reflection is read: while names are sought, with room for what is not
#: modelled; and once they are found, as measured on our own rendered pictures. [mm]
EDGE_MM, NAMED_EDGE_MM = 0.7, 0.45


@dataclass(frozen=True, kw_only=True, eq=False)
class Model:
    """One person in a picture against a setup.

    Attributes
    ----------
    setup : Setup
        As written.
    unknowns : Unknowns
        What is to be fitted.
    camera : PhotoCamera
        As written.
    landmarks : Landmarks
        As read.
    regions : tuple of SeenRegion
        Reflections as read.
    shining : tuple of Shining
        What may show in them.
    skin : (2,) array
        Luminous exposure of lit skin at the right and the left eye. [cd·s/m²]
    edge_mm : float
        How exactly the edges of reflections are read. [mm]
    """

    setup: Setup
    unknowns: Unknowns
    camera: PhotoCamera
    landmarks: Landmarks
    regions: tuple[SeenRegion, ...]
    shining: tuple[Shining, ...]
    skin: FloatArray
    edge_mm: float = EDGE_MM

    def camera_of(self, fit: FloatArray) -> PhotoCamera:
        """Return the camera of a fit."""
        pan, tilt, zoom = (
            self.unknowns.value(fit, name) for name in ("pan_deg", "tilt_deg", "zoom")
        )
        return self.camera.turned(
            pan_rad=float(np.deg2rad(pan)), tilt_rad=float(np.deg2rad(tilt)), zoom=zoom
        )

    def lenses_of(self, fit: FloatArray) -> LensStack:
        """Return the lenses of a fit."""
        return self.unknowns.lenses(fit, pose=self.unknowns.pose(fit))

    def misses(self, fit: FloatArray) -> FloatArray:
        """Return where landmarks are less where a fit has them, in spreads of the reading."""
        expected = self.landmarks.expected(
            self.unknowns, fit, camera=self.camera_of(fit), lenses=self.lenses_of(fit)
        )
        return np.asarray((expected - self.landmarks.places) / self.landmarks.spread)

    def rays(self, fit: FloatArray) -> Rays:
        """Return the rays of the reflections in a fit."""
        return rays_of(self.regions, camera=self.camera_of(fit), lenses=self.lenses_of(fit))

    def shining_at(self, fit: FloatArray, number: int) -> Shining:
        """Return one emitter where a fit has it."""
        own = self.shining[number]
        light = next((one for one in self.setup.lights if one.name == own.emitter.name), None)
        if own.emitter.kind != "light" or light is None:
            return own
        places = {name: self.unknowns.value(fit, f"{light.name}: {name}") for name in PLACE}
        there = light.model_copy(update={"place": light.place.model_copy(update=places)})
        center = np.array(there.place.position_m)
        target = np.array(aim_point_m(there, setup=self.setup))
        return own.moved(center, axes_facing(normalize(target - center)))

    def is_light(self, number: int, name: str) -> bool:
        """Return whether an emitter is the light of an unknown such as ``key: side_deg``."""
        emitter = self.shining[number].emitter
        return emitter.kind == "light" and emitter.name == name.rpartition(":")[0]

    def excess(self, rays: Rays, fit: FloatArray, number: int) -> Excess:
        """Return how the reflections lie to one emitter in a fit."""
        return excess_of(rays, self.regions, self.shining_at(fit, number), skin=self.skin)


@dataclass(frozen=True, kw_only=True, eq=False)
class Nearby:
    """A model about one fit, taken as linear.

    Attributes
    ----------
    fit : (n,) array
        Where it was taken, in spreads.
    excess : tuple of Excess
        For each emitter.
    slope : (emitters, 2, regions, 4, n) array
        Of `Excess.mm`. [mm]
    """

    fit: FloatArray
    excess: tuple[Excess, ...]
    slope: FloatArray


def landmarks_nearby(model: Model, fit: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the misses of the landmarks at a fit, and how they change."""
    own = model.misses(fit)
    slope = np.zeros((len(own), len(fit)))
    for place in range(len(model.unknowns.names)):
        if ":" not in model.unknowns.names[place]:
            slope[:, place] = (model.misses(_stepped(fit, place)) - own) / STEP
    return own, np.nan_to_num(slope)


def nearby(model: Model, fit: FloatArray, *, only: frozenset[int] | None = None) -> Nearby:
    """Return a model about a fit, taken as linear; of some emitters only where these are named."""
    if not model.regions or not model.shining:
        empty = np.zeros((len(model.shining), 2, len(model.regions), 4, len(fit)))
        return Nearby(fit=fit, excess=(), slope=empty)
    rays = model.rays(fit)
    excess = tuple(model.excess(rays, fit, number) for number in range(len(model.shining)))
    numbers = [one for one in range(len(model.shining)) if only is None or one in only]
    own = np.stack([one.mm for one in excess])
    slope = np.zeros((*own.shape, len(fit)))
    for place, name in enumerate(model.unknowns.names):
        there = _stepped(fit, place)
        if ":" in name:
            moved, of = rays, [one for one in numbers if model.is_light(one, name)]
        elif name == "outlines_mm":
            continue  # that is about the landmarks alone
        else:
            moved, of = model.rays(there), numbers
        for number in of:
            slope[number, ..., place] = (model.excess(moved, there, number).mm - own[number]) / STEP
    return Nearby(fit=fit, excess=excess, slope=np.nan_to_num(slope))


def _stepped(fit: FloatArray, place: int) -> FloatArray:
    there = fit.copy()
    there[place] += STEP
    return there
