"""Take a picture of a setup: the test shot before the test shot."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from tapemark.analysis import build_scenes, exposure, face_light, light_color
from tapemark.errors import Problem, SetupError
from tapemark.geometry import FloatArray
from tapemark.rendering import (
    EFFORTS,
    INDEX_FILE,
    Effort,
    LightBook,
    Photographer,
    Quality,
    Variant,
    Watching,
    build_stage,
    choose_variant,
    fingerprint,
    image_bytes,
    load_tracer,
    source_colors,
)
from tapemark.store.user_folders import cache_folder
from tapemark.studio import Setup

SIZE = (480, 600)
MOST_PIXELS = 8_000_000  # a larger picture would take more than 2 GB of memory
LEAST_SIDE = 16


@dataclass(frozen=True, kw_only=True, slots=True)
class PictureWanted:
    """What picture is wanted.

    Attributes
    ----------
    size : tuple of two ints
        Columns and rows.
    quality : str
        ``preview`` or ``final``.
    seed : int
        Of the lots drawn.
    crop : str
        ``glasses`` for a close look at the sitter's; empty for the camera's frame.
    clay : bool
        Whether everything is shown in one grey, without lenses.
    effort : Effort or None
        How much is spent on it, where it is neither of the two qualities.
    """

    size: tuple[int, int] = SIZE
    quality: Quality = "preview"
    seed: int = 0
    crop: Literal["", "glasses"] = ""
    clay: bool = False
    effort: Effort | None = None

    @property
    def spent(self) -> Effort:
        """How much is spent on it."""
        return self.effort or EFFORTS[self.quality]


@dataclass(frozen=True, kw_only=True, eq=False)
class Picture:
    """A picture that was taken.

    Attributes
    ----------
    setup : Setup
        Of what.
    values : (rows, columns, 3) array
        Linear sensor values; 1.0 is a matt white in light that meters right. [-]
    samples : int
        Paths for each pixel that are in it; 0 where it was mixed from lights.
    complete : bool
        False where it was stopped early.
    variant : Variant or None
        Of the path tracer; None where nothing was rendered.
    lights : LightBook or None
        Each light's own picture, where these were wanted.
    """

    setup: Setup
    values: FloatArray
    samples: int
    complete: bool
    variant: Variant | None
    lights: LightBook | None = None

    def file_bytes(self, suffix: str) -> bytes:
        """Return it as the content of a ``.png``, ``.jpg`` or ``.exr`` file."""
        title = self.setup.title or "untitled setup"
        return image_bytes(self.values, suffix=suffix, about=f"{title}, computed by tapemark")


def take_picture(
    setup: Setup, wanted: PictureWanted | None = None, *, watching: Watching | None = None
) -> Picture:
    """Return the picture that the camera of a setup would take.

    Parameters
    ----------
    setup : Setup
        Everything that decides a frame.
    wanted : PictureWanted, optional
        Size, quality and view.
    watching : Watching, optional
        Who waits for it.
    """
    wanted = wanted or PictureWanted()
    photographer, variant = _photographer(setup, wanted, watching)
    shot = photographer.take()
    return Picture(
        setup=setup,
        values=shot.values,
        samples=shot.samples,
        complete=shot.complete,
        variant=variant,
    )


def take_lights(
    setup: Setup,
    wanted: PictureWanted | None = None,
    *,
    folder: Path | None = None,
    weights: Mapping[str, float] | None = None,
    watching: Watching | None = None,
) -> Picture:
    """Return the picture of a setup with each light's own part of it beside it.

    Parameters
    ----------
    setup, wanted, watching
        As in `take_picture`.
    folder : Path, optional
        Where the lights are kept. Those of the same setup, view and quality are read from there
        instead of rendered again; a light's power may differ, and goes into its weight.
    weights : mapping of str to float, optional
        By how much each named light is turned up for this picture. [stops]
    """
    wanted = wanted or PictureWanted()
    changes = dict(weights or {})
    _refuse_unknown(changes, setup)
    made_from = fingerprint(_without_powers(setup), wanted, "format 1")
    known = _kept(folder, made_from)
    variant, complete = None, True
    if known is None:
        photographer, variant = _photographer(setup, wanted, watching)
        known, complete = photographer.take_each(made_from=made_from)
        powers = _powers(setup)
        known = replace(known, powers=tuple(powers.get(name, 0.0) for name in known.names))
        if folder is not None and complete:
            known.write(folder)
    for name, change in known.changes_to(_powers(setup)).items():
        changes[name] = changes.get(name, 0.0) + change
    return Picture(
        setup=setup,
        values=known.mixed(changes),
        samples=wanted.spent.samples if complete else 0,
        complete=complete,
        variant=variant,
        lights=known,
    )


def _photographer(
    setup: Setup, wanted: PictureWanted, watching: Watching | None
) -> tuple[Photographer, Variant]:
    _refuse_size(wanted.size)
    effort = wanted.spent
    scenes = build_scenes(setup)
    reading = exposure(scenes[0], light=face_light(scenes[0]))
    colors = source_colors(setup, color=light_color(scenes[0], reading=reading))
    cache = cache_folder()
    pixels = wanted.size[0] * wanted.size[1]
    variant = choose_variant(wanted.quality, cache=cache, pixels=pixels)
    tracer = load_tracer(variant.name, origin=scenes[0].pose.origin)
    stage = build_stage(
        scenes, tracer=tracer, colors=colors, clay=wanted.clay, fineness=effort.fineness
    )
    photographer = Photographer(
        stage,
        size=wanted.size,
        effort=effort,
        seed=wanted.seed,
        close=wanted.crop,
        watching=watching,
    )
    return photographer, variant


def _kept(folder: Path | None, made_from: str) -> LightBook | None:
    """Return the lights in a folder, if they are of the same picture."""
    if folder is None or not (folder / INDEX_FILE).exists():
        return None
    book = LightBook.read(folder)
    return book if book.made_from == made_from else None


def _powers(setup: Setup) -> dict[str, float]:
    return {one.name: one.power_stops for one in setup.lights if one.on}


def _without_powers(setup: Setup) -> str:
    """Return a setup as text that stays the same where only powers change."""
    lights = tuple(one.model_copy(update={"power_stops": 0.0}) for one in setup.lights)
    return setup.model_copy(update={"lights": lights}).model_dump_json()


def _refuse_unknown(changes: Mapping[str, float], setup: Setup) -> None:
    names = [one.name for one in setup.lights]
    names += [one.name for one in setup.windows] + [one.name for one in setup.screens]
    names += ["room lamps"] if setup.room.ambient_lx > 0.0 else []
    unknown = [name for name in changes if name not in names]
    if unknown:
        raise SetupError(
            (
                Problem(
                    key="--weights",
                    given=unknown[0],
                    allowed=", ".join(names),
                    advice="name a light of this setup, such as key=+1",
                ),
            )
        )


def _refuse_size(size: tuple[int, int]) -> None:
    columns, rows = size
    if min(size) >= LEAST_SIDE and columns * rows <= MOST_PIXELS:
        return
    raise SetupError(
        (
            Problem(
                key="--size",
                given=f"{columns}x{rows}",
                allowed=f"from {LEAST_SIDE} pixels a side to {MOST_PIXELS // 1_000_000} megapixels",
                advice="write it like 480x600",
            ),
        )
    )
