"""Where a light shows in two lenses, by us and by a path tracer, judged on one fine grid.

Every answer is judged alike, however coarse: shares of our lattice cells, or brightness of the
tracer's pixels, are interpolated to the same fine grid over each lens, and a place counts as
lit from half of the full value, in the front or in the back.
"""

import tomllib
from dataclasses import dataclass
from typing import Any

import numpy as np
from tests.cross.path_tracer import (
    Family,
    Light,
    Picture,
    build_tracer_scene,
    pixel_of,
    take_picture,
)

from tapemark.analysis import (
    FaceLight,
    LensView,
    Scene,
    build_scene,
    cover_map,
    face_light,
    view_lenses,
)
from tapemark.anatomy import LensStack, lens_margin
from tapemark.geometry import FloatArray, to_world
from tapemark.optics import front_point, normal_reflectance
from tapemark.services import demo_setup_text
from tapemark.studio import setup_from_mapping

SURFACES: tuple[Family, Family] = ("front", "back")
REFERENCE = (400, 280)  # columns, rows of our converged lattice
FINE = (500, 350)  # columns, rows of the grid that answers are judged on
SIDES = (0, 1)  # right lens, left lens

Masks = list[np.ndarray]  # of each lens, on the fine grid
Size = tuple[int, int]  # columns, rows


@dataclass(frozen=True, kw_only=True, eq=False)
class Case:
    """The demo's key alone at one place, and the answer to reach.

    Attributes
    ----------
    scene, lenses, light : Scene, LensStack, FaceLight
        Ours.
    softbox : Light
        The tracer's.
    x, z : (columns,), (rows,) arrays
        Fine grid over a boxed lens. [m]
    points : list of arrays
        The grid on each front in the world. [m]
    judged : list of bool arrays
        Places inside the outline that our head does not hide.
    answer : list of bool arrays
        Lit places by our converged lattice.
    """

    scene: Scene
    lenses: LensStack
    light: FaceLight
    softbox: Light
    x: FloatArray
    z: FloatArray
    points: list[FloatArray]
    judged: Masks
    answer: Masks


def build_case(side: str, height: str) -> Case:
    """Return the case of a key at a side and height such as "25 deg camera-left", "1.4 m"."""
    data = tomllib.loads(demo_setup_text("quillmere-troubled"))
    data.pop("backdrop", None)
    key = next(light for light in data["light"] if light["name"] == "key")
    key["place"] |= {"side": side, "height": height}
    data["light"] = [key]
    data["sitter"]["glasses"] |= {"rim": "full", "rim_width": "0 mm", "coating": "none"}
    setup = setup_from_mapping(data)
    scene = build_scene(setup)
    lenses, modifier = scene.lenses, setup.lights[0].modifier
    assert lenses is not None
    x, z = (
        _centers(half, count)
        for half, count in zip((lenses.half_width, lenses.half_height), FINE, strict=True)
    )
    light = face_light(scene)
    view = view_lenses(scene, lenses, columns=REFERENCE[0], rows=REFERENCE[1])
    is_open = (view.solid_angle > 0) & (view.reflected["front"].weight > 0)
    inside = lens_margin(x[None, :], z[:, None], lens=lenses) > 0
    return Case(
        scene=scene,
        lenses=lenses,
        light=light,
        softbox=Light(
            center=np.array(setup.lights[0].place.position_m),
            target=np.array([0.0, 0.0, setup.sitter.eye_height_m]),
            width=modifier.width_m or 0.0,
            height=modifier.height_m or 0.0,
        ),
        x=x,
        z=z,
        points=[_on_front(lenses, side_index, x, z) for side_index in SIDES],
        judged=[
            inside & (_from_lattice(is_open[index].astype(float), view, x, z) > 0.999)
            for index in SIDES
        ],
        answer=_our_masks(scene, lenses, light, size=REFERENCE, grid=(x, z)),
    )


def trace_ours(case: Case, size: Size) -> tuple[LensView, FloatArray]:
    """Return our lattice and its shares of the key: what is timed."""
    view = view_lenses(case.scene, case.lenses, columns=size[0], rows=size[1])
    return view, cover_map(case.scene, view, light=case.light).shares["key"]


def our_masks(case: Case, size: Size) -> Masks:
    """Return the places that are lit by our lattice of a given size."""
    return _our_masks(case.scene, case.lenses, case.light, size=size, grid=(case.x, case.z))


def tracer_scenes(tracer: Any, case: Case, families: tuple[Family, ...]) -> dict[Family, Any]:
    """Return the tracer's scenes of a case, one for each family of paths."""
    return {
        family: build_tracer_scene(tracer, case.lenses, family=family, lights=(case.softbox,))
        for family in families
    }


def trace_pictures(
    tracer: Any, case: Case, scenes: dict[Family, Any], *, columns: int, samples: int
) -> dict[Family, list[Picture]]:
    """Return the tracer's pictures of both lenses: what is timed."""
    return {
        family: [
            take_picture(
                tracer,
                scene,
                case.lenses,
                index=index,
                camera=case.scene.camera,
                family=family,
                columns=columns,
                samples=samples,
                with_places=False,
            )
            for index in SIDES
        ]
        for family, scene in scenes.items()
    }


def tracer_masks(
    case: Case, pictures: dict[Family, list[Picture]], *, smoothing_passes: int
) -> Masks:
    """Return the places that are lit in the tracer's pictures, smoothed so many times."""
    masks = [np.zeros(judged.shape, dtype=bool) for judged in case.judged]
    for family, both in pictures.items():
        for index, picture in enumerate(both):
            least = 0.5 * _full_brightness(case.lenses, family, index)
            brightness, coverage = picture.brightness, picture.coverage
            for _ in range(smoothing_passes):
                brightness, coverage = _smoothed(brightness), _smoothed(coverage)
            shown = np.where(coverage > 0, brightness / np.maximum(coverage, 1e-9), 0.0)
            masks[index] |= _from_pixels(shown, case, index) >= least
    return masks


def region_error(case: Case, masks: Masks) -> float:
    """Return 1 - intersection over union with the converged answer, both lenses together."""
    both = either = 0
    for mask, answer, judged in zip(masks, case.answer, case.judged, strict=True):
        both += int(np.count_nonzero(mask & answer & judged))
        either += int(np.count_nonzero((mask | answer) & judged))
    return 1.0 - both / max(either, 1)


def _centers(half: float, count: int) -> FloatArray:
    return np.asarray(half * ((np.arange(count) + 0.5) * (2.0 / count) - 1.0))


def _our_masks(
    scene: Scene,
    lenses: LensStack,
    light: FaceLight,
    *,
    size: Size,
    grid: tuple[FloatArray, FloatArray],
) -> Masks:
    view = view_lenses(scene, lenses, columns=size[0], rows=size[1])
    shares = cover_map(scene, view, light=light).shares["key"]
    return [
        np.logical_or.reduce(
            [_from_lattice(shares[number, index], view, *grid) >= 0.5 for number in (0, 1)]
        )
        for index in SIDES
    ]


def _on_front(lenses: LensStack, index: int, x: FloatArray, z: FloatArray) -> FloatArray:
    flat_x, flat_z = np.meshgrid(x, z)
    boxed = front_point(flat_x, flat_z, curvature=lenses.front_curvature[index])
    return to_world(boxed, origin=lenses.boxed_origin[index], axes=lenses.boxed_axes[index])


def _from_lattice(field: FloatArray, view: LensView, x: FloatArray, z: FloatArray) -> FloatArray:
    column = np.interp(x, view.x, np.arange(len(view.x)))
    row = np.interp(z, view.z, np.arange(len(view.z)))
    return _bilinear(field, row[:, None], column[None, :])


def _from_pixels(field: FloatArray, case: Case, index: int) -> FloatArray:
    row, column = pixel_of(
        case.points[index],
        case.lenses,
        index=index,
        camera=case.scene.camera,
        columns=field.shape[1],
    )
    return _bilinear(field, row, column)


def _bilinear(field: FloatArray, row: FloatArray, column: FloatArray) -> FloatArray:
    row, column = row.clip(0, field.shape[0] - 1.001), column.clip(0, field.shape[1] - 1.001)
    low, left = row.astype(int), column.astype(int)
    up, across = row - low, column - left
    lower = field[low, left] * (1 - across) + field[low, left + 1] * across
    upper = field[low + 1, left] * (1 - across) + field[low + 1, left + 1] * across
    return np.asarray(lower * (1 - up) + upper * up)


def _smoothed(field: FloatArray) -> FloatArray:
    """Return the mean over a pixel and its neighbours, weights 1 2 1 either way."""
    padded = np.pad(field, 1, mode="edge")
    along = (padded[:, :-2] + 2 * padded[:, 1:-1] + padded[:, 2:]) / 4
    return np.asarray((along[:-2] + 2 * along[1:-1] + along[2:]) / 4)


def _full_brightness(lenses: LensStack, family: Family, index: int) -> float:
    """Return about what a lit place returns: the weaker of both surfaces in a whole lens."""
    reflectance = float(normal_reflectance(lenses.index[index]))
    return reflectance if family == "front" else reflectance * (1.0 - reflectance) ** 2
