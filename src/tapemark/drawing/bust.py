"""The parts of a sitter that the head surface leaves out: ears, hair, neck and clothes.

Drawn, not measured: plain shapes that follow the head's own measures, so
that a portrait can be recognised as one.  Nothing here takes part in any
analysis.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis import Scene
from tapemark.anatomy import HeadPose, body_pose
from tapemark.geometry import FloatArray, to_world
from tapemark.studio import Sitter
from tapemark.units import MM

# Hair: azimuth from the face (degrees, sitter's right positive), and the
# height of its lower edge (mm) there; parted on the sitter's left.
_HAIRLINE = np.array(
    [
        (-180.0, -88.0),
        (-150.0, -84.0),
        (-126.0, -62.0),
        (-112.0, -34.0),
        (-105.0, 2.0),
        (-98.0, 17.0),
        (-88.0, 17.0),
        (-82.0, 2.0),
        (-79.5, -17.0),
        (-74.0, -14.0),
        (-67.0, 22.0),
        (-58.0, 44.0),
        (-44.0, 60.0),
        (-26.0, 69.0),
        (-8.0, 67.0),
        (16.0, 60.0),
        (38.0, 54.0),
        (56.0, 42.0),
        (67.0, 20.0),
        (74.0, -14.0),
        (79.5, -17.0),
        (82.0, 2.0),
        (88.0, 17.0),
        (98.0, 17.0),
        (105.0, 2.0),
        (112.0, -34.0),
        (126.0, -62.0),
        (150.0, -84.0),
        (180.0, -88.0),
    ]
)
# Height (mm) and fullness (mm) of the hair above it.
_FULLNESS = np.array(
    [(-100.0, 5.0), (-40.0, 8.0), (0.0, 9.0), (40.0, 14.0), (75.0, 19.0), (116.0, 21.0)]
)
# Neck and clothes: height, half width, front and rear depth (mm) from the eyes.
_CLOTHES = np.array(
    [
        (-626.0, 222.0, 14.0, -214.0),
        (-486.0, 222.0, 14.0, -214.0),
        (-366.0, 218.0, 10.0, -212.0),
        (-298.0, 211.0, 1.0, -206.0),
        (-254.0, 200.0, -9.0, -200.0),
        (-226.0, 185.0, -17.0, -195.0),
        (-206.0, 163.0, -23.0, -190.0),
        (-190.0, 136.0, -28.0, -185.0),
        (-176.0, 108.0, -33.0, -180.0),
        (-163.0, 84.0, -37.0, -173.0),
        (-151.0, 69.0, -41.0, -164.0),
        (-142.0, 64.0, -43.0, -158.0),
    ]
)
_NECK_FOOT_MM = (-100.0, -190.0, 61.0, 58.0)  # depth, height, half width, half depth
_NECK_TOP_MM = (-88.0, -58.0, 55.0, 50.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class Bust:
    """Grids of world points, each (rows, columns, 3) [m]."""

    face: FloatArray
    back_of_head: FloatArray
    ears: tuple[FloatArray, FloatArray]
    hair: FloatArray
    neck: FloatArray
    clothes: FloatArray

    def grids(self) -> dict[str, FloatArray]:
        """Return every grid by name."""
        return {
            "face": self.face,
            "back of head": self.back_of_head,
            "right ear": self.ears[0],
            "left ear": self.ears[1],
            "hair": self.hair,
            "neck": self.neck,
            "clothes": self.clothes,
        }


def bust(scene: Scene, *, rows: int = 120) -> Bust:
    """Return the surfaces of a sitter's head and shoulders in the world.

    Parameters
    ----------
    scene : Scene
        Sitter and pose.
    rows : int
        Heights at which the face is sampled.
    """
    head, pose = scene.head, scene.pose
    face = _placed(head.mesh(rows=rows, columns=rows + 1), pose)
    rear = _placed(head.rear_mesh(rows=rows // 2, columns=rows // 2 + 1), pose)
    return Bust(
        face=face,
        back_of_head=rear,
        ears=(_ear(scene, 1.0), _ear(scene, -1.0)),
        hair=_hair(scene, rows=rows),
        neck=_neck(pose),
        clothes=_clothes(scene),
    )


def head_grid(scene: Scene, *, rows: int) -> tuple[FloatArray, FloatArray]:
    """Return the whole head as one closed grid, head frame [m], and its azimuths [deg].

    Columns run once around, from the back over the sitter's left, the face
    and the sitter's right to the back again.
    """
    front = scene.head.mesh(rows=rows, columns=rows + 1)
    rear = scene.head.rear_mesh(rows=rows, columns=rows + 1)
    half = rows // 2
    grid = np.concatenate([rear[:, half::-1], front[:, 1:-1], rear[:, : half - 1 : -1]], axis=1)
    middle = np.nanmean(np.stack([front[:, 0, 1], rear[:, 0, 1]]), axis=0)[:, None]
    return grid, np.degrees(np.arctan2(grid[..., 0], grid[..., 1] - middle))


def _placed(points: FloatArray, pose: HeadPose) -> FloatArray:
    return to_world(points, origin=pose.origin, axes=pose.axes)


def _hair(scene: Scene, *, rows: int) -> FloatArray:
    grid, azimuth = head_grid(scene, rows=rows)
    up = grid[..., 2] / MM
    edge, steepness = _hairline_at(azimuth)
    above = (up - edge) / steepness
    risen = np.clip(above / np.interp(np.abs(azimuth), (30.0, 75.0), (26.0, 11.0)), 0.0, 1.0)
    rise = risen * (2.0 - risen)
    full = np.interp(up, _FULLNESS[:, 0], _FULLNESS[:, 1])
    thickness = np.where(above >= 0, rise * full, np.maximum(above * 0.6, -4.0))
    hair = grid + outward_normals(grid) * thickness[..., None] * MM
    lowest = np.searchsorted(grid[:, 0, 2], (_HAIRLINE[:, 1].min() - 12.0) * MM)
    return _placed(hair[lowest:], scene.pose)


def _hairline_at(azimuth_deg: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the height of the hairline [mm] and how much longer it is than level [-]."""
    fine = np.arange(-180.0, 180.5, 1.0)
    heights = np.interp(fine, _HAIRLINE[:, 0], _HAIRLINE[:, 1])
    smooth = np.convolve(
        np.pad(heights, 3, mode="edge"), np.array([1, 3, 5, 6, 5, 3, 1]) / 24, "valid"
    )
    slope = np.gradient(smooth, np.deg2rad(1.0) * 72.0)
    steepness = np.sqrt(1.0 + slope**2)
    return np.interp(azimuth_deg, fine, smooth), np.interp(azimuth_deg, fine, steepness)


def _ear(scene: Scene, outward: float) -> FloatArray:
    marks = scene.head.landmarks()
    tragion = np.array(marks.right_tragion if outward > 0 else marks.left_tragion)
    turn = np.deg2rad(24.0)
    back = np.array([outward * np.sin(turn), -np.cos(turn), 0.10])
    up = np.array([outward * 0.10, -0.16, 1.0])
    side = np.array([outward * np.cos(turn), np.sin(turn), -0.1 * outward])
    center = tragion + 11.0 * MM * back + 6.0 * MM * up - 3.5 * MM * side
    around = np.linspace(0.0, 2.0 * np.pi, 41)[None, :]
    reach = np.linspace(0.02, 1.0, 14)[:, None]
    narrow = 1.0 - 0.30 * np.clip(-np.sin(around), 0.0, 1.0)  # towards the lobe
    across = 16.0 * reach * np.cos(around) * narrow
    tall = 28.5 * reach * np.sin(around)
    relief = 5.0 * np.exp(-(((reach - 0.86) / 0.14) ** 2)) + 3.0 * reach * np.cos(around)
    relief = relief - 3.5 * np.exp(-((reach / 0.45) ** 2))
    local = (
        center
        + across[..., None] * MM * back
        + tall[..., None] * MM * up
        + relief[..., None] * MM * side
    )
    return _placed(local, scene.pose)


def _neck(pose: HeadPose) -> FloatArray:
    body = body_pose(pose)
    around = np.linspace(0.0, 2.0 * np.pi, 61)

    def ring(sizes: tuple[float, float, float, float], frame: HeadPose) -> FloatArray:
        depth, height, half_width, half_depth = sizes
        local = np.stack(
            [
                half_width * np.sin(around),
                depth + half_depth * np.cos(around),
                np.full_like(around, height),
            ],
            axis=-1,
        )
        return _placed(local * MM, frame)

    top, foot = ring(_NECK_TOP_MM, pose), ring(_NECK_FOOT_MM, body)
    share = np.linspace(0.0, 1.0, 24)[:, None, None]
    waist = 1.0 - 0.05 * np.sin(np.pi * share)
    middle = top.mean(axis=0) + share * (foot.mean(axis=0) - top.mean(axis=0))
    return np.asarray(middle + (top + share * (foot - top) - middle) * waist)


def _clothes(scene: Scene) -> FloatArray:
    heights = np.concatenate(
        [np.linspace(_hem_mm(scene.sitter), -286.0, 16)[:-1], np.linspace(-286.0, -142.0, 40)]
    )
    half_width, front, rear = (
        np.interp(heights, _CLOTHES[:, 0], _CLOTHES[:, k])[:, None] for k in (1, 2, 3)
    )
    around = np.linspace(-np.pi, np.pi, 97)[None, :]
    sine, cosine = np.sin(around), np.cos(around)
    middle, deep = (front + rear) / 2, (front - rear) / 2
    x = half_width * np.sign(sine) * np.abs(sine) ** 0.9
    y = middle + deep * np.sign(cosine) * np.abs(cosine) ** 0.9
    # A neckline drops in front.
    drop = np.clip((heights[:, None] + 200.0) / 58.0, 0.0, 1.0) ** 2
    z = heights[:, None] - drop * (22.0 * np.clip(cosine, 0.0, 1.0) ** 2)
    return _placed(np.stack(np.broadcast_arrays(x, y, z), axis=-1) * MM, body_pose(scene.pose))


def _hem_mm(sitter: Sitter) -> float:
    """Return where the upper body ends under the eyes: at the seat, or at the hips [mm]."""
    seated = sitter.posture == "seated"
    below = sitter.eye_height_m - sitter.seat_height_m if seated else 0.53 * sitter.eye_height_m
    return -max(below / MM, 626.0)


def outward_normals(grid: FloatArray, *, inside: FloatArray | None = None) -> FloatArray:
    """Return unit normals of a grid of points, (rows, columns, 3).

    Parameters
    ----------
    grid : (rows, columns, 3) array
        Points. [m]
    inside : (3,) array or None
        A point behind the surface; the grid's middle if not given. [m]
    """
    along, across = np.gradient(grid, axis=0), np.gradient(grid, axis=1)
    normal = np.cross(across, along)
    size = np.sqrt((normal**2).sum(axis=-1, keepdims=True))
    normal = normal / np.where(size > 0, size, np.nan)
    away = grid - (np.nanmean(grid, axis=(0, 1)) if inside is None else inside)
    flip = np.sign(np.nansum(normal * away))
    return np.asarray(np.nan_to_num(normal * (flip or 1.0)))
