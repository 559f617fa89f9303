"""Taking the picture: passes of the path tracer, denoised, with the layer of the glasses on top."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Literal, TypeVar

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.rendering.denoising import denoise
from tapemark.rendering.developing import sensor_values
from tapemark.rendering.glasses_layer import GlassesLayer
from tapemark.rendering.lightbook import LightBook
from tapemark.rendering.looks import Looks, looks_of
from tapemark.rendering.stage import Lighting, Stage
from tapemark.rendering.view import close_window, whole_window

Close = Literal["", "glasses"]
Work = TypeVar("Work")
FIRST_DEPTH = 3
DEPTH = 6  # segments from the camera to the light: four bounces
CLOSE_MARGIN = 0.12
FIRST_LOOK = 3  # times larger pixels of the first look at the picture


@dataclass(frozen=True, kw_only=True, slots=True)
class Effort:
    """How much is spent on a picture.

    Attributes
    ----------
    samples : int
        Paths for each pixel.
    each_pass : int
        Of these, between two looks at whether to go on.
    layer_samples : int
        Paths for each fine pixel of the glasses.
    guide_samples : int
        Rays for each pixel of what guides the denoising.
    fineness : float
        Of the mannequins.
    fine_denoise : bool
        Whether denoising may take its time.
    """

    samples: int
    each_pass: int
    layer_samples: int
    guide_samples: int
    fineness: float
    fine_denoise: bool


EFFORTS = {
    "preview": Effort(
        samples=2,
        each_pass=1,
        layer_samples=1,
        guide_samples=1,
        fineness=0.6,
        fine_denoise=False,
    ),
    "final": Effort(
        samples=64,
        each_pass=2,
        layer_samples=8,
        guide_samples=8,
        fineness=1.0,
        fine_denoise=True,
    ),
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Shot:
    """A picture as the sensor has it.

    Attributes
    ----------
    values : (rows, columns, 3) array
        Linear; 1.0 is a matt white in light that meters right. [-]
    samples : int
        Paths for each pixel that are in it.
    complete : bool
        False where it was stopped before all were.
    """

    values: FloatArray
    samples: int
    complete: bool


@dataclass(kw_only=True, eq=False)
class Watching:
    """How taking a picture and whoever waits for it talk.

    Attributes
    ----------
    tell : callable
        Told in a few words how far it is.
    show : callable
        Shown the picture as it is by then: linear values.
    stopped : callable
        Asked between passes whether to end with what there is.
    """

    tell: Callable[[str], None] = field(default=lambda text: None)
    show: Callable[[FloatArray], None] = field(default=lambda values: None)
    stopped: Callable[[], bool] = field(default=lambda: False)


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
        self.watching = watching or Watching()
        whole = whole_window(stage.scene, size=size)
        self.window = (
            close_window(whole, _around_eyes(stage), margin=CLOSE_MARGIN) if close else whole
        )
        self._looks: Looks | None = None
        self._guides: tuple[FloatArray, FloatArray] | None = None
        self._layers: tuple[GlassesLayer, ...] | None = None

    def take(self) -> Shot:
        """Return the picture under all lights."""
        image, samples = self._lit(self.stage.lit_by(), name="")
        complete = samples >= self.effort.samples
        return Shot(values=self._values(image), samples=samples, complete=complete)

    def take_each(self, *, made_from: str = "") -> tuple[LightBook, bool]:
        """Return the pictures under each light alone, and whether all are complete."""
        names, images, complete = [], [], True
        for source in self.stage.sources:
            if not source.shines:
                continue
            if self.watching.stopped():
                complete = False
                break
            image, samples = self._lit(self.stage.lit_by((source.name,)), name=source.name)
            complete &= samples >= self.effort.samples
            names.append(source.name)
            images.append(self._values(image))
        shape = (0, self.window.rows, self.window.columns, 3)
        stacked: np.ndarray = np.stack(images) if images else np.zeros(shape, dtype=np.float32)
        book = LightBook(names=tuple(names), images=stacked, made_from=made_from)
        return book, complete

    def _lit(self, light: Lighting, *, name: str) -> tuple[FloatArray, int]:
        """Return the picture under some light, and the paths for each pixel in it."""
        rows, columns = self.window.rows, self.window.columns
        if light.dark:
            return np.zeros((rows, columns, 3), dtype=np.float32), self.effort.samples
        whose = f"{name}: " if name else ""
        face = self.face_scene(light)
        if not name:
            self._first_look(face)
        total, samples = np.zeros((rows, columns, 3), dtype=np.float64), 0
        for count, seed in self._passes():
            if samples and self.watching.stopped():
                break
            self.watching.tell(f"{whose}{samples} of {self.effort.samples} samples a pixel")
            traced = self._base(face, samples=count, seed=seed)
            if samples and self.watching.stopped():
                break  # the tracer ends a pass early then, with parts of it missing
            total += count * traced
            samples += count
            if not name:
                self.watching.show(self._values(total / samples))
        self.watching.tell(f"{whose}taking the noise out")
        base = self._undisturbed(lambda: self._denoised((total / samples).astype(np.float32)))
        if not name:
            self.watching.show(self._values(base))
        self.watching.tell(f"{whose}what the glasses mirror")
        image = base.copy()
        for layer in self._undisturbed(self.layers):
            under = partial(layer.under, light, face=face, base=base, seed=self.seed)
            self._undisturbed(under).laid_over(image)
        return image, samples

    def _undisturbed(self, work: Callable[[], Work]) -> Work:
        """Return what work gives; done again where it was asked to stop meanwhile.

        The tracer cuts short what it is at when somebody presses Ctrl-C.
        """
        before, found = self.watching.stopped(), work()
        if before or not self.watching.stopped():
            return found
        self._looks = self._guides = self._layers = None
        return work()

    def face_scene(self, light: Lighting) -> Any:
        """Return the tracer's scene of everything but lenses and corneas under some light."""
        stage = self.stage
        parts = [*stage.bodies, *stage.frames, *light.room, *light.faces]
        return stage.tracer.scene(parts, beams=light.beams)

    def layers(self) -> tuple[GlassesLayer, ...]:
        """Return the layers of everybody whose eyes or glasses are in the picture."""
        if self._layers is None:
            own = [
                GlassesLayer(
                    self.stage,
                    number,
                    window=self.window,
                    looks=self.looks(),
                    samples=self.effort.layer_samples,
                )
                for number in range(len(self.stage.people))
            ]
            self._layers = tuple(one for one in own if not one.empty)
        return self._layers

    def looks(self) -> Looks:
        """Return what everything but the lenses is made of."""
        if self._looks is None:
            stage = self.stage
            light = stage.lit_by()
            parts = [*stage.bodies, *stage.frames, *light.room, *light.faces]
            self._looks = looks_of(stage.tracer, parts)
        return self._looks

    def _passes(self) -> Iterator[tuple[int, int]]:
        """Yield how many paths each pass traces, and its seed."""
        left, number = self.effort.samples, 0
        while left > 0:
            count = min(self.effort.each_pass, left)
            yield count, self.seed * 1009 + number
            left, number = left - count, number + 1

    def _first_look(self, face: Any) -> None:
        """Show the picture in large pixels, at once."""
        image = self.stage.tracer.picture(
            face, self.window.coarser(FIRST_LOOK), samples=1, depth=FIRST_DEPTH, seed=self.seed
        )
        large = np.repeat(np.repeat(image, FIRST_LOOK, axis=0), FIRST_LOOK, axis=1)
        self.watching.show(self._values(large))

    def _base(self, face: Any, *, samples: int, seed: int) -> FloatArray:
        return self.stage.tracer.picture(face, self.window, samples=samples, depth=DEPTH, seed=seed)

    def _denoised(self, image: FloatArray) -> FloatArray:
        if self._guides is None:
            looks, samples = self.looks(), self.effort.guide_samples
            albedo = looks.picture(self.window, look="albedo", samples=samples)
            normal = looks.picture(self.window, look="normal", samples=samples)
            self._guides = albedo, normal
        albedo, normal = self._guides
        return denoise(image, albedo=albedo, normal=normal, fine=self.effort.fine_denoise)

    def _values(self, image: FloatArray) -> FloatArray:
        return sensor_values(image, camera=self.stage.scene.setup.camera).astype(np.float32)


def _around_eyes(stage: Stage) -> FloatArray:
    """Return points around the sitter's glasses, or eyes, world, (n, 3) [m]."""
    if stage.lenses[0]:
        return np.concatenate([one.front.points for one in stage.lenses[0]])
    eyes = stage.scene.eyes
    across, up = stage.scene.pose.axes[:, 0], stage.scene.pose.axes[:, 2]
    corners = [x * 0.02 * across + z * 0.012 * up for x in (-1, 1) for z in (-1, 1)]
    return np.concatenate([eyes.iris_center + one for one in corners])
