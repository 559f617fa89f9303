"""Setups to begin with: an empty set, the built-in examples, and one line about any of them."""

from dataclasses import dataclass

from tapemark.services.demo import DEMO_STEMS, demo_setup_text
from tapemark.studio import Setup, setup_from_mapping, setup_from_toml
from tapemark.units import UnitSystem, format_length
from tapemark.units.apart import apart

_WORDS = {
    "quillmere-troubled": "Both lights near the camera and no higher than the head: see what "
    "goes wrong.",
    "quillmere-cured": "The same portrait after a few moves: clear lenses, live eyes.",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class ReadySetup:
    """A setup to begin with.

    Attributes
    ----------
    stem : str
        Stable name for addresses and files.
    title, words : str
        For a list: what it is, and what one sees in it.
    setup : Setup
        The setup.
    """

    stem: str
    title: str
    words: str
    setup: Setup


def blank_setup(units: UnitSystem = "metric") -> Setup:
    """Return an empty set: a room, somebody on a stool and a camera, no light yet."""
    us = units == "us"
    return setup_from_mapping(
        {
            "tapemark": 1,
            "title": "",
            "units": units,
            "room": {
                "width": "13 ft" if us else "4 m",
                "length": "20 ft" if us else "6 m",
                "height": "9 ft" if us else "2.7 m",
                "behind_sitter": "6 ft" if us else "1.8 m",
            },
            "sitter": {"name": "sitter", "eye_height": "4 ft" if us else "1.2 m"},
            "camera": {
                "place": {
                    "distance": "6 ft 6 in" if us else "2 m",
                    "side": "0 deg",
                    "height": "4 ft" if us else "1.2 m",
                },
                "aim": {"distance": "0 m", "height": "3 ft 6 in" if us else "1.06 m"},
                "focal_length": "85 mm",
                "aperture": "f/8",
            },
        }
    )


def demo_setups() -> tuple[ReadySetup, ...]:
    """Return the steps of the built-in example as setups with titles, troubled first."""
    found = []
    for stem in DEMO_STEMS:
        setup = setup_from_toml(demo_setup_text(stem), name=f"{stem}.toml")
        words = _WORDS.get(stem, setup_summary(setup))
        found.append(ReadySetup(stem=stem, title=setup.title, words=words, setup=setup))
    return tuple(found)


def setup_summary(setup: Setup) -> str:
    """Return one line about a setup, for lists.

    Examples
    --------
    ``Ines, with glasses · 2 lights · 85 mm at 2.00 m · room 5.40 m × 7.00 m``
    """
    system, camera = setup.units, setup.camera
    people = apart(setup.sitter.name.partition(",")[0])
    if setup.companions:
        people += f" and {len(setup.companions)} more"
    glasses = sum(one.glasses is not None for one in setup.people)
    worn = ", with glasses" if glasses == len(setup.people) else f", {glasses} with glasses"
    people += worn if glasses else ""
    count = len(setup.lights)
    lights = {0: "no light yet", 1: "1 light"}.get(count, f"{count} lights")
    out = format_length(camera.place.distance_m, system=system)
    size = " × ".join(
        format_length(one, system=system) for one in (setup.room.width_m, setup.room.length_m)
    )
    return f"{people} · {lights} · {camera.focal_length_mm:g} mm at {out} · room {size}"
