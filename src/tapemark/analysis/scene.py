"""Everything the analyses look at, built once from a setup."""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.emitter import Emitter
from tapemark.analysis.emitters import emitters
from tapemark.anatomy import (
    Body,
    Eyes,
    HeadPose,
    HeadSurface,
    LensGuess,
    LensStack,
    bodies_of,
    eyes,
    head_pose,
    head_surface,
    lens_stack,
)
from tapemark.geometry import FloatArray
from tapemark.studio import Setup, Sitter


@dataclass(frozen=True, kw_only=True, eq=False)
class Scene:
    """A setup as surfaces and emitters in the world.

    Attributes
    ----------
    setup : Setup
        The data it was built from.
    sitter : Sitter
        Whose face it is about: one of the people in the setup.
    camera : (3,) array
        Entrance pupil of the camera. [m]
    pose, head, eyes : HeadPose, HeadSurface, Eyes
        The sitter.
    lenses : LensStack or None
        The lens pair as stated; None without glasses.
    emitters : tuple of Emitter
        Everything that sends light.
    body : Body
        Theirs, for what it hides.
    neighbours : tuple of Body
        Of everybody else in the setup.
    """

    setup: Setup
    sitter: Sitter
    camera: FloatArray
    pose: HeadPose
    head: HeadSurface
    eyes: Eyes
    lenses: LensStack | None
    emitters: tuple[Emitter, ...]
    body: Body
    neighbours: tuple[Body, ...] = ()


def build_scene(setup: Setup) -> Scene:
    """Return the scene of a setup, about its sitter."""
    return build_scenes(setup)[0]


def build_scenes(setup: Setup, *, sending: tuple[Emitter, ...] | None = None) -> tuple[Scene, ...]:
    """Return a scene about each person in a setup, the sitter first.

    Parameters
    ----------
    setup : Setup
        Everything that decides a frame.
    sending : tuple of Emitter, optional
        What `emitters` gives for it, where that is known already.
    """
    bodies = bodies_of(setup)
    sending = emitters(setup) if sending is None else sending
    return tuple(
        _scene(
            setup,
            person,
            sending=sending,
            body=bodies[index],
            neighbours=bodies[:index] + bodies[index + 1 :],
        )
        for index, person in enumerate(setup.people)
    )


def _scene(
    setup: Setup,
    sitter: Sitter,
    *,
    sending: tuple[Emitter, ...],
    body: Body,
    neighbours: tuple[Body, ...],
) -> Scene:
    pose = head_pose(sitter)
    camera = np.array(setup.camera.place.position_m)
    return Scene(
        setup=setup,
        sitter=sitter,
        camera=camera,
        pose=pose,
        head=head_surface(sitter.face),
        eyes=eyes(sitter, pose=pose, looks_at=camera if sitter.gaze == "camera" else None),
        lenses=None if sitter.glasses is None else lenses_for(sitter, pose=pose),
        emitters=sending,
        body=body,
        neighbours=neighbours,
    )


def lenses_for(
    sitter: Sitter, *, pose: HeadPose, guesses: tuple[LensGuess, ...] = (LensGuess(),)
) -> LensStack:
    """Return a person's lens pair, once for each guess; they wear glasses."""
    assert sitter.glasses is not None
    return lens_stack(sitter.glasses, sitter=sitter, pose=pose, guesses=guesses)
