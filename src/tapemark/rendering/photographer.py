"""Taking the picture: passes of the path tracer, denoised, with the layer of the glasses on top.

While the passes are traced, everything about the surfaces is found out beside them: what guides
the denoising, and the layers of the glasses.
"""

import math
from collections.abc import Callable, Iterator
from functools import cache, partial
from threading import RLock
from typing import Any, Literal

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.rendering.denoising import denoise
from tapemark.rendering.developing import sensor_values
from tapemark.rendering.efforts import EFFORTS, Effort
from tapemark.rendering.glasses_layer import GlassesLayer, TracedGlasses
from tapemark.rendering.interruption import begun
from tapemark.rendering.lightbook import LightBook
from tapemark.rendering.looks import Looks, looks_of
from tapemark.rendering.pixels import larger
from tapemark.rendering.shot import Shot, Step, Watching
from tapemark.rendering.sitter_parts import Person
from tapemark.rendering.stage import Lighting, Stage
from tapemark.rendering.view import close_window, whole_window

Close = Literal["", "glasses"]
Traced = tuple[TracedGlasses, ...]
FIRST_DEPTH = 3
DEPTH = 6  # segments from the camera to the light: four bounces
CLOSE_MARGIN = 0.12
FIRST_LOOK = 3  # times larger pixels of the first look at the picture
FIRST_FINENESS = 0.2  # of its mannequins: the tracer takes them in half of the time of a preview's
MILESTONES = (2, 8, 32)  # paths a pixel after which a whole picture is shown
COMPILED_PASSES = 2
USUAL_NOISE = 0.5  # between neighbours, of the mean; light bounced off a ceiling has 0.8
SAMPLING = 0.9  # share of the work that is passes, where there are many


class Photographer:
    """Takes pictures of one stage.

    Parameters
    ----------
    stage : Stage
        The setup.
    size : tuple of two ints
        Columns and rows.
    effort : Effort
        How much is spent.
    seed : int
        Of the lots drawn.
    close : str
        ``glasses`` for a close look at the sitter's; empty for the camera's frame.
    watching : Watching
        Who waits.
    """

    def __init__(
        self,
        stage: Stage,
        *,
        size: tuple[int, int],
        effort: Effort,
        seed: int = 0,
        close: Close = "",
        watching: Watching | None = None,
    ) -> None:
        self.stage, self.effort, self.seed = stage, effort, seed
        self.watching, self.close = watching or Watching(), close
        self._frame = whole_window(stage.scene, size=size)
        self.window = self._frame
        if close:
            self.window = close_window(self._frame, _around_eyes(stage), margin=CLOSE_MARGIN)
        self._looks: Looks | None = None
        self._guides: tuple[FloatArray, FloatArray] | None = None
        self._layers: tuple[GlassesLayer, ...] | None = None
        self._wanted = effort.samples
        self._finding = RLock()  # what is found once for all pictures

    def take(self) -> Shot:
        """Return the picture under all lights."""
        for shot in self.shots():
            self.watching.show(shot.values)
        return shot

    def shots(self) -> Iterator[Shot]:
        """Yield the picture under all lights as it becomes better; the last is as good as it gets.

        Raises
        ------
        Dropped
            Nobody wanted it any more.
        """
        yield from self._lit(self.stage.lit_by(), name="")

    def take_each(self, *, made_from: str = "") -> tuple[LightBook, bool]:
        """Return the pictures under each light alone, and whether all are complete."""
        names, images, complete = [], [], True
        for name, shot in self.each_light():
            complete &= shot.complete
            names.append(name)
            images.append(shot.values)
        complete &= len(names) == sum(one.shines for one in self.stage.sources)
        shape = (0, self.window.rows, self.window.columns, 3)
        stacked: np.ndarray = np.stack(images) if images else np.zeros(shape, dtype=np.float32)
        book = LightBook(names=tuple(names), images=stacked, made_from=made_from)
        return book, complete

    def each_light(self) -> Iterator[tuple[str, Shot]]:
        """Yield the name of every source that shines, and the finished picture under it alone."""
        for source in self.stage.sources:
            if not source.shines:
                continue
            if self.watching.stopped():
                return
            light = self.stage.lit_by((source.name,))
            *_, shot = self._lit(light, name=source.name)
            yield source.name, shot

    def _lit(self, light: Lighting, *, name: str) -> Iterator[Shot]:
        """Yield the picture under some light; under a single one, named, the finished one only."""
        if light.dark:
            dark = np.zeros((self.window.rows, self.window.columns, 3), dtype=np.float32)
            yield Shot(values=dark, samples=self.effort.samples, complete=True)
            return
        before = self.watching.stopped()
        if not name:
            yield self._first_look(light)
        face = self.face_scene(light)
        milestones = MILESTONES if self.stage.tracer.plain and not name else ()
        final = partial(self._traced, light, face, samples=self.effort.layer_samples)
        quick = EFFORTS["preview"].layer_samples
        beside = self._beside(partial(final, samples=quick) if milestones else final)
        total, samples = np.zeros((self.window.rows, self.window.columns, 3)), 0
        for traced, count in self._passes(face, whose=f"{name}: " if name else ""):
            total += count * traced
            samples += count
            if samples >= self._wanted:
                break
            if samples in milestones:
                yield self._shot(self._finished(total / samples, beside()), samples)
            elif not name and (samples < MILESTONES[0] or not milestones):
                yield self._shot(total / samples, samples, step="samples")
        self.watching.tell(f"{name}: finishing" if name else "finishing")
        if milestones and quick != self.effort.layer_samples:
            beside = final
        image, found = total / samples, None
        if before or not self.watching.stopped():
            found = self._finished(image, beside(), last=True)
        if found is None or (self.watching.stopped() and not before):
            # The tracer cuts short whatever it is at when somebody presses Ctrl-C.
            self._looks = self._guides = self._layers = None
            found = self._finished(image, final(samples=quick), last=True)
        yield self._shot(found, samples, last=True)

    def _passes(self, face: Any, *, whose: str) -> Iterator[tuple[FloatArray, int]]:
        """Yield what each pass traces, and how many paths for each pixel are in it."""
        done, number, each = 0, 0, self.effort.each_pass
        self._wanted = self.effort.samples
        if not self.stage.tracer.plain:  # each pass costs a compiled tracer seconds, however small
            each = max(each, self.effort.samples // COMPILED_PASSES)
        while done < self._wanted:
            count = min(each, self._wanted - done)
            self.watching.tell(f"{whose}{done} of {self._wanted} samples a pixel")
            before = self.watching.stopped()
            traced = self._base(face, samples=count, seed=self.seed * 1009 + number)
            if done and self.watching.stopped():
                return  # the tracer ends a pass early then, with parts of it missing
            cut = not before and self.watching.stopped()
            if cut:  # in the first pass, for which a quick one stands in that is whole
                traced, count = self._base(face, samples=1, seed=self.seed * 1009), 1
            if not done and self.effort.most_samples:
                self._wanted = max(self._wanted, self._needed(traced))
            yield traced, count
            if cut:
                return
            done, number = done + count, number + 1

    def _needed(self, image: FloatArray) -> int:
        """Return how many paths a pixel are as good as usual: neighbours tell how noisy it is."""
        mean = float(image.mean())
        noise = float(np.abs(np.diff(image.mean(axis=-1), axis=1)).mean()) / max(mean, 1e-12)
        wanted = math.ceil(self.effort.samples * (noise / USUAL_NOISE) ** 2)
        return min(wanted, self.effort.most_samples)

    def _beside(self, work: Callable[[], Traced]) -> Callable[[], Traced]:
        """Begin what does not need the passes, beside them where the tracer can do so."""
        return begun(work).result if self.stage.tracer.plain else cache(work)

    def _traced(self, light: Lighting, face: Any, *, samples: int) -> Traced:
        """Return the layers of the glasses under some light, as traced; finds the guides too."""
        self.guides()
        return tuple(
            one.traced(light, face=face, seed=self.seed, samples=samples) for one in self.layers()
        )

    def _finished(self, image: FloatArray, layers: Traced, *, last: bool = False) -> FloatArray:
        """Return a picture without its noise and with the glasses over it."""
        albedo, normal = self.guides()
        fine = last and self.effort.fine_denoise
        work = partial(denoise, image, albedo=albedo, normal=normal, fine=fine)
        base = self.stage.tracer.patience.during(work)
        whole = base.copy()
        for layer, traced in zip(self.layers(), layers, strict=True):
            layer.over(traced, base=base).laid_over(whole)
        return whole

    @property
    def missing(self) -> tuple[str, ...]:
        """Names of those whose eyes both lie out of the camera's frame, the sitter first."""
        found = []
        for person in self.stage.people:
            shown = self._frame.pixels(person.scene.eyes.iris_center)
            within = (shown > 0.0) & (shown < (self._frame.columns, self._frame.rows))
            if not within.all(axis=-1).any():
                found.append(person.scene.sitter.name)
        return tuple(found)

    def face_scene(self, light: Lighting) -> Any:
        """Return the tracer's scene of everything but lenses and corneas under some light."""
        return self._scene_of(self.stage.people, light)

    def _scene_of(self, people: tuple[Person, ...], light: Lighting) -> Any:
        bodies = [part for one in people for part in one.body]
        frames = [part for one in people for part in one.frame]
        parts = [*bodies, *frames, *light.room, *light.faces]
        tracer = self.stage.tracer
        return tracer.patience.during(partial(tracer.scene, parts, beams=light.beams))

    def layers(self) -> tuple[GlassesLayer, ...]:
        """Return the layers of everybody whose eyes or glasses are in the picture."""
        with self._finding:
            if self._layers is None:
                own = [
                    GlassesLayer(
                        self.stage,
                        number,
                        window=self.window,
                        looks=self.looks(),
                        samples=self.effort.layer_samples,
                        lens_pixels=self.effort.lens_pixels,
                    )
                    for number in range(len(self.stage.people))
                ]
                self._layers = tuple(one for one in own if not one.empty)
            return self._layers

    def looks(self) -> Looks:
        """Return what everything but the lenses is made of."""
        with self._finding:
            if self._looks is None:
                stage = self.stage
                light = stage.lit_by()
                parts = [*stage.bodies, *stage.frames, *light.room, *light.faces]
                self._looks = looks_of(stage.tracer, parts, seen_from=self.window.view)
            return self._looks

    def guides(self) -> tuple[FloatArray, FloatArray]:
        """Return reflectance and direction of what every pixel shows."""
        with self._finding:
            if self._guides is None:
                looks, samples = self.looks(), self.effort.guide_samples
                if samples == 1:
                    self._guides = looks.guides(self.window)
                    return self._guides
                albedo = looks.picture(self.window, look="albedo", samples=samples)
                normal = looks.picture(self.window, look="normal", samples=samples)
                self._guides = albedo, normal
            return self._guides

    def _first_look(self, light: Lighting) -> Shot:
        """Return the picture in large pixels and with coarse mannequins, at once."""
        coarse = self._scene_of(self.stage.people_of(FIRST_FINENESS), light)
        image = self.stage.tracer.picture(
            coarse, self.window.coarser(FIRST_LOOK), samples=1, depth=FIRST_DEPTH, seed=self.seed
        )
        whole = larger(image, shape=(self.window.rows, self.window.columns))
        return self._shot(whole, 0, step="first look")

    def _base(self, face: Any, *, samples: int, seed: int) -> FloatArray:
        return self.stage.tracer.picture(face, self.window, samples=samples, depth=DEPTH, seed=seed)

    def _shot(
        self, image: FloatArray, samples: int, *, step: Step = "picture", last: bool = False
    ) -> Shot:
        return Shot(
            values=self._values(image),
            samples=samples,
            complete=last and samples >= self._wanted,
            step=step,
            share=1.0 if last else SAMPLING * samples / self._wanted,
        )

    def _values(self, image: FloatArray) -> np.ndarray:
        return sensor_values(image, camera=self.stage.scene.setup.camera).astype(np.float32)


def _around_eyes(stage: Stage) -> FloatArray:
    """Return points around the sitter's glasses, or eyes, world, (n, 3) [m]."""
    if stage.lenses[0]:
        return np.concatenate([one.front.points for one in stage.lenses[0]])
    eyes = stage.scene.eyes
    across, up = stage.scene.pose.axes[:, 0], stage.scene.pose.axes[:, 2]
    corners = [x * 0.02 * across + z * 0.012 * up for x in (-1, 1) for z in (-1, 1)]
    return np.concatenate([eyes.iris_center + one for one in corners])
