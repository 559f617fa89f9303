"""Everything the analyses look at, built once from a setup."""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.emitter import Emitter
from tapemark.analysis.emitters import emitters
from tapemark.anatomy import (
    Eyes,
    HeadPose,
    HeadSurface,
    LensGuess,
    LensStack,
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
    """

    setup: Setup
    sitter: Sitter
    camera: FloatArray
    pose: HeadPose
    head: HeadSurface
    eyes: Eyes
    lenses: LensStack | None
    emitters: tuple[Emitter, ...]


def build_scene(setup: Setup) -> Scene:
    """Return the scene of a setup."""
    sitter = setup.sitter
    pose = head_pose(sitter)
    camera = np.array(setup.camera.place.position_m)
    return Scene(
        setup=setup,
        sitter=sitter,
        camera=camera,
        pose=pose,
        head=head_surface(sitter.face),
        eyes=eyes(sitter, pose=pose, looks_at=camera if sitter.gaze == "camera" else None),
        lenses=None if sitter.glasses is None else lenses_for(setup, pose=pose),
        emitters=emitters(setup),
    )


def lenses_for(
    setup: Setup, *, pose: HeadPose, guesses: tuple[LensGuess, ...] = (LensGuess(),)
) -> LensStack:
    """Return the sitter's lens pair, once for each guess; the sitter wears glasses."""
    glasses = setup.sitter.glasses
    assert glasses is not None
    return lens_stack(glasses, sitter=setup.sitter, pose=pose, guesses=guesses)
