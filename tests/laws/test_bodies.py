"""Laws of the ellipsoids that stand for people."""

import math

import numpy as np
import pytest

from tapemark.anatomy import bodies_of, body_of, head_pose
from tapemark.studio import Camera, Companion, Place, Room, Setup, Sitter


def setup(**more):
    return Setup(
        room=Room(width_m=8.0, length_m=14.0, height_m=3.2, behind_sitter_m=6.0),
        sitter=Sitter(eye_height_m=1.2),
        camera=Camera(place=Place(distance_m=2.5, height_m=1.2), focal_length_mm=70.0),
        **more,
    )


def test_body_is_symmetric_and_stands_on_the_floor():
    for posture in ("seated", "standing"):
        sitter = Sitter(posture=posture)
        body = body_of(sitter, pose=head_pose(sitter))
        points = body.surface(count=24).reshape(-1, 3)
        np.testing.assert_allclose(points[:, 0].max(), -points[:, 0].min(), atol=0.01)
        assert -0.05 < points[:, 2].min() < 0.05
        crown = points[:, 2].max() - sitter.eye_height_m
        assert 0.10 < crown < 0.15


def test_body_turns_half_as_far_as_the_head():
    sitter = Sitter(turn_deg=60.0)
    body = body_of(sitter, pose=head_pose(sitter))
    trunk, head = body.only("trunk"), body.only("head")
    for part, turn in ((trunk, 30.0), (head, 60.0)):
        out = part.axes[0][:, 1]
        np.testing.assert_allclose(math.degrees(math.atan2(out[0], out[1])), turn, atol=1e-9)


def test_body_shrinks_with_the_body_height():
    widths = []
    for tall in (1.3, 1.692, 1.9):
        sitter = Sitter(posture="standing", body_height_m=tall)
        points = body_of(sitter, pose=head_pose(sitter)).only("trunk").surface().reshape(-1, 3)
        widths.append(np.ptp(points[:, 0]))
    np.testing.assert_allclose(
        np.array(widths) / widths[1], np.array([1.3, 1.692, 1.9]) / 1.692, rtol=1e-9
    )


def test_companions_stand_where_they_are_put():
    friend = Companion(name="friend", across_m=0.7, back_m=0.4)
    first, second = bodies_of(setup(companions=(friend,)))
    apart = second.only("head").centers - first.only("head").centers
    np.testing.assert_allclose(apart[:, :2], [[0.7, -0.4], [0.7, -0.4]], atol=1e-9)
    assert first.names == second.names


@pytest.mark.parametrize("shape", [(3,), (5, 3), (2, 4, 3)])
def test_blocks_takes_any_leading_axes(shape):
    body = bodies_of(setup())[0]
    starts = np.broadcast_to(np.array([0.0, 3.0, 1.15]), shape)
    towards = np.array([0.0, -1.0, 0.0])
    assert np.all(body.blocks(starts, towards))
    assert not np.any(body.blocks(starts, -towards))
    assert not np.any(body.blocks(starts, towards, reach_m=1.0))
    assert body.blocks(starts, towards).shape == shape[:-1]
    assert not np.any(body.blocks(starts * np.nan, towards))
