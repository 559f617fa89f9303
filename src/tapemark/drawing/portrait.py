"""The sitter as tone: surfaces lit by the setup, cut into bands and laid on the page."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tapemark.analysis import Scene
from tapemark.drawing.brush import cut_to_convex
from tapemark.drawing.bust import Bust, bust
from tapemark.drawing.plate import EMPTY, Plate, Surface
from tapemark.drawing.style import CLOTH_TONES, HAIR_TONES, TONES, filled, line
from tapemark.drawing.svg import Sheet
from tapemark.drawing.tone import grid_light
from tapemark.drawing.trace import Outlines, band_outlines, even_tones, inside_field, shape_outlines
from tapemark.geometry import FloatArray

#: What a place of the plate shows, in the order of painting.
CLOTHES, NECK, BACK_OF_HEAD, EAR, FACE, HAIR = range(6)
_SKIN = (NECK, BACK_OF_HEAD, EAR, FACE)
_KINDS = {
    "face": FACE,
    "back of head": BACK_OF_HEAD,
    "right ear": EAR,
    "left ear": EAR,
    "hair": HAIR,
    "neck": NECK,
    "clothes": CLOTHES,
}
ROOM_SHARE = 0.06  # light from everywhere, of that on the brightest skin (assumption)
_UNLIT_TONE = 0.6  # of everything where no light shines
#: Tones at which the next darker screen begins.
_SKIN_EDGES = (0.74, 0.46, 0.26, 0.135)
_CLOTH_EDGES = (0.80, 0.50, 0.28, 0.14)
_HAIR_EDGES = (0.62, 0.34, 0.15)
MEAN_SKIN_REFLECTANCE = 0.36
# Tones are evened out over this much of the sitter, and smaller islands left out [m].
_EVEN_OVER_M = {CLOTHES: 4e-3, NECK: 2e-3, BACK_OF_HEAD: 2e-3, EAR: 1e-3, FACE: 1.1e-3, HAIR: 3e-3}
_LEAST_ISLAND_M = {
    CLOTHES: 2e-2,
    NECK: 6e-3,
    BACK_OF_HEAD: 6e-3,
    EAR: 2e-3,
    FACE: 5e-3,
    HAIR: 12e-3,
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Placement:
    """Where the plane one metre in front of the camera lies on the page.

    Attributes
    ----------
    scale : float
        Points on the page for a step of 1 on the plane. [pt]
    x, y : float
        Page place of the middle of the frame. [pt]
    """

    scale: float
    x: float
    y: float

    def __call__(self, plane: FloatArray) -> FloatArray:
        """Return page places of places on the plane, (..., 2) [pt]."""
        return np.asarray(plane) * self.scale + (self.x, self.y)


def lit_surfaces(scene: Scene, *, room_share: float = ROOM_SHARE) -> list[Surface]:
    """Return the sitter's surfaces with the tones that the setup's lights give them.

    Parameters
    ----------
    scene : Scene
        Sitter and lights.
    room_share : float
        Light from everywhere, as a share of that on the brightest skin. [-]
    """
    parts, light = lit_bust(scene)
    brightest = float(np.nanpercentile(light["face"], 96.0))
    darker = float((scene.sitter.skin_reflectance / MEAN_SKIN_REFLECTANCE) ** 0.5)
    surfaces = []
    for name, grid in parts.grids().items():
        kind = _KINDS[name]
        tone = np.full(grid.shape[:-1], _UNLIT_TONE)
        if brightest > 0:
            tone = light[name] / brightest * (1 - room_share) + room_share
        surfaces.append(
            Surface(points=grid, tone=tone * (darker if kind in _SKIN else 1.0), kind=kind)
        )
    return surfaces


@lru_cache(maxsize=8)
def lit_bust(scene: Scene) -> tuple[Bust, dict[str, FloatArray]]:
    """Return the sitter's surfaces and the light on each (kept for the next drawing)."""
    parts = bust(scene)
    return parts, grid_light(scene, parts.grids())


def paint_plate(
    sheet: Sheet,
    plate: Plate,
    *,
    place: Placement,
    outline_pt: float,
    cut: FloatArray | None = None,
) -> None:
    """Paint a plate as bands of tone.

    Parameters
    ----------
    sheet : Sheet
        The page.
    plate : Plate
        What is seen.
    place : Placement
        Where on the page.
    outline_pt : float
        Weight of the line around the sitter. [pt]
    cut : (n, 2) array or None
        Convex outline within which to paint; everywhere if not given. [pt]
    """

    def on_page(rings: Outlines) -> Outlines:
        page = [place(ring) for ring in rings]
        return page if cut is None else [cut_to_convex(ring, cut) for ring in page]

    with sheet.group("sitter"):
        for kind in range(6):
            if (plate.kind == kind).any():
                with sheet.group("tones"):
                    for color, rings in _tone_layers(plate, kind):
                        sheet.area(on_page(rings), filled(color))
        for kind, weight in ((FACE, 0.55), (EMPTY + 1, 1.0)):
            rings = on_page(shape_outlines(plate, plate.kind >= kind))
            sheet.area(rings, line(weight * outline_pt))


def _tone_layers(plate: Plate, kind: int) -> list[tuple[str, Outlines]]:
    """Return the screens of one kind of surface, reaching beneath what is painted later."""
    plate, own = plate.part(plate.kind == kind, around=6)
    screens, edges = _screens(kind)
    depth = float(np.nanmedian(plate.depth[own]))
    smoothing = _EVEN_OVER_M[kind] / depth / plate.pitch
    tone = even_tones(plate, own, smoothing=max(smoothing, 0.8))
    inside = inside_field(plate.kind >= kind)
    least = (_LEAST_ISLAND_M[kind] / depth) ** 2
    # The screen that covers most goes on whole: no light fringe along edges.
    main = int(np.argmax(np.bincount(np.searchsorted(-np.array(edges), -tone[own]))))
    everywhere = np.ones(own.shape)
    layers = [(screens[main], everywhere)]
    layers += [(screens[k], tone - edges[k]) for k in reversed(range(main))]
    layers += [(screens[k + 1], edges[k] - tone) for k in range(main, len(edges))]
    return [(color, band_outlines(plate, inside, meant, least=least)) for color, meant in layers]


def _screens(kind: int) -> tuple[tuple[str, ...], tuple[float, ...]]:
    if kind == HAIR:
        return HAIR_TONES, _HAIR_EDGES
    if kind == CLOTHES:
        return CLOTH_TONES, _CLOTH_EDGES
    return TONES, _SKIN_EDGES
