"""Will lenses that darken in daylight be dark in the picture?"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.emitter import Emitter
from tapemark.analysis.exposure import FADES_OVER
from tapemark.analysis.scene import Scene
from tapemark.anatomy import HeadPose, head_pose
from tapemark.geometry import dot, normalize
from tapemark.photometry import dome_share
from tapemark.studio import Setup

#: Light from windows at the face from which such lenses are taken to darken visibly. They
#: answer to ultraviolet, of which panes let different shares through: a third of this to
#: three times it (assumption, from memory, no published source). [lx]
DARKENS_FROM_LX = 1000.0


@dataclass(frozen=True, kw_only=True, slots=True)
class DarkeningLenses:
    """Lenses that darken, and the daylight they get.

    Attributes
    ----------
    person : str
        Who wears them.
    window_lx : float
        From windows and discharge lamps, as a dome at the eyes that points as the face does
        meters them: sky light reaches a lens from the side too. [lx]
    sources : tuple of str
        What it comes from, the strongest first.
    darken : bool
        Whether it is more than `DARKENS_FROM_LX`.
    """

    person: str
    window_lx: float
    sources: tuple[str, ...]
    darken: bool


def darkening_lenses(scene: Scene) -> tuple[DarkeningLenses, ...]:
    """Return the people with lenses that darken, and the daylight at their faces.

    Notes
    -----
    Windows and discharge lamps count; nothing in between is looked for. Flash does not
    count: it is over before the lenses answer.
    """
    setup = scene.setup
    found = []
    for person in setup.people:
        if person.glasses is None or not person.glasses.photochromic:
            continue
        pose = head_pose(person)
        each = {
            emitter.name: _on_lenses(emitter, pose) / setup.camera.shutter_s
            for emitter in scene.emitters
            if emitter.kind == "window" or emitter.name in _discharge_lamps(setup)
        }
        total = float(np.sum(list(each.values()))) if each else 0.0
        found.append(
            DarkeningLenses(
                person=person.name,
                window_lx=total,
                sources=tuple(
                    sorted(
                        (name for name in each if each[name] > 0.0), key=lambda name: -each[name]
                    )
                ),
                darken=total > DARKENS_FROM_LX,
            )
        )
    return tuple(found)


def _on_lenses(emitter: Emitter, pose: HeadPose) -> float:
    """Return what a dome at the eyes gets from an emitter over the shutter time [lx·s]."""
    towards = normalize(emitter.shining_middle() - pose.origin)
    cosine = float(dot(towards, pose.axes[:, 1]))
    square_on = float(emitter.exposure_at(pose.origin, normal=towards))
    return square_on * float(dome_share(cosine)) * min(max(cosine / FADES_OVER, 0.0), 1.0)


def _discharge_lamps(setup: Setup) -> tuple[str, ...]:
    return tuple(
        light.name
        for light in setup.lights
        if light.on and light.head.kind == "continuous" and light.head.lamp == "discharge"
    )
