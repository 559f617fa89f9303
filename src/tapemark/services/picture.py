"""Take a picture of a setup: the test shot before the test shot.

What is offered here:

`take_picture`
    The finished picture, in one go.
`pictures_so_far`
    The same picture as it becomes better, for a screen: a generator of `PictureSoFar`, each with
    ``step``, ``words``, ``share`` done, and ``picture`` (its ``file_bytes(".jpg")`` is a file).
    The last one has ``picture.complete``; with ``each_light`` it also has ``picture.lights``.
    Ask it to stop through ``dropped``: it ends within 0.3 s, whatever it is at.
`take_lights`
    The finished picture with each light's own part beside it, kept in a folder.
`turned`
    A picture that has its lights, with other powers or weights: milliseconds, nothing is traced.

    for one in pictures_so_far(setup, each_light=True, dropped=lambda: gone):
        show(one.picture.file_bytes(".jpg"), one.words, one.share)
    later = turned(one.picture, setup=setup_with_other_powers)   # or weights={"key": +1.0}
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np

from tapemark.analysis import build_scenes, exposure, face_light, light_color
from tapemark.errors import OptionError, Problem, SetupError
from tapemark.geometry import FloatArray
from tapemark.rendering import (
    EFFORTS,
    INDEX_FILE,
    Dropped,
    Effort,
    LightBook,
    Patience,
    Photographer,
    Quality,
    Shot,
    Variant,
    Watching,
    build_stage,
    check_writable,
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
ALL_LIGHTS_SHARE = 0.3  # of the work where each light's own picture is wanted, too


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
    remarks : tuple of str
        What may surprise in it.
    """

    setup: Setup
    values: FloatArray
    samples: int
    complete: bool
    variant: Variant | None
    lights: LightBook | None = None
    remarks: tuple[str, ...] = ()

    def file_bytes(self, suffix: str) -> bytes:
        """Return it as the content of a ``.png``, ``.jpg`` or ``.exr`` file."""
        title = self.setup.title or "untitled setup"
        return image_bytes(self.values, suffix=suffix, about=f"{title}, computed by tapemark")


@dataclass(frozen=True, kw_only=True, eq=False)
class PictureSoFar:
    """A picture while it is taken.

    Attributes
    ----------
    picture : Picture
        As it is by now; complete in the last one only, unless light by light is wanted: then the
        one under all lights is complete before the last, which has its ``lights``.
    step : str
        ``first look``, ``samples``, ``picture`` or ``lights``.
    words : str
        How far it is, for the screen.
    share : float
        Of the work that is done, 0 to 1. [-]
    """

    picture: Picture
    step: Literal["first look", "samples", "picture", "lights"]
    words: str
    share: float


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
    return _as_picture(shot, setup=setup, variant=variant, remarks=_remarks(photographer))


def pictures_so_far(
    setup: Setup,
    wanted: PictureWanted | None = None,
    *,
    each_light: bool = False,
    dropped: Callable[[], bool] = lambda: False,
) -> Iterator[PictureSoFar]:
    """Yield the picture of a setup as it becomes better.

    Parameters
    ----------
    setup, wanted
        As in `take_picture`.
    each_light : bool
        Whether each light's own picture is wanted, too. They come after the picture under all,
        which is then no better than a preview, and are added up in the last one.
    dropped : callable
        Asked whether nobody wants it any more; then nothing else comes, within 0.3 s.
    """
    wanted = wanted or PictureWanted()
    patience = Patience(dropped=dropped)
    try:
        photographer, variant = patience.during(
            lambda: _photographer(setup, wanted, None, patience=patience, preview=each_light)
        )
        if each_light:
            _refuse_dark(photographer, setup)
        of_all = ALL_LIGHTS_SHARE if each_light else 1.0
        for shot in photographer.shots():
            yield PictureSoFar(
                picture=_as_picture(
                    shot, setup=setup, variant=variant, remarks=_remarks(photographer)
                ),
                step=shot.step,
                words=_words(shot, photographer.effort),
                share=of_all * shot.share,
            )
        if each_light:
            photographer.effort = wanted.spent
            yield from _each_light(photographer, setup, variant, wanted)
    except Dropped:
        return


def refuse_unwritable(out: Path, *, lights: Path | None = None) -> None:
    """Raise a `WriteError` where a picture, or its lights, could not be written there later.

    Parameters
    ----------
    out : Path
        File of the picture.
    lights : Path, optional
        Folder of its lights.
    """
    check_writable(out.parent, file=out.name)
    if lights is not None:
        check_writable(lights)


def turned(
    picture: Picture,
    *,
    setup: Setup | None = None,
    weights: Mapping[str, float] | None = None,
) -> Picture:
    """Return a picture that has its lights, with some turned up or down; nothing is traced.

    Parameters
    ----------
    picture : Picture
        With ``lights``.
    setup : Setup, optional
        The same setup with other powers.
    weights : mapping of str to float, optional
        By how much each named light is turned up besides. [stops]
    """
    lights, own = picture.lights, setup or picture.setup
    if lights is None:
        raise ValueError("this picture was taken without its lights")
    changes = dict(weights or {})
    _refuse_unknown(changes, own)
    for name, change in lights.changes_to(_powers(own)).items():
        changes[name] = changes.get(name, 0.0) + change
    return replace(picture, setup=own, values=lights.mixed(changes), variant=None)


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
    remarks: tuple[str, ...] = ()
    if known is None:
        photographer, variant = _photographer(setup, wanted, watching)
        _refuse_dark(photographer, setup)
        known, complete = photographer.take_each(made_from=made_from)
        remarks = _remarks(photographer)
        powers = _powers(setup)
        known = replace(known, powers=tuple(powers.get(name, 0.0) for name in known.names))
        if folder is not None and complete:
            known.write(folder)
    plain = Picture(
        setup=setup,
        values=known.mixed(),
        samples=wanted.spent.samples if complete else 0,
        complete=complete,
        variant=variant,
        lights=known,
        remarks=remarks,
    )
    return replace(turned(plain, weights=changes), variant=variant)


def _as_picture(shot: Shot, *, setup: Setup, variant: Variant, remarks: tuple[str, ...]) -> Picture:
    return Picture(
        setup=setup,
        values=shot.values,
        samples=shot.samples,
        complete=shot.complete,
        variant=variant,
        remarks=remarks,
    )


def _remarks(photographer: Photographer) -> tuple[str, ...]:
    """Return who is not in the picture, and that nothing lights it, in words."""
    absent = tuple(
        f"{name} is not in the frame: turn the camera, or choose a wider lens"
        for name in photographer.missing
    )
    if photographer.close and not photographer.stage.lenses[0]:
        absent += (f"{photographer.stage.scene.sitter.name} wears no glasses: the eyes are shown",)
    if _shines(photographer):
        return absent
    return (*absent, "nothing shines, so the picture is black: switch a light on, or add one")


def _shines(photographer: Photographer) -> bool:
    return any(one.shines for one in photographer.stage.sources)


def _words(shot: Shot, effort: Effort) -> str:
    """Return how far a picture is, in words."""
    if shot.step == "first look":
        return "a first look"
    if shot.complete:
        return "the picture"
    return f"{shot.samples} of {max(effort.samples, shot.samples)} samples a pixel"


def _each_light(
    photographer: Photographer, setup: Setup, variant: Variant, wanted: PictureWanted
) -> Iterator[PictureSoFar]:
    """Yield the sum of the lights' own pictures, when all of them are there."""
    names, images = [], []
    for name, shot in photographer.each_light():
        names.append(name)
        images.append(shot.values)
    powers = _powers(setup)
    book = LightBook(
        names=tuple(names),
        images=np.stack(images),
        powers=tuple(powers.get(name, 0.0) for name in names),
        made_from=fingerprint(_without_powers(setup), wanted, "format 1"),
    )
    whole = Picture(
        setup=setup,
        values=book.mixed(),
        samples=wanted.spent.samples,
        complete=True,
        variant=variant,
        lights=book,
    )
    yield PictureSoFar(picture=whole, step="lights", words="the picture, by light", share=1.0)


def _photographer(
    setup: Setup,
    wanted: PictureWanted,
    watching: Watching | None,
    *,
    patience: Patience | None = None,
    preview: bool = False,
) -> tuple[Photographer, Variant]:
    _refuse_size(wanted.size)
    effort = wanted.spent
    scenes = build_scenes(setup)
    reading = exposure(scenes[0], light=face_light(scenes[0]))
    colors = source_colors(setup, color=light_color(scenes[0], reading=reading))
    cache = cache_folder()
    pixels = wanted.size[0] * wanted.size[1]
    variant = choose_variant(wanted.quality, cache=cache, pixels=pixels, samples=effort.samples)
    tracer = load_tracer(variant.name, origin=scenes[0].pose.origin, patience=patience)
    stage = build_stage(
        scenes,
        tracer=tracer,
        colors=colors,
        clay=wanted.clay,
        fineness=effort.fineness,
        cache=cache / "people",
    )
    photographer = Photographer(
        stage,
        size=wanted.size,
        effort=EFFORTS["preview"] if preview else effort,
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
        told = [f'"{one}"' if "," in one else one for one in names]
        raise OptionError(
            Problem(
                key="--weights",
                given=f'"{unknown[0]}"' if "," in unknown[0] else unknown[0],
                allowed=", ".join(told) or "none: this setup has no lights",
                advice="name a light of this setup, with its stops, such as key=+1",
            )
        )


def _refuse_dark(photographer: Photographer, setup: Setup) -> None:
    if _shines(photographer):
        return
    raise SetupError(
        (
            Problem(
                key="light",
                given="none that is on",
                allowed="a light, a window or a lamp that shines",
                advice="switch a light on, or add one",
            ),
        ),
        name=setup.title or "setup",
    )


def _refuse_size(size: tuple[int, int]) -> None:
    columns, rows = size
    if min(size) >= LEAST_SIDE and columns * rows <= MOST_PIXELS:
        return
    raise OptionError(
        Problem(
            key="--size",
            given=f"{columns}x{rows}",
            allowed=f"from {LEAST_SIDE} pixels a side to {MOST_PIXELS // 1_000_000} megapixels",
            advice="write it like 480x600",
        )
    )
