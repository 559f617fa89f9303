r"""Ears of the mannequin: a shell with helix, antihelix, concha, tragus and lobe.

Drawn over a plate that stands out from the head behind the tragion::

         __
        /  \    helix round the edge
       | () |   concha in the middle
        \ _/    lobe below
"""

import numpy as np

from tapemark.anatomy import HeadSurface
from tapemark.geometry import FloatArray
from tapemark.rendering.mannequin.mesh import Mesh, sheet, smoothstep
from tapemark.units import MM

_FLARE = np.deg2rad(27.0)  # between ear and side of the head
_HALF_TALL_MM, _HALF_WIDE_MM = 30.0, 16.5


def ear(head: HeadSurface, *, outward: float, fineness: float) -> Mesh:
    """Return one ear, head frame [mm]."""
    rows, columns = int(26 * fineness) + 6, int(72 * fineness)
    around = np.arange(columns)[None, :] * 2.0 * np.pi / columns
    reach = np.linspace(0.0, 1.0, rows)[:, None]
    across, tall = _outline(around)
    u, v = reach * across, reach * tall
    height = _relief(reach, around, u, v)
    front = _points(head, u, v, height, outward=outward)
    back_reach = np.array([1.015, 1.0, 0.93, 0.8, 0.66, 0.6])[:, None]
    back_height = np.array([-0.9, -2.0, -3.0, -4.0, -7.5, -14.0])[:, None]
    edge = height[-1:]
    behind = _points(
        head,
        back_reach * across - 2.5 * (back_reach < 0.9),
        back_reach * tall,
        edge * np.clip((back_reach - 0.6) / 0.4, 0.0, 1.0) + back_height,
        outward=outward,
    )
    points = np.concatenate([front, behind])
    return sheet(points if outward < 0 else points[:, ::-1], closed=True)


def _outline(around: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the outline, backwards and up from the middle of the plate. [mm]"""
    cosine, sine = np.cos(around), np.sin(around)
    lower = np.clip(-sine, 0.0, 1.0)
    across = _HALF_WIDE_MM * cosine * (1.0 + 0.10 * np.clip(sine, 0, 1) - 0.36 * lower**1.6)
    across = across + 1.5 * sine - 2.6 * lower**2
    return across, _HALF_TALL_MM * sine


def _relief(reach: FloatArray, around: FloatArray, u: FloatArray, v: FloatArray) -> FloatArray:
    """Return how far the ear stands out of its plate. [mm]"""
    degrees = np.degrees(np.angle(np.exp(1j * around)))
    rim = smoothstep(175.0, 140.0, degrees) * smoothstep(-62.0, -30.0, degrees)
    helix = 3.6 * np.exp(-(((reach - 0.92) / 0.085) ** 2)) * rim
    scapha = -1.5 * np.exp(-(((reach - 0.74) / 0.09) ** 2)) * rim
    inner = smoothstep(150.0, 90.0, degrees) * smoothstep(-75.0, -45.0, degrees)
    anti = 2.7 * np.exp(-(((reach - 0.55) / 0.10) ** 2)) * inner
    bowl = -8.0 * np.exp(-((((u + 3.5) / 7.0) ** 2 + ((v + 3.0) / 8.5) ** 2) ** 1.4))
    fossa = -1.8 * np.exp(-(((u + 1.0) / 5.0) ** 2 + ((v - 15.0) / 5.0) ** 2))
    tragus = 4.2 * np.exp(-(((u + 13.0) / 3.0) ** 2 + ((v + 4.0) / 4.5) ** 2))
    crus = 2.0 * np.exp(-(((u + 8.0) / 6.0) ** 2 + ((v - 3.0 - 0.3 * u) / 2.0) ** 2))
    lobe = 1.6 * np.exp(-(((u + 5.0) / 6.0) ** 2 + ((v + 23.0) / 6.0) ** 2))
    fade = smoothstep(0.0, 0.08, reach)
    return np.asarray(bowl + fossa + tragus + crus + lobe + (helix + scapha + anti) * fade)


def _points(
    head: HeadSurface, u: FloatArray, v: FloatArray, height: FloatArray, *, outward: float
) -> FloatArray:
    """Return places on the plate in the head frame. [mm]"""
    marks = head.landmarks()
    tragion = np.array(marks.right_tragion) / MM
    back = np.array([np.sin(_FLARE), -np.cos(_FLARE), 0.10])
    up = np.array([0.10, -0.17, 1.0])
    out = np.array([np.cos(_FLARE), np.sin(_FLARE), -0.08])
    middle = tragion + 11.5 * back + 6.5 * up - 1.0 * out
    u, v, height = np.broadcast_arrays(u, v, height)
    points = middle + u[..., None] * back + v[..., None] * up + height[..., None] * out
    return np.asarray(points * np.array([outward, 1.0, 1.0]))
