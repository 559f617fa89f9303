"""The layer over a person's face: what lenses and corneas mirror, and the view through a lens.

Light paths are taken apart by family, so that no path needs to draw lots at a lens:

    front, back   the camera's ray is mirrored at a surface of a lens and goes on into the room
    cornea        it passes the lens, is mirrored at the cornea and passes the lens again
    through       it is bent by both surfaces and shows the face elsewhere than without a lens

The first three are traced. For the view through, the face is traced as it is without lenses, by a
camera that sees nothing nearer than the back of the lens, so that no rim stands in the way; each
bent ray is then followed to the place that it meets there.

What a lens hides of the light on the face is taken as if all of it came the way the camera looks:
the view through is dimmed twice.

The aperture blurs all of it: what is mirrored is traced through the whole of it, and sees nothing
but what lies as deep as lenses and corneas do; the view through is found for a pinhole and blurred
by as much as the lens is out of focus.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from tapemark.anatomy import bare_edge
from tapemark.geometry import FloatArray, dot
from tapemark.rendering.corneas import CORNEA_INDEX
from tapemark.rendering.denoising import denoise
from tapemark.rendering.lens_solids import (
    ThroughRays,
    front_distance,
    look_through,
    square_on_reflectance,
)
from tapemark.rendering.looks import Look, Looks
from tapemark.rendering.parts import Beam, Part
from tapemark.rendering.pixels import (
    bilinear,
    blurred,
    coarser,
    nearest,
    widened,
    without_fringes,
    without_lots,
)
from tapemark.rendering.stage import Lighting, Stage
from tapemark.rendering.tracer import Family, Glass
from tapemark.rendering.view import Window, box_around, turned_window

MIRROR_DEPTH, FACE_DEPTH = 7, 6
FAMILIES = ("front", "back", "cornea")
MARGIN = 0.05  # around lenses and corneas, of their box
CORNEA_MARGIN, CORNEA_SAMPLES, FACE_SAMPLES = 0.2, 4, 2
MOST_FINE = 16  # times the pixels of the fine window: a lens seen from the side is left as it is
HIDDEN_M = 2e-4  # nearer to the camera than the lens by this: something stands before it
BEHIND_RIM_M = 0.5e-3  # the camera of the view through starts so far behind the lens
SETTLING = 5
SKIN_M = 2.5e-3  # as near to the skin counts as within
LENS_PIXELS = 150  # across a lens, at least, where it is looked at closely
CLEAR_M = 4e-3  # so far before and behind lenses and corneas counts as where they are
EDGE_SPREAD_M = 6e-3  # so wide around, a ground or polished edge mixes what is behind it
EDGE_PASSES = 0.7  # of that light; assumed
LEAST_SMOOTHED = 16  # pixels each way


@dataclass(frozen=True, kw_only=True, eq=False)
class LensSight:
    """Geometry of one lens as the camera sees it; axes (row, column) of the fine window.

    Attributes
    ----------
    covered : (rows, columns) bool array
        Which pixels look at the lens.
    rays : ThroughRays
        The bent rays of these pixels, in their order.
    """

    covered: np.ndarray
    rays: ThroughRays


@dataclass(frozen=True, kw_only=True, eq=False)
class Layer:
    """What lies over a part of the picture.

    Attributes
    ----------
    box : tuple of four ints
        Left, top, columns, rows in the picture.
    covers : (rows, columns) array
        Share of each pixel that is lens. [-]
    over : (rows, columns, 3) array
        To be added after that share of the picture is taken away. [cd·s/m²]
    """

    box: tuple[int, int, int, int]
    covers: FloatArray
    over: FloatArray

    def laid_over(self, image: FloatArray) -> None:
        """Lay it over a picture, in place."""
        left, top, columns, rows = self.box
        part = image[top : top + rows, left : left + columns]
        part *= (1.0 - self.covers)[..., None]
        part += self.over


@dataclass(frozen=True, kw_only=True, eq=False)
class FaceView:
    """What a camera behind one lens sees of the face.

    Attributes
    ----------
    window : Window
        Of that camera.
    near_m : float
        It sees nothing nearer than this.
    looks : dict of str to array
        Places, normals and albedo in that window.
    """

    window: Window
    near_m: float
    looks: dict[Look, FloatArray]


@dataclass(frozen=True, kw_only=True, eq=False)
class TracedGlasses:
    """What was traced of the layer over one person under some light.

    Attributes
    ----------
    mirrored : (rows, columns, 3) array
        By corneas and lenses, on the fine window. [cd·s/m²]
    through : tuple of (n, 3) arrays or None
        Of each lens, the face at its fine pixels; NaN where only the picture itself shows it, None
        where that is so everywhere. [cd·s/m²]
    """

    mirrored: FloatArray
    through: tuple[FloatArray | None, ...]


class GlassesLayer:
    """The layer over one person, ready for any light.

    Parameters
    ----------
    stage : Stage
        The setup.
    number : int
        Which person.
    window : Window
        The whole picture.
    looks : Looks
        What everybody and the room are made of.
    samples : int
        Paths for each fine pixel.
    fineness : int
        Fine pixels in one of the picture, each way; 0 takes what the lens needs.
    lens_pixels : int
        Fine pixels across a lens, at least, where `fineness` is 0.
    """

    def __init__(
        self,
        stage: Stage,
        number: int,
        *,
        window: Window,
        looks: Looks,
        samples: int = 1,
        fineness: int = 0,
        lens_pixels: int = LENS_PIXELS,
    ) -> None:
        self.stage, self.number, self.samples = stage, number, samples
        self.scene = stage.people[number].scene
        self.glass = _glass_of(stage, number)
        reached = self._reach()
        spread = max((window.blur(one) for one in reached[:: len(reached) // 8 or 1]), default=0.0)
        self.box = box_around(window, reached, margin=MARGIN, extra=spread / 2.0)
        self.fineness = fineness or self._needed(window, lens_pixels)
        self.window = window.part(self.box)
        self.fine = self.window.finer(self.fineness)
        self.sights: tuple[LensSight, ...] = ()
        self.views: tuple[FaceView | None, ...] = ()
        if not self.empty and stage.lenses[number]:
            places = looks.picture(self.fine, look="place", pinhole=True)
            reach = np.linalg.norm(places - self.scene.camera, axis=-1)
            self.sights = tuple(self._sight(index, reach) for index in (0, 1))
            self._open = self._unhidden(places)
            self.views = self._views(looks)

    @property
    def empty(self) -> bool:
        """Whether nothing of it is in the picture."""
        return min(self.box[2:]) <= 0 or not self.glass

    @property
    def fine_shape(self) -> tuple[int, int]:
        """Rows and columns of the fine window."""
        return self.fine.rows, self.fine.columns

    def traced(
        self, light: Lighting, *, face: Any, seed: int, samples: int | None = None
    ) -> TracedGlasses:
        """Return what has to be traced of the layer under some light.

        Parameters
        ----------
        light : Lighting
            What shines.
        face : object
            The tracer's scene of the same light without lenses.
        seed : int
            Of the lots drawn.
        samples : int, optional
            Paths for each fine pixel, if others than usual.
        """
        samples = samples or self.samples
        mirrored = sum(self.mirrored(light, seed=seed, samples=samples).values())
        through = [
            self._through(index, sight, face=face, seed=seed, samples=samples)
            for index, sight in enumerate(self.sights)
        ]
        return TracedGlasses(mirrored=self._smooth(np.asarray(mirrored)), through=tuple(through))

    def over(self, traced: TracedGlasses, *, base: FloatArray) -> Layer:
        """Return the layer over a picture without lenses.

        Parameters
        ----------
        traced : TracedGlasses
            From `traced`, under the light of the picture.
        base : (rows, columns, 3) array
            The whole picture. [cd·s/m²]
        """
        total = traced.mirrored.astype(np.float64)
        covers = np.zeros(self.fine_shape)
        for index, (sight, seen) in enumerate(zip(self.sights, traced.through, strict=True)):
            at = self._in_picture(sight)
            plain = bilinear(base, at)
            view = plain if seen is None else np.where(np.isfinite(seen), seen, plain)
            edge = sight.rays.at_edge
            view[edge] = self._scattered(base, at[edge], index=index)
            own = np.zeros((*self.fine_shape, 4))
            own[sight.covered, 0] = 1.0
            own[sight.covered, 1:] = view * self._dimmed(sight)
            own = blurred(own, diameter=self._blur(index))
            covers = np.maximum(covers, own[..., 0])
            total += own[..., 1:]
        return Layer(
            box=self.box, covers=coarser(covers, self.fineness), over=coarser(total, self.fineness)
        )

    def mirrored(
        self,
        light: Lighting,
        *,
        seed: int,
        families: tuple[str, ...] = FAMILIES,
        samples: int | None = None,
    ) -> dict[str, np.ndarray]:
        """Return what is mirrored under some light, by family, on the fine window. [cd·s/m²]"""
        mirrored = partial(
            self._by_family, seed=seed, families=families, samples=samples or self.samples
        )
        around = (*light.room, *light.faces)
        found = mirrored(around, beams=light.beams)
        for face in light.uneven:
            others = [one.black() for one in around if one.name != face.body.name]
            for family, marks in mirrored((*others, face.marked())).items():
                found[family] = found[family] + face.shown(marks, at=self._mirrors(family))
        return found

    def _by_family(
        self,
        around: Iterable[Part],
        *,
        beams: Iterable[Beam] = (),
        seed: int,
        families: tuple[str, ...],
        samples: int,
    ) -> dict[str, np.ndarray]:
        """Return what is mirrored of some surroundings, by family, on the fine window."""
        stage, tint = self.stage, self._tint
        solid = [one for one in (*stage.bodies, *stage.frames) if _stands_in_way(one)]
        scene = stage.tracer.scene(
            [*(one.black() for one in solid), *around], glass=self.glass, beams=beams
        )
        found = {}
        if "cornea" in families:
            found["cornea"] = self._corneas(scene, seed, samples) * tint**2
        if "front" in families and self.sights:
            front = self._family(scene, "front", self.fine, samples=samples, seed=seed)
            found["front"] = front * self._open[..., None]
        if "back" in families and self.sights:
            found["back"] = self._backs(scene, seed, samples) * self._open[..., None] * tint**2
        return found

    def _mirrors(self, family: str) -> FloatArray:
        """Return where about the pixels of the fine window look at glass, world [m].

        Each looks as deep as the lens or cornea that it is nearer to.
        """
        middles, lenses = self.scene.eyes.cornea_center, self.scene.lenses
        if family != "cornea" and lenses is not None:
            middles = lenses.boxed_origin
        apart = [abs(self.fine.pixels(one)[0] - np.arange(self.fine.columns)) for one in middles]
        depth = self.fine.depth(middles)[np.argmin(apart, axis=0)]
        directions = self.fine.directions()
        ahead = directions @ self.fine.view.axes[:, 1]
        return np.asarray(self.fine.view.position + (depth / ahead)[..., None] * directions)

    @property
    def _tint(self) -> float:
        glasses = self.scene.sitter.glasses
        return 1.0 if glasses is None else glasses.tint_transmission

    def _backs(self, scene: Any, seed: int, samples: int) -> np.ndarray:
        """Return what the backs mirror: path by path, so that lots can be told from the dark."""
        found = np.zeros((*self.fine_shape, 3), dtype=np.float32)
        for number in range(samples):
            own = seed * samples + number
            found += without_lots(self._family(scene, "back", self.fine, samples=1, seed=own))
        return found / samples

    def _corneas(self, scene: Any, seed: int, samples: int) -> np.ndarray:
        """Return what the corneas mirror: the picture with them less that with them black."""
        found = np.zeros((*self.fine_shape, 3), dtype=np.float32)
        samples = max(CORNEA_SAMPLES, samples)
        for mesh in self.stage.corneas[self.number]:
            box = box_around(self.fine, mesh.points, margin=CORNEA_MARGIN)
            left, top, columns, rows = box
            if min(columns, rows) <= 0:
                continue
            window = self.fine.part(box)
            lit = self._family(scene, "cornea", window, samples=samples, seed=seed)
            dark = self._family(scene, "dark cornea", window, samples=samples, seed=seed)
            found[top : top + rows, left : left + columns] = np.maximum(lit - dark, 0.0)
        return found

    def _family(
        self, scene: Any, family: Family, window: Window, *, samples: int, seed: int
    ) -> np.ndarray:
        self.stage.tracer.choose_family(scene, self.glass, family)
        return self.stage.tracer.picture(
            scene,
            window,
            samples=samples,
            depth=MIRROR_DEPTH,
            seed=seed,
            far_m=float(self.fine.depth(self._reach()).max()) + CLEAR_M,
            roulette=False,
        )

    def _reach(self) -> FloatArray:
        own = [one.front.points for one in self.stage.lenses[self.number]]
        own += [one.points for one in self.stage.corneas[self.number]]
        return np.concatenate(own) if own else np.empty((0, 3))

    def _needed(self, window: Window, lens_pixels: int) -> int:
        if self.empty:
            return 1
        solids = self.stage.lenses[self.number]
        if not solids:
            return 3
        across = float(np.ptp(window.pixels(solids[0].front.points)[:, 0]))
        return int(np.clip(np.ceil(lens_pixels / max(across, 1.0)), 1, 4))

    def _unhidden(self, places: FloatArray) -> np.ndarray:
        """Return which fine pixels have nothing before all glass; what the camera sees is given."""
        nearest_m = float(self.fine.depth(self._reach()).min()) - CLEAR_M
        with np.errstate(invalid="ignore"):
            return ~(self.fine.depth(places) < nearest_m)

    def _sight(self, index: int, reach: FloatArray) -> LensSight:
        """Return one lens as the camera sees it; `reach` is how far it sees without lenses. [m]"""
        lenses, glasses = self.scene.lenses, self.scene.sitter.glasses
        assert lenses is not None
        assert glasses is not None
        directions = self.fine.directions()
        distance = front_distance(self.scene.camera, directions, lenses=lenses, index=index)
        with np.errstate(invalid="ignore"):
            covered = np.isfinite(distance) & ~(reach < distance - HIDDEN_M)
        rays = look_through(
            self.scene.camera,
            directions[covered],
            lenses=lenses,
            index=index,
            bare_edge_m=bare_edge(glasses),
        )
        return LensSight(covered=covered, rays=rays)

    def _views(self, looks: Looks) -> tuple[FaceView | None, ...]:
        """Return what cameras behind the lenses see, look by look: changing that takes time."""
        windows = [self._behind_lens(index, sight.rays) for index, sight in enumerate(self.sights)]
        seen: list[dict[Look, FloatArray]] = [{} for _ in windows]
        every: tuple[Look, ...] = ("place", "normal", "albedo")
        for look in every:
            for own, found in zip(windows, seen, strict=True):
                if own is not None:
                    found[look] = looks.picture(own[0], look=look, near_m=own[1], pinhole=True)
        return tuple(
            None if own is None else FaceView(window=own[0], near_m=own[1], looks=found)
            for own, found in zip(windows, seen, strict=True)
        )

    def _through(
        self, index: int, sight: LensSight, *, face: Any, seed: int, samples: int
    ) -> FloatArray | None:
        """Return the face at the fine pixels of one lens, undimmed, (n, 3) [cd·s/m²].

        NaN where the camera behind the lens cannot see it, None without such a camera.
        """
        rays, view = sight.rays, self.views[index]
        if view is None:
            return None
        image = self.stage.tracer.picture(
            face,
            view.window,
            samples=max(FACE_SAMPLES, samples),
            depth=FACE_DEPTH,
            seed=seed,
            near_m=view.near_m,
            pinhole=True,
        )
        albedo = view.looks["albedo"]
        image = denoise(image, albedo=albedo, normal=view.looks["normal"], fine=False)
        at = view.window.pixels(self._followed(index, rays, view))
        seen = bilinear(image, at)
        dark = (
            albedo.max(axis=-1) <= 0.0
        )  # the camera starts in what is there, or hairs from behind
        inside = widened(widened(without_fringes(dark)))
        beside = ((at < 0.0) | (at > (view.window.columns, view.window.rows))).any(axis=-1)
        within = nearest(inside, at) | self._within_head(index, rays, view.near_m)
        return np.where((within | beside | rays.at_edge)[:, None], np.nan, seen)

    def _scattered(self, base: FloatArray, at: FloatArray, *, index: int) -> FloatArray:
        """Return what the edge of a lens scatters of what is around it, at pixels, (n, 3)."""
        lenses = self.scene.lenses
        assert lenses is not None
        if not len(at):
            return np.empty((0, 3))
        wide = EDGE_SPREAD_M * self.window.pixels_each_m(lenses.boxed_origin[index])
        around = int(np.ceil(wide)) + 2
        left, top, columns, rows = self.box
        low = np.maximum((left - around, top - around), 0)
        part = base[low[1] : top + rows + around, low[0] : left + columns + around]
        filled = np.pad(part, ((around, around), (around, around), (0, 0)), mode="edge")
        return bilinear(blurred(filled, diameter=wide), at - low + around)

    def _dimmed(self, sight: LensSight) -> FloatArray:
        """Return what is left of the face behind a lens at its fine pixels, (n, 1). [-]"""
        passed = np.where(sight.rays.at_edge, EDGE_PASSES**0.5, sight.rays.passed)
        return np.asarray((passed * self._tint)[:, None] ** 2)

    def _blur(self, index: int) -> float:
        """Return how wide the aperture spreads a point of a lens, in fine pixels."""
        lenses = self.scene.lenses
        assert lenses is not None
        return self.fine.blur(lenses.boxed_origin[index])

    def _smooth(self, image: FloatArray) -> FloatArray:
        """Return what is mirrored without the noise of the room in it."""
        rows, columns = self.fine_shape
        if min(rows, columns) < LEAST_SMOOTHED or not self.sights:
            return image
        return denoise(image, fine=False)

    def _in_picture(self, sight: LensSight) -> FloatArray:
        row, column = np.nonzero(sight.covered)
        at = (np.stack([column, row], axis=-1) + 0.5) / self.fineness
        return np.asarray(at + np.array(self.box[:2]))

    def _behind_lens(self, index: int, rays: ThroughRays) -> tuple[Window, float] | None:
        """Return window and nearest depth of a camera that looks square at a lens, past its rim."""
        lenses, camera = self.scene.lenses, self.scene.camera
        assert lenses is not None
        axes, origin = lenses.boxed_axes[index], lenses.boxed_origin[index]
        solid = self.stage.lenses[self.number][index]
        deep = float(((solid.edge.points - origin) @ axes[:, 1]).min())
        eye = float((self.scene.eyes.cornea_center[index] - origin) @ axes[:, 1])
        plane = max(deep - BEHIND_RIM_M, eye + self.scene.eyes.cornea_radius_m + BEHIND_RIM_M)
        ahead = float((camera - origin) @ axes[:, 1])
        turned = turned_window(
            self.window.finer(max(self.fineness // 2, 1)), towards=-axes[:, 1], up=axes[:, 2]
        )
        at = turned.pixels(self._met(index, rays))
        at = at[np.isfinite(at).all(axis=-1)]
        if not len(at) or ahead <= 0.0:
            return None
        side, around = turned.whole_size[0], 4
        low = np.clip(np.floor(at.min(axis=0)).astype(int) - around, 0, side)
        columns, rows = np.clip(np.ceil(at.max(axis=0)).astype(int) + around, 0, side) - low
        if (
            min(columns, rows) < 2
            or columns * rows > MOST_FINE * self.fine.columns * self.fine.rows
        ):
            return None
        return turned.part((int(low[0]), int(low[1]), int(columns), int(rows))), ahead - plane

    def _within_head(self, index: int, rays: ThroughRays, near_m: float) -> np.ndarray:
        """Return which bent rays are in the head where the camera behind the lens starts."""
        lenses, pose = self.scene.lenses, self.scene.pose
        assert lenses is not None
        out = lenses.boxed_axes[index][:, 1]
        span = ((self.scene.camera - near_m * out) - rays.origins) @ out
        start = rays.origins + (span / (rays.directions @ out))[:, None] * rays.directions
        local = (start - pose.origin) @ pose.axes
        return self.scene.head.contains(local - (0.0, SKIN_M, 0.0))

    def _met(self, index: int, rays: ThroughRays) -> FloatArray:
        """Return where bent rays meet the plane of the iris, (n, 3) [m]."""
        lenses = self.scene.lenses
        assert lenses is not None
        out = lenses.boxed_axes[index][:, 1]
        span = (self.scene.eyes.iris_center[index] - rays.origins) @ out
        return np.asarray(
            rays.origins + (span / (rays.directions @ out))[:, None] * rays.directions
        )

    def _followed(self, index: int, rays: ThroughRays, view: FaceView) -> FloatArray:
        """Return where bent rays meet the face, found by looking up what lies there."""
        point = self._met(index, rays)
        for _ in range(SETTLING):
            there = nearest(view.looks["place"], view.window.pixels(point))
            reach = dot(there - rays.origins, rays.directions)
            moved = rays.origins + reach[:, None] * rays.directions
            point = np.where(np.isfinite(reach)[:, None], moved, point)
        return point


def _glass_of(stage: Stage, number: int) -> tuple[Glass, ...]:
    """Return lenses and corneas of one person as things that mirror and let through."""
    lenses = stage.people[number].scene.lenses
    found = []
    for index, solid in enumerate(stage.lenses[number]):
        assert lenses is not None
        glass = float(lenses.index[index])
        bare = square_on_reflectance(glass)
        coated = lenses.coating_reflectance
        own = {
            "index": glass,
            "mirrors": 1.0 if coated is None else coated / bare,
            "passes": 1.0 if coated is None else (1.0 - coated) / (1.0 - bare),
        }
        found.append(Glass(name=f"front{index}", mesh=solid.front, role="front", **own))
        found.append(Glass(name=f"back{index}", mesh=solid.back, role="back", **own))
        found.append(Glass(name=f"edge{index}", mesh=solid.edge, role="edge"))
    for index, mesh in enumerate(stage.corneas[number]):
        found.append(Glass(name=f"cornea{index}", mesh=mesh, role="cornea", index=CORNEA_INDEX))
    return tuple(found)


def _stands_in_way(part: Part) -> bool:
    """Return whether a part may hide a light from glasses or eyes; hair and clothes do not."""
    return part.kind == "frame" or part.name.endswith(("skin", "lashes"))
