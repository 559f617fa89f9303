"""The sightline map of a light as layers for a page's plan and elevation."""

from tapemark.drawing.set_screen.map_layer import set_map_layers
from tapemark.planning import MapPlace
from tapemark.planning.sightlines.map_words import move_text, place_text, state_text
from tapemark.services.plain import Plain, rounded
from tapemark.services.sightline import map_light
from tapemark.studio import Place, Setup, setup_to_mapping


def map_layers(setup: Setup, light_name: str) -> Plain:
    """Return the sightline map of one light as SVG layers, with the best place in words.

    Raises
    ------
    SetupError
        There is no such light, it is off, or it is not aimed at the sitter.
    """
    report = map_light(setup, light_name)
    found = report.map
    svg, side_svg = set_map_layers(found)
    words = [move_text(found), f"Now {state_text(found.now)}"]
    if found.best is not None and found.best != found.now:
        lead = "Least bad place" if found.least_bad else "Best open place"
        words.append(f"{lead}: {place_text(found.best, setup)}")
    if report.still_shown:
        words.append(f"The lenses would still show {' and '.join(report.still_shown)}")
    return {
        "light": light_name,
        "svg": svg,
        "side_svg": side_svg,
        "words": ". ".join(one.rstrip(".") for one in words) + ".",
        "best": None
        if found.best is None
        else {
            **_place(found.best),
            "stays": found.best == found.now,
            "setup": setup_to_mapping(found.moved(found.best)),
        },
    }


def _place(place: MapPlace) -> Plain:
    own = Place(
        distance_m=place.distance_m,
        side_deg=place.side_deg,
        height_m=place.height_m,
    )
    return {key: rounded(value, 3) for key, value in zip("xyz", own.position_m, strict=True)}
