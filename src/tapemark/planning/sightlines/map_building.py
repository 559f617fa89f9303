"""The sheets of a sightline map, from a light taken out of its setup.

Cover comes from `place_cover`; what changes smoothly with the place, eyes and shadows, is looked
at from a few nodes of both sheets together.
"""

from dataclasses import dataclass, replace

import numpy as np

from tapemark.analysis import key_light
from tapemark.analysis.cover import THRESHOLD_CONTRAST
from tapemark.analysis.face_light import eye_places
from tapemark.analysis.modelling import light_from_below
from tapemark.analysis.modelling_findings import (
    DEEP_PATTERNS,
    RIM_OVER_IRIS,
    SHADED_EYE,
    SHADED_EYE_ALL,
)
from tapemark.analysis.shading import OUTLINE_POINTS, shining_outline
from tapemark.geometry import FloatArray, dot
from tapemark.photometry import polygon_illuminance
from tapemark.planning.footprints import footprints
from tapemark.planning.sightlines.map_sheet import MapSheet
from tapemark.planning.sightlines.mapped_light import (
    HALF_TURN_DEG,
    MappedLight,
    MappedPerson,
    middle_side_deg,
)
from tapemark.planning.sightlines.place_cover import place_cover
from tapemark.planning.sightlines.place_eyes import bright_enough, eye_shares, seen_catchlight
from tapemark.planning.sightlines.place_limits import place_limits, reach_m
from tapemark.planning.sightlines.place_nodes import place_nodes
from tapemark.planning.sightlines.place_patterns import (
    PATTERNS,
    CheekTable,
    cheek_table,
    counts_as_key,
    key_directions,
    patterns,
)
from tapemark.planning.sightlines.place_rows import PlaceRows, lit_shape

SIDES, HEIGHTS, DISTANCES = 181, 81, 28
LOWEST_M, NEAREST_M = 0.3, 0.5
LEAST_TOP_M, LEAST_FAR_M = 3.0, 3.0
#: Coarse places at which eyes and shadows are looked at: rows of the first and second sheet.
NODE_ROWS, NODE_SIDES = (5, 3), 13
LIGHT_ROWS, LIGHT_SIDES = 10, 19  # and those for the light on the eyes
#: Where brow and nose are not asked for: deep patterns are meant to be dark, and where another
#: light is the key it is that one which is asked for.
UNSHADED = (-1, *(PATTERNS.index(one) for one in PATTERNS if one in DEEP_PATTERNS))
RING = 4  # places half-way out on a face that stand for it


def map_sheets(mapped: MappedLight) -> tuple[MapSheet, MapSheet]:
    """Return side by height at the light's distance, and the floor at its height.

    Parameters
    ----------
    mapped : MappedLight
        A light taken out of its setup.
    """
    key = _as_key(mapped)
    heights, floor = (_sheet(part, key) for part in _parts(mapped))
    return heights, floor


def _grids(mapped: MappedLight) -> tuple[PlaceRows, PlaceRows]:
    """Return the places of both sheets: heights at the distance, distances at the height."""
    setup, light = mapped.setup, mapped.light
    place, room = light.place, setup.room
    middle = middle_side_deg(light)
    sides = np.linspace(middle - HALF_TURN_DEG, middle + HALF_TURN_DEG, SIDES)
    top = min(room.height_m, max(LEAST_TOP_M, reach_m(light) + 0.3, place.height_m + 0.3))
    wide = max(-room.x_min_m, room.x_max_m)
    corner = float(np.hypot(wide, max(-room.y_min_m, room.y_max_m)))
    far = min(corner, max(LEAST_FAR_M, 1.6 * place.distance_m))
    eye = setup.sitter.eye_height_m
    distance = max(place.distance_m, 0.05)
    heights = np.linspace(min(LOWEST_M, place.height_m), top, HEIGHTS)
    ranges = np.linspace(min(NEAREST_M, distance), far, DISTANCES)
    return (
        PlaceRows(
            distance_m=np.full(HEIGHTS, distance),
            height_m=heights,
            side_deg=sides,
            eye_height_m=eye,
        ),
        PlaceRows(
            distance_m=ranges,
            height_m=np.full(DISTANCES, place.height_m),
            side_deg=sides,
            eye_height_m=eye,
        ),
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class _Part:
    """One sheet on the way: its places, the light there, and what was found at the nodes.

    Attributes
    ----------
    mapped : MappedLight
        The light and what stays.
    rows : PlaceRows
        The places.
    brightness : (rows,) array
        Of the light in each row. [cd·s/m²]
    own : (people, 2, rows, sides) array
        Its light on each eye. [lx·s]
    eyes : (people, 3, 2, rows, sides) array
        Shares of `EyeShares`.
    """

    mapped: MappedLight
    rows: PlaceRows
    brightness: FloatArray
    own: FloatArray
    eyes: FloatArray


def _parts(mapped: MappedLight) -> list[_Part]:
    """Return both sheets with what was found at their nodes, looked at together."""
    grids = _grids(mapped)
    nodes = [
        place_nodes(grid, rows=count, sides=NODE_SIDES)
        for grid, count in zip(grids, NODE_ROWS, strict=True)
    ]
    face = mapped.emitter.face
    outline = (shining_outline(mapped.emitter)[:: OUTLINE_POINTS // RING] - face.center) @ face.axes
    local = np.concatenate([np.zeros((1, 3)), 0.5 * outline])
    samples = np.concatenate(
        [
            grid.points(local, row=own.flat[0], side=own.flat[1])
            for grid, own in zip(grids, nodes, strict=True)
        ]
    )
    eyes = np.stack([eye_shares(one.scene, samples).stacked() for one in mapped.people])
    parts, start = [], 0
    for grid, own in zip(grids, nodes, strict=True):
        here = slice(start, start + len(own.flat[0]))
        start = here.stop
        brightness = mapped.brightness(grid.length_m)
        parts.append(
            _Part(
                mapped=mapped,
                rows=grid,
                brightness=brightness,
                own=_own_light(mapped, grid, brightness),
                eyes=own.everywhere(eyes[..., here]),
            )
        )
    return parts


def _own_light(mapped: MappedLight, grid: PlaceRows, brightness: FloatArray) -> FloatArray:
    """Return the light itself on everybody's eyes, (people, 2, rows, sides) [lx·s]."""
    face, nodes = mapped.emitter.face, place_nodes(grid, rows=LIGHT_ROWS, sides=LIGHT_SIDES)
    row, side = nodes.flat
    edge = (face.sending_outline() - face.center) @ face.axes
    corners = grid.points(edge, row=row, side=side)
    each = np.stack([_on_eyes(one, corners) for one in mapped.people])
    return nodes.everywhere(each * brightness[row])


def _on_eyes(person: MappedPerson, corners: FloatArray) -> FloatArray:
    """Return the light on both eyes from faces of brightness 1, (2, places) [lx·s].

    `corners`, (places, n, 3) [m], are those of the lit face at each place.
    """
    eyes = np.broadcast_to(eye_places(person.scene)[:, None], (2, len(corners), 3))
    received = polygon_illuminance(corners, point=eyes, normal=person.scene.pose.axes[:, 1])
    middle = corners.mean(axis=1)
    out = np.array([0.0, 0.0, person.scene.setup.sitter.eye_height_m]) - middle
    return np.where(dot(eyes - middle, out) > 0.0, received, 0.0)


def _sheet(part: _Part, key: "_Key") -> MapSheet:
    """Return a sheet with everything that decides about its places."""
    mapped, rows = part.mapped, part.rows
    shape = (len(mapped.people), 2, *rows.shape)
    cover, veil = np.zeros(shape), np.zeros(shape)
    shape_of_light = lit_shape(mapped.emitter.face)
    received = np.stack([np.array(one.light.at_eyes) for one in mapped.people])
    total = part.own + received[..., None, None]
    for number, person in enumerate(mapped.people):
        if person.rays is not None:
            needed = np.log2(
                np.maximum(THRESHOLD_CONTRAST * total[number] / np.pi, 1e-12)
                / part.brightness[:, None]
            )
            found = place_cover(
                person.rays,
                footprints(rows, shape_of_light, origin=person.scene.pose.origin),
                needed=needed,
            )
            cover[number], veil[number] = found.lens_cover, found.veil
    power = mapped.power_stops(rows.length_m)
    pattern = _patterns(part, key)
    brow, rim = _shaded(part, total)
    brow &= ~np.isin(pattern, UNSHADED)
    bright = bright_enough(part.brightness[:, None], total)
    return MapSheet(
        rows=rows,
        lens_cover=cover,
        veil=veil,
        catchlight=seen_catchlight(part.eyes[:, 0]) & bright,
        brow=brow,
        rim=rim,
        pattern=pattern,
        limits=place_limits(mapped.people[0].scene, mapped.light, rows, power_stops=power),
        power_stops=power,
    )


def _shaded(part: _Part, total: FloatArray) -> tuple[np.ndarray, np.ndarray]:
    """Return where brow or nose, and where the rim, throw a shadow that a check would name."""
    share = part.own / np.maximum(total, 1e-12)
    head, rim = part.eyes[:, 1], part.eyes[:, 2]
    brow = (head > SHADED_EYE) & (head * share > SHADED_EYE_ALL)
    across = (rim * share > RIM_OVER_IRIS).any(axis=(0, 1))
    return np.asarray(brow.any(axis=(0, 1))), np.asarray(across)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Key:
    """The light as the key of the sitter's face.

    Attributes
    ----------
    cheeks : CheekTable
        The shadows it leaves.
    rival_lx_s : float
        What the strongest other light counts for as a key. [lx·s]
    from_below : bool
        Whether another light makes a clamshell of its butterfly.
    """

    cheeks: CheekTable
    rival_lx_s: float
    from_below: bool


def _as_key(mapped: MappedLight) -> _Key:
    sitter = mapped.people[0]
    other = key_light(sitter.scene, light=sitter.light)
    rival, below = 0.0, False
    if other is not None:
        rival = other.exposure_lx_s * float(counts_as_key(other.direction))
        as_key = replace(other, name=mapped.light.name, exposure_lx_s=mapped.face_exposure)
        below = light_from_below(sitter.scene, as_key) is not None
    place = mapped.light.place
    length = float(np.hypot(place.distance_m, place.height_m - mapped.setup.sitter.eye_height_m))
    table = cheek_table(sitter.scene, mapped.emitter.face, length_m=length)
    return _Key(cheeks=table, rival_lx_s=rival, from_below=below)


def _patterns(part: _Part, key: _Key) -> np.ndarray:
    """Return the sitter's pattern at each place; -1 where another light models the face."""
    mapped, scene = part.mapped, part.mapped.people[0].scene
    directions = key_directions(scene, part.rows.positions)
    named = patterns(scene, directions, key.cheeks.at(directions), from_below=key.from_below)
    counted = mapped.face_exposure * counts_as_key(directions.vector)
    return np.where(counted > key.rival_lx_s, named, -1)
