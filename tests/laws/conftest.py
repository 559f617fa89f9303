"""Setups for the laws that a whole check obeys."""

import math
from types import SimpleNamespace

import pytest

from tapemark.services.check import check_setup
from tapemark.studio import Camera, Glasses, Head, Light, Modifier, Place, Room, Setup, Sitter

ROOM = Room(width_m=8.0, length_m=9.0, height_m=3.0, behind_sitter_m=4.0)
EYES_M = 1.2
STUDIO_HEAD = Head(preset="400 Ws studio head")


def place(x_m, y_m, height_m):
    """The place at x (camera-left) and y (towards the camera mark) from the sitter."""
    side_deg = math.degrees(math.atan2(x_m, y_m))
    return Place(distance_m=math.hypot(x_m, y_m), side_deg=side_deg, height_m=height_m)


def light(name, where, *, modifier="medium softbox 60x90 cm", head=STUDIO_HEAD, **more):
    """A light at (x, y, height); `modifier` is a preset or a Modifier."""
    shaped = Modifier(preset=modifier) if isinstance(modifier, str) else modifier
    values = {"place": place(*where), "aim": "face", "power_stops": -2.0, **more}
    return Light(name=name, head=head, modifier=shaped, **values)


def worn(preset="mild short-sighted, medium frame", **stated):
    """Glasses with fit stated, so that nothing is guessed; base curve as predicted."""
    return Glasses(preset=preset, **{"pantoscopic_tilt_deg": 8.0, "face_form_deg": 5.0, **stated})


def setup(
    lights,
    *,
    glasses=None,
    camera=(0.0, 2.0, EYES_M),
    room=ROOM,
    sitter=None,
    **more,
):
    """A seated sitter, a camera at (x, y, height) and lights."""
    person = {"eye_height_m": EYES_M, "glasses": glasses, **(sitter or {})}
    return Setup(
        room=room,
        sitter=Sitter(**person),
        camera=Camera(place=place(*camera), focal_length_mm=85.0),
        lights=tuple(lights),
        **more,
    )


def lens_numbers(report):
    """Everything a report says about each lens, by side, as plain numbers."""
    return {
        lens.side: {
            "veil": lens.veil,
            "lens_cover": lens.lens_cover,
            **{
                (one.source, one.surface): (one.lens_cover, one.veil, one.stops_over_skin)
                for one in lens.reflections
            },
        }
        for lens in report.lenses
    }


@pytest.fixture(scope="session")
def studio():
    """Builders of places, lights, glasses and setups, and the check itself."""
    return SimpleNamespace(
        check=check_setup,
        eyes_m=EYES_M,
        head=STUDIO_HEAD,
        lens_numbers=lens_numbers,
        light=light,
        place=place,
        room=ROOM,
        setup=setup,
        worn=worn,
    )
