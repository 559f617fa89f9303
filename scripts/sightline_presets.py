"""Write what the map says about the handbook start of a key, for each kind of glasses.

Run it as `python scripts/sightline_presets.py docs/sightline-map.md`: it replaces the table
between the two marks there. A test holds the table against what is written here.
"""

import sys
from pathlib import Path

from tapemark.planning import SightlineMap, open_heights, sightline_map
from tapemark.planning.sightlines.map_words import heights_text, move_text, state_text
from tapemark.studio import GLASSES_PRESETS, Setup, setup_from_mapping
from tapemark.units import FOOT, format_length

BEGIN, END = "<!-- written by scripts/sightline_presets.py: begin -->", "<!-- end -->"
EYES_M, SIDE_DEG = 1.2, 45.0
DISTANCE_M, HEIGHT_M = 4 * FOOT, EYES_M + 2 * FOOT


def handbook_start(preset: str) -> Setup:
    """Return a seated sitter with a key 4 ft away, 2 ft above the eyes and 45 degrees aside.

    References
    ----------
    [navedtra-14209]
    """
    key = {
        "name": "key",
        "head": "400 Ws studio head",
        "modifier": "medium softbox 60x90 cm",
        "place": {
            "distance": f"{DISTANCE_M} m",
            "side": f"{SIDE_DEG} deg camera-left",
            "height": f"{HEIGHT_M} m",
        },
        "power": "1/8",
    }
    return setup_from_mapping(
        {
            "tapemark": 1,
            "room": {"width": "6 m", "length": "7 m", "height": "3 m"},
            "sitter": {
                "posture": "seated",
                "eye_height": f"{EYES_M} m",
                "glasses": {"preset": preset},
            },
            "camera": {
                "place": {"distance": "2 m", "side": "0 deg", "height": f"{EYES_M} m"},
                "focal_length": "85 mm",
                "orientation": "portrait",
            },
            "light": [key],
        }
    )


def line(preset: str, found: SightlineMap) -> str:
    """Return a row of the table."""
    (heights,) = open_heights(found.heights, (SIDE_DEG,))
    told = heights_text(heights, found.setup)
    return f"| {preset} | {state_text(found.now)} | {told} | {move_text(found)} |"


def table() -> str:
    """Return the whole table."""
    height, out = (format_length(one, system="metric") for one in (HEIGHT_M, DISTANCE_M))
    head = [
        f"| glasses | at {height} | {SIDE_DEG:.0f}° camera-left, {out} out | nearest best place |",
        "|---|---|---|---|",
    ]
    maps = {preset: sightline_map(handbook_start(preset), "key") for preset in GLASSES_PRESETS}
    return "\n".join([*head, *(line(preset, found) for preset, found in maps.items())])


def main(path: Path) -> None:
    """Replace the table in a document."""
    before, rest = path.read_text("utf-8").split(BEGIN)
    _, after = rest.split(END)
    path.write_text(f"{before}{BEGIN}\n{table()}\n{END}{after}", encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
