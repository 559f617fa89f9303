"""A reading against the setup it was taken with: everybody in it."""

from __future__ import annotations

from tapemark.analysis import build_scenes
from tapemark.photo.matching.people import pairs_of
from tapemark.photo.matching.photo_camera import photo_camera
from tapemark.photo.matching.result import LearnedGlasses, ShotMatch
from tapemark.photo.matching.wearer_match import wearer_match
from tapemark.photo.reading import ShotReading
from tapemark.studio import Setup


def matched(
    reading: ShotReading, setup: Setup, *, learned: LearnedGlasses | None = None
) -> ShotMatch:
    """Return what a reading says about the setup that the photo was taken with.

    Parameters
    ----------
    reading : ShotReading
        What was read from the photo alone.
    setup : Setup
        As written.
    learned : LearnedGlasses, optional
        What an earlier frame taught about the glasses of its sitter.
    """
    scenes = build_scenes(setup)
    camera = photo_camera(scenes[0], size=reading.size, facts=reading.facts)
    pairs = pairs_of(scenes, reading.wearers, camera=camera)
    notes = list(camera.notes)
    if len(reading.wearers) != len(scenes):
        written, seen = _people(len(scenes)), _people(len(reading.wearers))
        notes.append(f"The setup has {written}, the photo shows {seen}.")
    return ShotMatch(
        reading=reading,
        setup=setup,
        wearers=tuple(
            wearer_match(
                scenes[scene],
                reading.wearers[wearer],
                camera=camera,
                learned=learned if scene == 0 else None,
            )
            for scene, wearer in pairs
        ),
        notes=tuple(notes),
    )


def _people(count: int) -> str:
    return "one person" if count == 1 else f"{count or 'no'} people"
