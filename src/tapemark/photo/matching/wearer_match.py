"""One person in a photo against the setup: fit, names, contradictions, lens, in one result."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from tapemark.analysis import Emitter, FaceLight, Scene, face_light
from tapemark.geometry import FloatArray
from tapemark.photo.matching.contradicting import contradictions
from tapemark.photo.matching.corrected import corrected_setup, fitted_setup
from tapemark.photo.matching.fitting import Fit, fitted
from tapemark.photo.matching.followed_back import Rays, shining_box, where_met
from tapemark.photo.matching.landmarks import landmarks_of
from tapemark.photo.matching.lens_curves import lens_estimates, radius_of
from tapemark.photo.matching.model import Model
from tapemark.photo.matching.naming import UNKNOWN_LABEL, Label, largest
from tapemark.photo.matching.people import worn_glasses
from tapemark.photo.matching.photo_camera import PhotoCamera
from tapemark.photo.matching.predicted import compared
from tapemark.photo.matching.result import (
    UNKNOWN,
    Estimate,
    FittedGlasses,
    FittedPose,
    LearnedGlasses,
    NamedReflection,
    WearerMatch,
)
from tapemark.photo.matching.seen_regions import seen_regions
from tapemark.photo.matching.unknowns import HEAD, unknowns_of
from tapemark.photo.reading import WearerReading
from tapemark.studio import Glasses, setup_to_toml

PLAIN = 0.02  # of a lens: what is smaller is no light that somebody forgot
SURE = 0.8  # names that are less sure say nothing about the setup
#: Stand-ins where nobody wears any: they take no part in the fit. [mm]
USUAL_GLASSES = Glasses(lens_width_mm=50.0, lens_height_mm=38.0, bridge_mm=18.0)
_PRESENT = 1e-4  # of the brightness of the brightest: fainter emitters never show


def wearer_match(
    scene: Scene,
    wearer: WearerReading,
    *,
    camera: PhotoCamera,
    learned: LearnedGlasses | None = None,
) -> WearerMatch:
    """Return what one person in a photo says about the setup.

    Parameters
    ----------
    scene : Scene
        About that person, as written.
    wearer : WearerReading
        As read.
    camera : PhotoCamera
        As written.
    learned : LearnedGlasses, optional
        What an earlier frame taught about these glasses.
    """
    light = face_light(scene)
    model = _model(scene, wearer, camera=camera, light=light, learned=learned)
    fit = fitted(model)
    fit = replace(fit, answers=compared(model, scene, light, fit.answers))
    named = _named(model, fit)
    sure = tuple(
        label if one.probability >= SURE else UNKNOWN_LABEL
        for label, one in zip(fit.best.labels, named, strict=True)
    )
    found = contradictions(model, fit, labels=sure)
    corrected = corrected_setup(scene.setup, found)
    return WearerMatch(
        number=wearer.number,
        person=scene.sitter.name,
        pose=_pose(model, fit),
        glasses=_glasses(model, fit) if model.landmarks.with_lenses else None,
        reflections=named,
        move=None,
        contradictions=found,
        corrected_setup=corrected,
        corrected_toml=None if corrected is None else setup_to_toml(corrected),
        fitted_setup=fitted_setup(corrected or scene.setup, scene=scene, model=model, fit=fit),
        lens_estimates=lens_estimates(model, fit, labels=sure),
        learned=_learned(model, fit, sure) if model.landmarks.with_lenses else None,
        notes=_notes(scene, wearer, named),
    )


def _model(
    scene: Scene,
    wearer: WearerReading,
    *,
    camera: PhotoCamera,
    light: FaceLight,
    learned: LearnedGlasses | None,
) -> Model:
    glasses = worn_glasses(scene.sitter.glasses, wearer)
    marks = landmarks_of(wearer)
    regions = () if glasses is None else seen_regions(wearer, px_per_mm=marks.px_per_mm)
    skin = np.array(light.at_eyes) * scene.sitter.skin_reflectance / math.pi
    bright = [_brightness(one) for one in scene.emitters]
    least = _PRESENT * max(bright, default=0.0)
    shining = tuple(
        shining_box(one) for one, own in zip(scene.emitters, bright, strict=True) if own > least
    )
    shown = {one.emitter.name for one in shining if one.emitter.kind == "light"}
    return Model(
        setup=scene.setup,
        unknowns=unknowns_of(
            scene.sitter,
            glasses=glasses or scene.sitter.glasses or USUAL_GLASSES,
            lights=tuple(one for one in scene.setup.lights if one.name in shown),
            focal_spread=camera.focal_spread,
            learned=learned,
        ),
        camera=camera,
        landmarks=marks,
        regions=regions,
        shining=shining,
        skin=skin,
    )


def _brightness(emitter: Emitter) -> float:
    if emitter.lit_map is not None:
        return float(emitter.lit_map.max())
    return max(emitter.brightness, emitter.back_brightness)


def _named(model: Model, fit: Fit) -> tuple[NamedReflection, ...]:
    if not model.regions:
        return ()
    rays = model.rays(fit.near.fit)
    return tuple(_named_one(model, fit, number, rays=rays) for number in range(len(model.regions)))


def _named_one(model: Model, fit: Fit, number: int, *, rays: Rays) -> NamedReflection:
    shares: dict[int, float] = {}
    first_label: dict[int, Label] = {}
    for answer in fit.answers:
        label = answer.labels[number]
        emitter = largest(model, fit.near, label, number=number)
        shares[emitter] = shares.get(emitter, 0.0) + float(np.exp(answer.log_weight))
        first_label.setdefault(emitter, label)
    order = sorted(shares, key=lambda one: -shares[one])
    first, second = order[0], order[1] if len(order) > 1 else None
    label = first_label[first]
    own = tuple(surface for one, surface in label.images if one == first) or (0,)
    distance = _distance_m(model, first)
    there = None
    if distance is not None:
        there = where_met(rays, surface=own[0], region=number, distance_m=distance)
    return NamedReflection(
        index=model.regions[number].index,
        side=model.regions[number].side,
        light=_name(model, first),
        surface="back" if own == (1,) else "front",
        both_surfaces=len(own) > 1 and not label.piece,
        also=tuple(_name(model, one) for one in label.emitters if one != first),
        probability=round(min(shares[first], 1.0), 4),
        runner_up="" if second is None else _name(model, second),
        runner_up_probability=0.0 if second is None else round(shares[second], 4),
        side_deg=None if there is None else _side_deg(there),
        height_m=None if there is None else float(there[2]),
        distance_m=distance,
    )


def _name(model: Model, emitter: int) -> str:
    return UNKNOWN if emitter < 0 else model.shining[emitter].emitter.name


def _distance_m(model: Model, emitter: int) -> float | None:
    """Return how far from the mark an emitter stands; the nearest light where it is unknown."""
    if emitter >= 0:
        return float(np.hypot(*model.shining[emitter].center[:2]))
    return min((one.place.distance_m for one in model.setup.lights), default=None)


def _side_deg(place: FloatArray) -> float:
    return math.degrees(math.atan2(float(place[0]), float(place[1])))


def _pose(model: Model, fit: Fit) -> FittedPose:
    return FittedPose(**{name: _estimate(model, fit, name) for name in HEAD})


def _estimate(model: Model, fit: Fit, name: str) -> Estimate:
    belief = fit.best.belief
    return model.unknowns.estimate(belief.mean, belief.covariance, name)


def _glasses(model: Model, fit: Fit) -> FittedGlasses:
    base = _estimate(model, fit, "base_curve_d")
    return FittedGlasses(
        front_radius_mm=radius_of(base),
        base_curve_d=base,
        **{
            name: _estimate(model, fit, name)
            for name in FittedGlasses.__slots__
            if name not in {"front_radius_mm", "base_curve_d"}
        },
    )


def _learned(model: Model, fit: Fit, labels: tuple[Label, ...]) -> LearnedGlasses | None:
    """Return what is worth keeping: only where a named light says how the lenses sit."""
    if not any(one.images for one in labels):
        return None
    names = LearnedGlasses.__slots__
    return LearnedGlasses(**{name: _estimate(model, fit, name) for name in names})


def _notes(
    scene: Scene, wearer: WearerReading, named: tuple[NamedReflection, ...]
) -> tuple[str, ...]:
    notes = list(wearer.questions and ("The reading itself is not sure; see what it asks.",))
    worn = any(one.lens is not None for one in wearer.eyes)
    if worn and scene.sitter.glasses is None:
        notes.append(
            "The setup has no glasses for this person: their size is taken from the photo, the "
            "rest is guessed."
        )
    if not worn and scene.sitter.glasses is not None:
        notes.append("The setup has glasses for this person; none are seen in the photo.")
    covers = {
        (eye.side, index): one.lens_cover
        for eye in wearer.eyes
        if eye.lens is not None
        for index, one in enumerate(eye.lens.reflections)
    }
    if any(
        one.light == UNKNOWN and one.probability >= SURE and covers[one.side, one.index] >= PLAIN
        for one in named
    ):
        notes.append(
            "Something shows that the setup does not have: a window, a screen, a bright wall, or "
            "a light that was moved far."
        )
    return tuple(notes)
