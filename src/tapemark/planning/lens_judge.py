"""What do the lenses of everybody show, worked out anew only where something has changed?

The lens part of a check, alone: a search asks for it again and again.  What an earlier answer
knows about a person, a camera or the lights that are still the same is taken over from it.
"""

from dataclasses import dataclass, replace

from tapemark.analysis import (
    Emitter,
    FaceLight,
    LensGlare,
    LensView,
    Reflection,
    Scene,
    SteadyLight,
    Verdict,
    build_scenes,
    checked_view,
    emitters,
    face_light,
    shown_lenses,
    worst_verdict,
)
from tapemark.analysis.glare import CLEAR_LENS_COVER, CLEAR_VEIL
from tapemark.studio import Setup

#: What decides which light leaves what, and where; the rest of a setup does not.
_LIGHTING = ("room", "lights", "panels", "windows", "screens", "backdrop")


@dataclass(frozen=True, kw_only=True, eq=False)
class PersonLenses:
    """What the lenses of one person show.

    Attributes
    ----------
    scene : Scene
        The setup as surfaces and emitters, about this person.
    light : FaceLight
        Light around the eyes.
    view : LensView or None
        The camera's view of the lenses; None without glasses.
    lenses : tuple of LensGlare
        Right lens, left lens; empty without glasses.
    """

    scene: Scene
    light: FaceLight
    view: LensView | None
    lenses: tuple[LensGlare, ...]

    @property
    def verdict(self) -> Verdict:
        """The worse of both lenses."""
        return worst_verdict(tuple(one.verdict for one in self.lenses))

    @property
    def excess(self) -> float:
        """How far the worse lens is from clear, see `LensesJudged.excess`; 0 without glasses."""
        return max((_excess(lens) for lens in self.lenses), default=0.0)

    @property
    def spoilt_by(self) -> str:
        """What would leave the worse lens unclear even alone; empty where it takes several."""
        worse = max(self.lenses, key=_excess)
        alone = [one.source for one in worse.reflections if _excess(one) >= 1.0]
        return alone[0] if alone else ""


@dataclass(frozen=True, kw_only=True, eq=False)
class LensesJudged:
    """What the lenses of everybody in a setup show.

    Attributes
    ----------
    setup : Setup
        The setup.
    people : tuple of PersonLenses
        The sitter, then everybody else.
    """

    setup: Setup
    people: tuple[PersonLenses, ...]

    @property
    def verdict(self) -> Verdict:
        """The worst of all lenses."""
        return worst_verdict(tuple(one.verdict for one in self.people))

    @property
    def excess(self) -> float:
        """How far the worst lens is from clear: below 1 all are clear. [-]

        The larger of veil and lens cover, each over the share at which a lens is no longer
        clear; it grows and falls smoothly as things move.
        """
        return max(one.excess for one in self.people)

    @property
    def scenes(self) -> tuple[Scene, ...]:
        """A scene about each person."""
        return tuple(one.scene for one in self.people)


def lenses_only(
    setup: Setup,
    *,
    like: LensesJudged | None = None,
    sending: tuple[Emitter, ...] | None = None,
) -> LensesJudged:
    """Return what the lenses of everybody show, as a check of the same setup would.

    Parameters
    ----------
    setup : Setup
        The setup.
    like : LensesJudged, optional
        An answer for a setup that is partly the same: what has not changed is taken from it.
    sending : tuple of Emitter, optional
        What sends light in it, where that is known already.
    """
    scenes = _scenes(setup, like, sending)
    old = [None] * len(scenes) if like is None else [*like.people, *[None] * len(scenes)]
    people = (_person(scene, before) for scene, before in zip(scenes, old, strict=False))
    return LensesJudged(setup=setup, people=tuple(people))


def unclear_first(
    setup: Setup,
    *,
    like: LensesJudged,
    sending: tuple[Emitter, ...] | None,
    first: int,
    steady: tuple[tuple[SteadyLight, ...], ...] = (),
) -> dict[int, PersonLenses]:
    """Return what lenses show up to the first that are not clear, which are answer enough.

    Parameters
    ----------
    setup : Setup
        The setup, of the same people.
    like : LensesJudged
        As in `lenses_only`.
    sending : tuple of Emitter or None
        As there.
    first : int
        Whose lenses to look at first.
    steady : tuple of tuple of SteadyLight
        For each person, the light of emitters that are in the setup too: see `face_light`.

    Returns
    -------
    dict of int to PersonLenses
        By the number of the person.
    """
    scenes = _scenes(setup, like, sending)
    found: dict[int, PersonLenses] = {}
    for number in sorted(range(len(scenes)), key=lambda one: one != first):
        known = steady[number] if steady else ()
        found[number] = _person(scenes[number], like.people[number], steady=known)
        if found[number].excess >= 1.0:
            break
    return found


def _scenes(
    setup: Setup, like: LensesJudged | None, sending: tuple[Emitter, ...] | None
) -> tuple[Scene, ...]:
    if like is None:
        return build_scenes(setup, sending=sending)
    old = like.setup
    if sending is None:
        sending = like.scenes[0].emitters if _same_lighting(setup, old) else emitters(setup)
    if setup.camera.place == old.camera.place and setup.people == old.people:
        return tuple(replace(one, setup=setup, emitters=sending) for one in like.scenes)
    return build_scenes(setup, sending=sending)


def _same_lighting(setup: Setup, old: Setup) -> bool:
    """Return whether everything sends the same light from the same place in both setups."""
    same = all(getattr(setup, name) == getattr(old, name) for name in _LIGHTING)
    at_camera = setup.camera == old.camera or _timing(setup) == _timing(old)
    return same and at_camera and setup.sitter.eye_height_m == old.sitter.eye_height_m


def _timing(setup: Setup) -> tuple[object, ...]:
    camera = setup.camera
    return camera.shutter_s, camera.sync_s, camera.high_speed_sync, camera.iso, camera.aperture


def _excess(lens: LensGlare | Reflection) -> float:
    """Return how far a lens is from clear, or would be with one reflection alone."""
    return max(lens.veil / CLEAR_VEIL, lens.lens_cover / CLEAR_LENS_COVER)


def _person(
    scene: Scene, old: PersonLenses | None, *, steady: tuple[SteadyLight, ...] = ()
) -> PersonLenses:
    """Return what one person's lenses show, with what still holds from an earlier answer."""
    seen_alike = old is not None and _seen_alike(scene, old.scene)
    view = old.view if old is not None and seen_alike else checked_view(scene)
    lit_alike = old is not None and _lit_alike(scene, old.scene)
    light = old.light if old is not None and lit_alike else face_light(scene, steady=steady)
    lenses = () if view is None else shown_lenses(scene, light=light, view=view)
    return PersonLenses(scene=scene, light=light, view=view, lenses=lenses)


def _seen_alike(scene: Scene, old: Scene) -> bool:
    """Return whether the camera sees the same lenses in front of the same eyes."""
    if scene.lenses is not None and scene.lenses is old.lenses:
        return True
    return bool((scene.camera == old.camera).all()) and scene.sitter == old.sitter


def _lit_alike(scene: Scene, old: Scene) -> bool:
    """Return whether the same light falls on the same face."""
    same: tuple[tuple[Emitter, ...], ...] = (scene.emitters, old.emitters)
    return same[0] is same[1] and scene.setup.people == old.setup.people
