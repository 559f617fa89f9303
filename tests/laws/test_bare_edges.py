"""Lenses without a rim in a picture: a strip along the edge neither mirrors nor is looked into."""

import numpy as np
import pytest
from tests.cross.picture_cases import changed

from tapemark.analysis import build_scenes
from tapemark.anatomy import bare_edge, lens_margin
from tapemark.rendering.lens_solids import lens_solid, look_through

WIDTHS_MM = {"full": (0.0, 0.0), "half": (0.0, 0.3), "none": (0.3, 0.3)}
ATOL_MM = 0.02  # the margin of an outline is good to that so near to it


def scene_of(rim):
    (scene,) = build_scenes(changed({"sitter.glasses.rim": rim}))
    return scene


def boxed(scene, world, index):
    lenses = scene.lenses
    return (world - lenses.boxed_origin[index]) @ lenses.boxed_axes[index]


def margin_mm(scene, world, index):
    local = boxed(scene, world, index)
    return lens_margin(local[..., 0], local[..., 2], lens=scene.lenses) * 1e3


@pytest.mark.parametrize("index", [0, 1])
@pytest.mark.parametrize("rim", WIDTHS_MM)
def test_what_mirrors_ends_short_of_a_bare_edge(rim, index):
    scene = scene_of(rim)
    edge_m = bare_edge(scene.sitter.glasses)
    np.testing.assert_allclose(np.array(edge_m) * 1e3, WIDTHS_MM[rim])
    front = lens_solid(scene.lenses, index=index, bare_edge_m=edge_m).front
    margin = margin_mm(scene, front.points[np.unique(front.triangles)], index)
    height = boxed(scene, front.points[np.unique(front.triangles)], index)[:, 2]
    above, below = WIDTHS_MM[rim]
    top, bottom = np.argmax(height), np.argmin(height)
    np.testing.assert_allclose(margin[[top, bottom]], [above, below], atol=ATOL_MM)


@pytest.mark.parametrize("rim", WIDTHS_MM)
def test_light_through_a_bare_edge_ends_there(rim):
    scene, index = scene_of(rim), 0
    points = lens_solid(scene.lenses, index=index).front.points
    points = points[margin_mm(scene, points, index) > ATOL_MM]
    along = (points - scene.camera) / np.linalg.norm(points - scene.camera, axis=-1, keepdims=True)
    held, bare = (
        look_through(
            scene.camera, along, lenses=scene.lenses, index=index, bare_edge_m=width
        ).at_edge
        for width in ((0.0, 0.0), bare_edge(scene.sitter.glasses))
    )
    assert not (held & ~bare).any()
    assert (bare & ~held).any() == (rim != "full")
