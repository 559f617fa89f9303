"""Options that tell where something is in a photo: pupils and lenses."""

from __future__ import annotations

import click

__all__ = ["boxes_option", "pupils_option"]

_RIGHT_FIRST = "the sitter's right eye, at camera-left, comes first; change the two over"


def pupils_option(_context: click.Context, _option: click.Parameter, value: str) -> object:
    """Return the sitter's right and left pupil as typed; None for nothing."""
    found = _numbers(4, "812,940,1066,938", value)
    if found is None:
        return None
    if abs(found[0] - found[2]) + abs(found[1] - found[3]) < 8:
        raise click.BadParameter(f"{value}: the pupils have to be apart")
    if found[0] > found[2]:
        raise click.BadParameter(f"{value}: {_RIGHT_FIRST}")
    return found[:2], found[2:]


def boxes_option(_context: click.Context, _option: click.Parameter, value: str) -> object:
    """Return the boxes of the sitter's right and left lens as typed; None for nothing."""
    found = _numbers(8, "702,880,930,1040,952,880,1180,1040", value)
    if found is None:
        return None
    boxes = (found[:4], found[4:])
    if any(one[2] - one[0] < 4 or one[3] - one[1] < 4 for one in boxes):
        raise click.BadParameter(f"{value}: left before right, top before bottom in each box")
    if boxes[0][0] + boxes[0][2] > boxes[1][0] + boxes[1][2]:
        raise click.BadParameter(f"{value}: {_RIGHT_FIRST}")
    return boxes


def _numbers(count: int, like: str, value: str) -> tuple[float, ...] | None:
    """Return so many numbers between commas, or None for nothing."""
    if not value:
        return None
    try:
        found = tuple(float(one) for one in value.split(","))
    except ValueError:
        found = ()
    if len(found) != count or not all(abs(one) < 1e6 for one in found):
        raise click.BadParameter(f"{value}: write {count} numbers like {like}")
    return found
