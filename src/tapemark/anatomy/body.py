r"""What light meets of a whole person: head, neck, trunk, arms and legs as ellipsoids.

For shadows and for what stands in the way, not for drawing.  The trunk is
upright and turned half as far as the head::

          ( )        head frame for skull, jaw and neck;
         /(_)\       body frame below: origin where the eyes would be if the
        | | | |      head were turned like the body, x to the sitter's right,
          \|_|/      y forward, z up; metres
          | |
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Self

import numpy as np

from tapemark.anatomy.head_shape import REFERENCE
from tapemark.anatomy.pose import HeadPose, head_pose
from tapemark.geometry import (
    FloatArray,
    FloatLike,
    axes_facing,
    dot,
    rotation_from_yaw_pitch_roll,
    to_world,
)
from tapemark.studio import Setup, Sitter
from tapemark.units import MM

#: The body turns by this share of the head's turn (assumption: a posed sitter).
BODY_TURN_SHARE = 0.5
#: Body height for which the measures below are written; [ansur-ii-2012], both sexes. [m]
REFERENCE_HEIGHT_M = 1.692
SEATED_EYE_SHARE = 0.4586  # eyes over the seat, of the body height; [ansur-ii-2012]
SMALLEST, LARGEST = 0.5, 1.25  # of the reference body
NEAR = 1e-6  # of a cosine, so that rounding leaves out no path that touches a part
_NECK_PIVOT_MM = (0.0, -84.0, -72.0)  # where head and neck meet, head frame

Point = tuple[float, float, float]
Part = tuple[str, Point, Point]  # name, middle and half axes
Limb = tuple[str, tuple[Point, ...], float]  # name, both ends and radius


@dataclass(frozen=True, kw_only=True, eq=False)
class Body:
    """A person as a few ellipsoids in the world.

    Attributes
    ----------
    names : tuple of str
        Part of the body for each ellipsoid: ``head``, ``neck``, ``trunk``,
        ``arm`` or ``leg``.
    centers : (n, 3) array
        Middles of the ellipsoids. [m]
    axes : (n, 3, 3) array
        Columns: the directions of their half axes. [-]
    radii : (n, 3) array
        Their half axes. [m]
    """

    names: tuple[str, ...]
    centers: FloatArray
    axes: FloatArray
    radii: FloatArray

    def blocks(
        self, starts: FloatArray, directions: FloatArray, *, reach_m: FloatLike = np.inf
    ) -> np.ndarray:
        """Return which straight paths run into the body.

        Parameters
        ----------
        starts, directions : (..., 3) arrays
            Where the paths start [m] and unit vectors along them [-]; broadcast.
        reach_m : float or (...) array
            Length of the paths. [m]

        Returns
        -------
        (...) bool array
            True where a path meets the body, or starts in it; False for NaN.
        """
        shape = np.broadcast_shapes(starts.shape[:-1], directions.shape[:-1])
        along = np.broadcast_to(directions, (*shape, 3)).reshape(-1, 3)
        near = self._within_cones(starts.reshape(-1, 3), along)
        blocked = np.zeros(len(along), dtype=bool)
        parts = np.flatnonzero(near.any(axis=1))
        if not len(parts):
            return blocked.reshape(shape)
        begin = np.broadcast_to(starts, (*shape, 3)).reshape(-1, 3)
        reach = np.broadcast_to(np.asarray(reach_m), shape).reshape(-1)
        for part in parts:
            at, shaper = np.flatnonzero(near[part]), self._shapers[part]
            start, way = (begin[at] - self.centers[part]) @ shaper, along[at] @ shaper
            towards, size = dot(start, way), dot(way, way)
            nearest = np.clip(-towards / size, 0.0, reach[at])
            blocked[at] |= dot(start, start) + nearest * (2.0 * towards + nearest * size) < 1.0
        return blocked.reshape(shape)

    def hides(self, places: FloatArray, targets: FloatArray) -> np.ndarray:
        """Return which targets the body hides from which places.

        Parameters
        ----------
        places : (n, 3) array
            Ends of the paths. [m]
        targets : (k, 3) array
            Their other ends. [m]

        Returns
        -------
        (n, k) bool array
            True where the body lies between place and target.
        """
        blocked = np.zeros((len(places), len(targets)), dtype=bool)
        near = self._near_paths(places, targets)
        for index, (center, shaper) in enumerate(zip(self.centers, self._shapers, strict=True)):
            kept = np.flatnonzero(near[:, index])
            if not len(kept):
                continue
            start, end = (places[kept] - center) @ shaper, (targets - center) @ shaper
            here = dot(start, start)[:, None]
            across = start @ end.T - here
            size = dot(end, end) - here - 2.0 * across
            nearest = np.minimum(np.maximum(-across / size, 0.0), 1.0)
            blocked[kept] |= here + nearest * (2.0 * across + nearest * size) < 1.0
        return blocked

    def only(self, *names: str) -> Self:
        """Return the named parts of the body alone."""
        kept = [index for index, name in enumerate(self.names) if name in names]
        return type(self)(
            names=tuple(self.names[index] for index in kept),
            centers=self.centers[kept],
            axes=self.axes[kept],
            radii=self.radii[kept],
        )

    def surface(self, *, count: int = 12) -> FloatArray:
        """Return points on every ellipsoid, (n, count²/2, 3) [m], inner ones included."""
        up = (np.arange(count // 2) + 0.5) * np.pi / (count // 2)
        around = np.arange(count) * 2.0 * np.pi / count
        ball = np.stack(
            [
                np.outer(np.sin(up), np.cos(around)).ravel(),
                np.outer(np.sin(up), np.sin(around)).ravel(),
                np.outer(np.cos(up), np.ones(count)).ravel(),
            ],
            axis=-1,
        )
        return self.centers[:, None] + (ball * self.radii[:, None]) @ np.swapaxes(self.axes, 1, 2)

    @cached_property
    def _shapers(self) -> FloatArray:
        """Return matrices that turn offsets (as rows) into those of a unit ball."""
        return np.asarray(self.axes / self.radii[:, None, :])

    def _within_cones(self, starts: FloatArray, directions: FloatArray) -> np.ndarray:
        """Return which directions (n, 3) may lead from near the starts to each part, (parts, n).

        Each part is taken as the ball around it, the starts as one ball too.
        """
        middle = starts.mean(axis=0) if len(starts) else np.zeros(3)
        spread = float(np.sqrt(((starts - middle) ** 2).sum(axis=1).max(initial=0.0)))
        span = self.centers - middle
        apart = np.maximum(np.sqrt(dot(span, span)), 1e-9)
        sine = (self.radii.max(axis=1) + spread) / apart
        least = np.where(sine < 1.0, np.sqrt(np.maximum(1.0 - sine * sine, 0.0)) - NEAR, -np.inf)
        return np.asarray((span / apart[:, None]) @ directions.T > least[:, None])

    def _near_paths(self, places: FloatArray, targets: FloatArray) -> np.ndarray:
        """Return for which places a part may hide a target, (n, parts) bool.

        Each part is taken as the ball around it, the targets as one ball too.
        """
        middle = targets.mean(axis=0)
        spread = float(np.sqrt(((targets - middle) ** 2).sum(axis=1).max()))
        towards = middle - places
        length2 = dot(towards, towards)[:, None]
        balls, here = self.radii.max(axis=1), dot(places, places)[:, None]
        apart2 = here - 2.0 * places @ self.centers.T + dot(self.centers, self.centers)
        back = dot(places, towards)[:, None] - towards @ self.centers.T
        along = np.minimum(np.maximum(-back / length2, 0.0), 1.0)
        away2 = apart2 + along * (2.0 * back + along * length2)
        farthest = (np.sqrt(np.maximum(apart2, 0.0)) + balls) / np.maximum(
            np.sqrt(length2) - spread, 1e-9
        )
        reach = balls + spread * np.minimum(farthest, 1.0) + 1e-6
        return np.asarray(away2 < reach * reach)


def body_of(sitter: Sitter, *, pose: HeadPose) -> Body:
    """Return the body of a person.

    Parameters
    ----------
    sitter : Sitter
        Posture, eye and seat height [m], body height if stated [m] and face measures [mm].
    pose : HeadPose
        Where the head is.

    Notes
    -----
    Sized after the drawn sitter, an adult of mean height in light clothes with some hair;
    scaled by the body height where it can be told. Sides are good to about 3 cm, arms and legs
    to about 10 cm, since how they are held is not known (assumption).
    """
    size = _size_share(sitter)
    head, trunk, limbs = _head(sitter), _trunk(sitter, size=size), _limbs(sitter, size)
    body = body_pose(pose)
    names = [row[0] for row in head] + [row[0] for row in trunk] + [row[0] for row in limbs]
    ends, thick = np.array([row[1] for row in limbs]), np.array([row[2] for row in limbs])
    span = ends[:, 1] - ends[:, 0]
    half = np.sqrt(dot(span, span)) / 2 + 0.5 * thick  # a little past both ends
    own = np.concatenate([[row[1] for row in trunk], ends.mean(axis=1)])
    return Body(
        names=tuple(names),
        centers=np.concatenate(
            [
                to_world(np.array([row[1] for row in head]), origin=pose.origin, axes=pose.axes),
                to_world(own, origin=body.origin, axes=body.axes),
            ]
        ),
        axes=np.concatenate(
            [
                np.broadcast_to(pose.axes, (len(head), 3, 3)),
                np.broadcast_to(body.axes, (len(trunk), 3, 3)),
                body.axes @ axes_facing(span),
            ]
        ),
        radii=np.concatenate(
            [[row[2] for row in (*head, *trunk)], np.stack([thick, half, thick], axis=-1)]
        ),
    )


def bodies_of(setup: Setup) -> tuple[Body, ...]:
    """Return the bodies of everybody in a setup, the sitter first."""
    return tuple(body_of(person, pose=head_pose(person)) for person in setup.people)


def body_pose(pose: HeadPose) -> HeadPose:
    """Return the frame of the body: upright, turned half as far as the head.

    Its origin lies where the eyes would be if the head were turned like the
    body, so that the body stays under the neck.
    """
    forward = pose.axes[:, 1]
    yaw = float(np.arctan2(forward[0], forward[1])) * BODY_TURN_SHARE
    axes = rotation_from_yaw_pitch_roll(yaw, pitch=0.0, roll=0.0)
    pivot = np.array(_NECK_PIVOT_MM) * MM
    return HeadPose(
        origin=to_world(pivot, origin=pose.origin, axes=pose.axes) - axes @ pivot, axes=axes
    )


def _size_share(sitter: Sitter) -> float:
    """Return the body's size against the reference; 1 where nothing stated tells it. [-]"""
    stated = sitter.model_fields_set
    height = REFERENCE_HEIGHT_M
    if sitter.body_height_m is not None:
        height = sitter.body_height_m
    elif sitter.posture == "standing":
        height = sitter.eye_height_m + 0.086  # crown over eyes, less a heel
    elif {"eye_height_m", "seat_height_m"} <= stated:
        height = (sitter.eye_height_m - sitter.seat_height_m) / SEATED_EYE_SHARE
    return float(np.clip(height / REFERENCE_HEIGHT_M, SMALLEST, LARGEST))


def _head(sitter: Sitter) -> list[Part]:
    """Return skull with hair, jaw and neck in the head frame; they follow the face measures."""
    face = sitter.face
    wide = face.head_breadth_mm / REFERENCE["head_breadth"] * MM
    cheek = face.bizygomatic_mm / REFERENCE["bizygomatic"] * MM
    deep = face.head_length_mm / REFERENCE["head_length"] * MM
    tall = face.face_height_mm / REFERENCE["face_height"] * MM
    return [
        ("head", (0.0, -78.0 * deep, 24.0 * tall), (84.0 * wide, 104.0 * deep, 108.0 * tall)),
        ("head", (0.0, -42.0 * deep, -46.0 * tall), (64.0 * cheek, 60.0 * deep, 74.0 * tall)),
        ("neck", (0.0, -0.094, -0.124), (0.061, 0.056, 0.086)),
    ]


def _trunk(sitter: Sitter, *, size: float) -> list[Part]:
    """Return chest and belly in the body frame, down to the seat or the top of the legs."""
    seated = sitter.posture == "seated"
    low = sitter.eye_height_m - sitter.seat_height_m if seated else 0.53 * sitter.eye_height_m
    depth, half = -0.1 * size, max((low - 0.34 * size) / 2, 0.12 * size)
    return [
        ("trunk", (0.0, depth, -0.35 * size), (0.222 * size, 0.112 * size, 0.205 * size)),
        ("trunk", (0.0, depth, -0.34 * size - half), (0.205 * size, 0.115 * size, half)),
    ]


def _limbs(sitter: Sitter, size: float) -> list[Limb]:
    """Return arms and legs in the body frame, the sitter's right ones first."""
    one_side = _seated(sitter, size) if sitter.posture == "seated" else _standing(sitter, size)
    return [
        (name, tuple((side * x, y, z) for x, y, z in ends), radius)
        for name, ends, radius in one_side
        for side in (1.0, -1.0)
    ]


def _seated(sitter: Sitter, size: float) -> list[Limb]:
    floor, seat = -sitter.eye_height_m / size, (sitter.seat_height_m - sitter.eye_height_m) / size
    elbow = (0.18, -0.06, max(-0.60, seat + 0.20))
    rows = (
        ("arm", (0.18, -0.105, -0.27), elbow, 0.052),
        ("arm", elbow, (0.10, 0.24, seat + 0.19), 0.045),
        ("leg", (0.09, -0.14, seat + 0.08), (0.12, 0.44, seat + 0.07), 0.085),
        ("leg", (0.12, 0.38, seat + 0.07), (0.12, 0.36, floor), 0.06),
        ("leg", (0.12, 0.30, floor + 0.04), (0.13, 0.57, floor + 0.04), 0.045),
    )
    return [_scaled(*row, size=size) for row in rows]


def _standing(sitter: Sitter, size: float) -> list[Limb]:
    eye = sitter.eye_height_m / size
    elbow, knee = (0.18, -0.115, -0.60), (0.10, -0.06, -0.72 * eye)
    rows = (
        ("arm", (0.18, -0.105, -0.27), elbow, 0.052),
        ("arm", elbow, (0.18, -0.045, -0.95), 0.045),
        ("leg", (0.09, -0.08, -0.42 * eye), knee, 0.085),
        ("leg", knee, (0.10, -0.09, -eye), 0.06),
        ("leg", (0.10, -0.12, 0.04 - eye), (0.12, 0.13, 0.04 - eye), 0.045),
    )
    return [_scaled(*row, size=size) for row in rows]


def _scaled(name: str, start: Point, end: Point, radius: float, *, size: float) -> Limb:
    """Return a limb given for the reference body at a body's own size."""
    ends = (np.array([start, end]) * size).tolist()
    return name, (tuple(ends[0]), tuple(ends[1])), size * radius
