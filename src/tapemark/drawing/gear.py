"""Lights, camera and stands as solid shapes in the room, for drawing to scale.

A shape is a list of parts; each is a few world points of which a parallel
view draws the outer edge.  Modifiers have their true face, depth and tilt;
heads, stands and the camera body are drawn at usual sizes (assumptions).
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapemark.analysis import BowlFace, light_face
from tapemark.geometry import FloatArray, to_world
from tapemark.studio import Light, Setup

Role = Literal["body", "face", "head", "rod"]

_HEAD_LENGTH_M, _HEAD_RADIUS_M = 0.26, 0.065  # a studio head
_SPEED_RING_M = 0.16  # across the back of a box
_DISH_BACK_M = 0.14
_ROD_OVER_DIAMETER = 0.36  # an umbrella's shaft, from its opening to the head
_CAMERA_BODY_M = (0.14, 0.07, 0.10)  # wide, deep, high
_LENS_LENGTH_M, _LENS_RADIUS_M = 0.11, 0.04
_CAMERA_LEG_REACH_M = 0.34
_ROUND = 40  # corners that stand for a circle


@dataclass(frozen=True, kw_only=True, eq=False)
class Part:
    """One part of a thing.

    Attributes
    ----------
    role : str
        ``body``, ``face`` (what shines), ``head`` or ``rod``.
    points : (n, 3) array
        World points: of a rod its two ends, else what the outline goes around. [m]
    """

    role: Role
    points: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class Gear:
    """A thing on its stand.

    Attributes
    ----------
    parts : tuple of Part
        Back to front.
    mount : (3,) array
        Where the stand carries it. [m]
    facing : (3,) array
        The way it points. [-]
    """

    parts: tuple[Part, ...]
    mount: FloatArray
    facing: FloatArray


def light_gear(light: Light, *, setup: Setup) -> Gear:
    """Return the shape of a light with its modifier."""
    face = light_face(light, setup)
    place = _Placer(center=face.center, axes=face.axes)
    if isinstance(face, BowlFace):
        return _umbrella(face, place)
    disc = face.shape == "disc"
    rim = place.ring(radius=face.width_m / 2, along=0.0) if disc else face.outline()
    depth = light.modifier.depth_m
    if light.modifier.kind == "bare":
        back = rim - depth * face.axes[:, 1]
        body = Part(role="body", points=np.concatenate([rim, back]))
        bare = (body, Part(role="face", points=rim))
        return Gear(parts=bare, mount=place.at(-depth / 2), facing=face.axes[:, 1])
    round_back = light.modifier.kind in {"beauty dish", "reflector dish"}
    across = min(_DISH_BACK_M if round_back else _SPEED_RING_M, face.width_m)
    back = place.ring(radius=across / 2, along=-depth)
    head = place.tube(radius=_HEAD_RADIUS_M, start=-depth, end=-depth - _HEAD_LENGTH_M)
    parts = (
        Part(role="head", points=head),
        Part(role="body", points=np.concatenate([rim, back])),
        Part(role="face", points=rim),
    )
    return Gear(parts=parts, mount=place.at(-depth - _HEAD_LENGTH_M * 0.4), facing=face.axes[:, 1])


def camera_gear(setup: Setup, *, axes: FloatArray) -> Gear:
    """Return the shape of the camera; axes: right, the way it looks, up (columns)."""
    front = np.array(setup.camera.place.position_m)
    place = _Placer(center=front, axes=axes)
    wide, deep, high = _CAMERA_BODY_M
    if setup.camera.orientation == "portrait":
        wide, high = high, wide
    corners = np.array([(x, y, z) for x in (-1, 1) for y in (0, 1) for z in (-1, 1)], dtype=float)
    box = corners * (wide / 2, -deep, high / 2) - (0.0, _LENS_LENGTH_M, 0.0)
    tube = place.tube(radius=_LENS_RADIUS_M, start=0.0, end=-_LENS_LENGTH_M)
    parts = (
        Part(role="body", points=to_world(box, origin=front, axes=axes)),
        Part(role="head", points=tube),
    )
    return Gear(parts=parts, mount=place.at(-_LENS_LENGTH_M - deep / 2), facing=axes[:, 1])


def camera_stand_legs(mount: FloatArray) -> list[FloatArray]:
    """Return the legs of the camera's tripod, each (2, 3) [m]."""
    top = mount - (0.0, 0.0, 0.10)
    foot = np.array([top[0], top[1], 0.0])
    feet = [foot + _CAMERA_LEG_REACH_M * _turned(np.pi * k / 6) for k in (3, 7, 11)]
    return [np.stack([mount, top]), *(np.stack([top, one]) for one in feet)]


@dataclass(frozen=True, kw_only=True, eq=False)
class _Placer:
    """Places along the axis of a light."""

    center: FloatArray
    axes: FloatArray

    def at(self, along: float) -> FloatArray:
        return np.asarray(self.center + along * self.axes[:, 1])

    def ring(self, *, radius: float, along: float) -> FloatArray:
        around = np.arange(_ROUND) * (2 * np.pi / _ROUND)
        local = np.stack(
            [radius * np.cos(around), np.full(_ROUND, along), radius * np.sin(around)], axis=-1
        )
        return to_world(local, origin=self.center, axes=self.axes)

    def tube(self, *, radius: float, start: float, end: float) -> FloatArray:
        return np.concatenate(
            [self.ring(radius=radius, along=start), self.ring(radius=radius, along=end)]
        )


def _umbrella(face: BowlFace, place: _Placer) -> Gear:
    """Return a bowl with its shaft; the head looks into a reflected one from in front."""
    sign = -1.0 if face.hollow_front else 1.0
    half, deep = face.diameter_m / 2, face.depth_m
    ball = (half**2 + deep**2) / (2 * deep)
    rings = [
        place.ring(radius=radius, along=sign * (np.sqrt(ball**2 - radius**2) - (ball - deep)))
        for radius in half * np.array([1.0, 0.8, 0.6, 0.4, 0.2, 0.0])
    ]
    reach = -sign * _ROD_OVER_DIAMETER * face.diameter_m
    head = place.tube(radius=_HEAD_RADIUS_M, start=reach, end=reach - sign * _HEAD_LENGTH_M)
    rod = np.stack([place.at(sign * deep), place.at(reach)])
    body = Part(role="body", points=np.concatenate(rings))
    lit = Part(role="face", points=rings[0])
    parts = (body, lit, Part(role="rod", points=rod), Part(role="head", points=head))
    return Gear(
        parts=parts, mount=place.at(reach - sign * _HEAD_LENGTH_M / 2), facing=face.axes[:, 1]
    )


def _turned(angle: float) -> FloatArray:
    return np.array([np.cos(angle), np.sin(angle), 0.0])
