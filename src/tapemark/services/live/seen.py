"""What one look at a setup finds, quickly: lenses, catchlights, readings and the pattern.

The same rays on the same lattice as in a check, so that both agree.  What does not change from
one look to the next is kept: while a light moves, the camera's view of the lenses; while the
camera moves or a head turns, what sends light from where.
"""

from collections.abc import Hashable
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Generic, TypeVar

from tapemark.analysis import (
    Catchlight,
    Emitter,
    Exposure,
    LensGlare,
    LensView,
    ReflectionOutline,
    Scene,
    build_scenes,
    catchlights,
    cover_map,
    emitters,
    exposure,
    face_light,
    lattice_for,
    lens_glare,
    reflection_outlines,
    view_lenses,
)
from tapemark.analysis.key_light import KeyLight, key_light
from tapemark.analysis.modelling import lighting_ratio, named_pattern
from tapemark.analysis.told_ratio import ToldRatio
from tapemark.planning import PersonLenses
from tapemark.services.check import CHECKED_POINTS
from tapemark.studio import Setup

_Value = TypeVar("_Value")
_KEPT = 48  # views and sets of emitters; a view of one person is some 2 MB


@dataclass(frozen=True, kw_only=True, eq=False)
class PersonSeen(PersonLenses):
    """What a quick look finds about one person, beside what the lenses show.

    Attributes
    ----------
    outlines : tuple of ReflectionOutline
        Where the reflections fall; empty unless asked for.
    catchlights : tuple of Catchlight
        Of both eyes.
    exposure : Exposure
        Readings at the face.
    key : KeyLight or None
        What models the face; None in the dark.
    pattern : str
        How the key models the face.
    ratio : ToldRatio or None
        The lighting ratio, as a check tells it.
    """

    outlines: tuple[ReflectionOutline, ...]
    catchlights: tuple[Catchlight, ...]
    exposure: Exposure
    key: KeyLight | None
    pattern: str
    ratio: ToldRatio | None


def look(setup: Setup, *, outlined: bool = True) -> tuple[PersonSeen, ...]:
    """Return what a quick look finds about everybody, the sitter first.

    Parameters
    ----------
    setup : Setup
        What is looked at.
    outlined : bool
        Whether outlines of the reflections are wanted; only the camera's view shows them.
    """
    sending = _sending(_Kept(key=_lighting(setup), value=setup))
    return tuple(
        _person(scene, outlined=outlined) for scene in build_scenes(setup, sending=sending)
    )


@dataclass(frozen=True, kw_only=True)
class _Kept(Generic[_Value]):
    """Something to work from, with what decides the answer."""

    key: Hashable
    value: _Value = field(compare=False)


def _person(scene: Scene, *, outlined: bool) -> PersonSeen:
    light = face_light(scene)
    lenses: tuple[LensGlare, ...] = ()
    outlines: tuple[ReflectionOutline, ...] = ()
    view: LensView | None = None
    if scene.lenses is not None:
        view = _view(_Kept(key=(scene.sitter, scene.setup.camera.place), value=scene))
        cover = cover_map(scene, view, light=light)
        lenses = lens_glare(view, cover)
        if outlined:
            outlines = reflection_outlines(scene.lenses, view, cover)
    key = key_light(scene, light=light)
    return PersonSeen(
        scene=scene,
        light=light,
        view=view,
        lenses=lenses,
        outlines=outlines,
        catchlights=catchlights(scene, light=light),
        exposure=exposure(scene, light=light),
        key=key,
        pattern=named_pattern(scene, key),
        ratio=lighting_ratio(scene, key),
    )


@lru_cache(maxsize=_KEPT)
def _view(kept: _Kept[Scene]) -> LensView:
    scene = kept.value
    assert scene.lenses is not None
    columns, rows = lattice_for(scene.lenses, points=CHECKED_POINTS)
    return view_lenses(scene, scene.lenses, columns=columns, rows=rows)


@lru_cache(maxsize=_KEPT)
def _sending(kept: _Kept[Setup]) -> tuple[Emitter, ...]:
    return emitters(kept.value)


def _lighting(setup: Setup) -> Hashable:
    """Return all that decides which light leaves what, and where."""
    camera = setup.camera
    timing = (camera.shutter_s, camera.sync_s, camera.high_speed_sync, camera.iso, camera.aperture)
    things = (setup.room, setup.lights, setup.panels, setup.windows, setup.screens, setup.backdrop)
    return (*things, timing, setup.sitter.eye_height_m)
