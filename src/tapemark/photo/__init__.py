"""Photos as they came off the camera: read, searched for eyes and lenses, judged for reflections.

The image libraries are loaded when a photo is read, not before.
"""

from tapemark.photo.files import PHOTO_SUFFIXES, READS, Photo, read_photo
from tapemark.photo.hints import Box, Hints
from tapemark.photo.lens_regions import LensShape
from tapemark.photo.plain_reading import reading_as_plain
from tapemark.photo.reading import (
    EyeSeen,
    LensReading,
    ReflectionSeen,
    ShotReading,
    WearerReading,
)
from tapemark.photo.shot_facts import ShotFacts
from tapemark.photo.wearers import read_shot

__all__ = [
    "PHOTO_SUFFIXES",
    "READS",
    "Box",
    "EyeSeen",
    "Hints",
    "LensReading",
    "LensShape",
    "Photo",
    "ReflectionSeen",
    "ShotFacts",
    "ShotReading",
    "WearerReading",
    "read_photo",
    "read_shot",
    "reading_as_plain",
]
