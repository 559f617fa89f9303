"""What the practice page says, and its reflections as outlines to draw."""

from typing import Any

PARTS = (
    ("place", "Where it covers an eye"),
    ("light", "Which light it is"),
    ("surface", "What mirrors it"),
    ("move", "Which move cures it"),
)
SURFACES = {
    "front": "the front of the lens",
    "back": "the back of the lens",
    "both": "both, about alike",
}
LEAST_RING = 3


def rings(card: dict[str, Any]) -> list[dict[str, str]]:
    """Return the reflections of a card as points of polygons, in its pixels."""
    columns, rows = card["size"]
    right = card["right"]
    return [
        {
            "surface": one["surface"],
            "points": " ".join(f"{x * columns:.1f},{y * rows:.1f}" for x, y in ring),
            "guilty": "guilty" if one["source"] == right["light"] else "other",
        }
        for one in right["places"]
        for ring in one["rings"]
        if len(ring) >= LEAST_RING
    ]
