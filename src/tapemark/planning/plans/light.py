"""To what powers does a layout come, and what do ratio and background then lack, in closed form?

Each light is metered once at full power where it matters: at the face, on both cheeks, and on a
few places of the background.  Everything else is a sum.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis import CameraView, Emitter, FlatFace
from tapemark.analysis.face_points import SkinPlaces
from tapemark.geometry import FloatArray, axes_facing, normalize
from tapemark.photometry import (
    DOME,
    FLAT,
    dome_share,
    exact_aperture,
    polygon_illuminance,
    required_flash_exposure,
)
from tapemark.planning.plans.candidates import Layout
from tapemark.studio import Brief, Camera

WHITE_LEVELS, BLACK_LEVEL, AS_SEEN_STOPS = (0.95, 1.6), 0.008, 0.2
SHADOW_STOPS = 0.2  # what shadows of the sitter take off the background, about (assumption)
WHITE_AIM = 1.22  # middle of what counts as clean white
BACK_STEPS = (0.15, 0.5, 0.85)  # places over the frame at which the background is looked at
NATURAL_RATIO = 3.0  # where no mood is wished
MOST_RATIO = 8.0  # a fill is not set weaker than this
UNSEEN_STOPS = -3.5  # under the reading at the face: nobody sees it on a cheek (assumption)
TINY = 1e-12
_TOWARDS_CAMERA = np.array([0.0, 1.0, 0.0])


@dataclass(frozen=True, kw_only=True, eq=False)
class Places:
    """Where light is metered.

    Attributes
    ----------
    face : (3,) array
        Place of the meter at the face. [m]
    camera : (3,) array
        The camera, to which the dome points. [m]
    cheeks : SkinPlaces
        On the right, then as many on the left cheek, world.
    view : CameraView
        The frame, for the background.
    """

    face: FloatArray
    camera: FloatArray
    cheeks: SkinPlaces
    view: CameraView


@dataclass(frozen=True, kw_only=True, eq=False)
class LitUp:
    """What a layout comes to.

    Attributes
    ----------
    powers_stops : (lights,) array
        Powers that meter as wished, before they are held to what the heads can do. [stops]
    iso : int
        ISO speed that suits.
    power, ratio, background : float
        What each lacks. [stops]
    """

    powers_stops: FloatArray
    iso: int
    power: float
    ratio: float
    background: float


@dataclass(frozen=True, kw_only=True, eq=False)
class _Metered:
    """One light at full power: flat receptor and dome, the cheeks, the background [lx·s]."""

    flat: float
    dome: float
    cheeks: FloatArray
    behind: FloatArray


def lit_up(
    layout: Layout, sources: list[Emitter], *, places: Places, brief: Brief, camera: Camera
) -> LitUp:
    """Return powers in closed form, and what power, ratio and background lack.

    Parameters
    ----------
    layout : Layout
        Where things stand.
    sources : list of Emitter
        Its lights at full power.
    places : Places
        Where light is metered.
    brief : Brief
        What is wished.
    camera : Camera
        The camera at the lowest ISO speed.
    """
    rig, wanted = layout.rig, brief.ratio_range
    behind = _on_background(layout, places.view, brief)
    metered = [_metered(source, places, behind) for source in sources]
    front, backs = metered[: 1 + rig.fill], metered[1 + rig.fill :]
    panel = _panel_light(layout, sources[0], places)
    up = _powers(front, panel[1], brief=brief, iso=camera.iso)
    iso, up = _lifted(up, brief=brief, iso=camera.iso)
    back, lack = _background(
        front, backs, np.minimum(up, 0.0), brief=brief, full=_required(brief, iso) * FLAT / DOME
    )
    lack += _on_faces(backs, back, required=_required(brief, iso))
    fills = front[1].flat * 2.0 ** (up[1] - up[0]) if rig.fill else 0.0
    if rig.fill or panel[0]:
        ratio = 1.0 + front[0].flat / max(fills + panel[0], TINY)
    else:
        ratio = _cheek_ratio(front[0].cheeks)
    powers = np.concatenate([up, back])
    lowest = np.array([kit.head.head.lowest_power_stops for kit in rig.kits])
    beyond = np.maximum(up, 0.0).sum() + np.maximum(lowest - powers, 0.0)[: len(up)].sum()
    return LitUp(
        powers_stops=powers,
        iso=iso,
        power=float(beyond),
        ratio=_ratio_off(ratio, wanted),
        background=lack,
    )


def panel_sheet(layout: Layout) -> FlatFace | None:
    """Return the panel of a layout, facing the face; None without one."""
    gear = layout.rig.panel
    if layout.panel is None or gear is None:
        return None
    return FlatFace(
        center=layout.panel,
        axes=axes_facing(layout.targets[0] - layout.panel),
        shape="rectangle",
        width_m=gear.width_m,
        height_m=gear.height_m,
    )


def _metered(source: Emitter, places: Places, behind: FloatArray) -> _Metered:
    towards = normalize(source.face.center - places.face)
    cheeks = places.cheeks
    points = np.concatenate([places.face[None], cheeks.points, behind])
    facing = np.broadcast_to(_TOWARDS_CAMERA, behind.shape)
    normals = np.concatenate([towards[None], cheeks.normals, facing])
    amounts = source.exposure_at(points, normal=normals)
    flat = max(float(amounts[0]), TINY)
    turned = dome_share(towards @ normalize(places.camera - places.face))
    return _Metered(
        flat=flat,
        dome=flat * float(turned),
        cheeks=amounts[1 : 1 + len(cheeks.points)],
        behind=amounts[1 + len(cheeks.points) :],
    )


def _panel_light(layout: Layout, key: Emitter, places: Places) -> tuple[float, float]:
    """Return what flat receptor and dome get from the panel with the key at full power [lx·s]."""
    sheet, gear = panel_sheet(layout), layout.rig.panel
    if sheet is None or gear is None:
        return 0.0, 0.0
    received = key.exposure_at(sheet.center[None], normal=sheet.axes[:, 1][None])[0]
    towards = normalize(sheet.center - places.face)
    factor = polygon_illuminance(sheet.sending_outline(), point=places.face, normal=towards)
    flat = float(gear.reflectance * received / np.pi * factor)
    return flat, flat * float(dome_share(towards @ normalize(places.camera - places.face)))


def _powers(front: list[_Metered], panel: float, *, brief: Brief, iso: int) -> FloatArray:
    """Return powers of key and fill that meter as wished [stops]."""
    wanted = brief.ratio_range
    middle = NATURAL_RATIO if wanted is None else min(wanted[1], MOST_RATIO)
    share = np.ones(len(front))
    if len(front) > 1:
        share[1] = front[0].flat / (front[1].flat * (middle - 1.0))
    together = float((share * [one.dome for one in front]).sum()) + panel
    return np.asarray(np.log2(_required(brief, iso) / max(together, TINY)) + np.log2(share))


def _lifted(up: FloatArray, *, brief: Brief, iso: int) -> tuple[int, FloatArray]:
    """Return the lowest ISO speed at which the heads are strong enough, and their powers."""
    highest = iso if brief.camera.highest_iso is None else brief.camera.highest_iso
    while up.max() > 0.0 and 2 * iso <= highest:
        iso, up = 2 * iso, up - 1.0
    return iso, up


def _required(brief: Brief, iso: int) -> float:
    return float(
        required_flash_exposure(exact_aperture(brief.aperture), iso=float(iso), calibration=DOME)
    )


def _ratio_off(ratio: float, wanted: tuple[float, float, float] | None) -> float:
    """Return how far a ratio lies from what is wished for [stops]."""
    if wanted is None:
        return 0.1 * abs(float(np.log2(ratio / NATURAL_RATIO)))
    low, middle, high = wanted
    outside = max(np.log2(low * 1.05 / ratio), np.log2(ratio * 1.05 / high), 0.0)
    return float(outside) + 0.2 * abs(float(np.log2(ratio / min(middle, 8.0))))


def _cheek_ratio(cheeks: FloatArray) -> float:
    """Return brighter over darker cheek under one light [-]."""
    half = len(cheeks) // 2
    darker, brighter = sorted((float(cheeks[:half].mean()), float(cheeks[half:].mean())))
    return min(max(brighter, TINY) / max(darker, TINY), 64.0)


def _background(
    front: list[_Metered], backs: list[_Metered], up: FloatArray, *, brief: Brief, full: float
) -> tuple[FloatArray, float]:
    """Return powers of the background lights [stops], and what the wish lacks [stops].

    `full` is the light that a perfect white is held at. [lx·s]
    """
    none = np.zeros(len(backs))
    if brief.background == "any":
        return none, 0.0
    backdrop = brief.backdrop
    reflectance = brief.room.wall_reflectance if backdrop is None else backdrop.reflectance
    spilt = np.zeros(len(front[0].behind))
    for one, stops in zip(front, up, strict=True):
        spilt = spilt + 2.0 ** float(stops) * one.behind
    own = sum((one.behind for one in backs), np.zeros(len(spilt)))
    if brief.background == "black":
        level = reflectance * float((spilt + own).mean()) / full
        return none, max(float(np.log2(max(level, 1e-9) / BLACK_LEVEL)), 0.0)
    aim, stops = 1.0 if brief.background == "as seen" else WHITE_AIM / reflectance, 0.0
    if backs and own.mean() > 0.0:
        lacking = max(aim * full - float(spilt.mean()), 0.02 * full)
        stops = float(np.log2(lacking / own.mean()))
    over = np.log2(np.maximum((spilt + own * 2.0 ** min(stops, 0.0)) / full, 1e-9))
    if brief.background == "as seen":
        lack = max(abs(float(over.mean()) - SHADOW_STOPS) - AS_SEEN_STOPS, 0.0)
    else:
        levels, (low, high) = over + np.log2(max(reflectance, 1e-3)), np.log2(WHITE_LEVELS)
        lack = max(low - levels.min(), 0.0) + max(levels.max() - high, 0.0)
    lack += 0.5 * max(stops, 0.0) + 0.1 * float(over.max() - over.min())
    return np.full(len(backs), stops), float(lack)


def _on_faces(backs: list[_Metered], up: FloatArray, *, required: float) -> float:
    """Return by how much lights on the background reach the cheeks, over what is unseen [stops]."""
    lack = 0.0
    for one, stops in zip(backs, up, strict=True):
        strongest = float(one.cheeks.max()) * 2.0 ** min(float(stops), 0.0)
        lack += max(float(np.log2(max(strongest / required, TINY))) - UNSEEN_STOPS, 0.0)
    return 0.7 * lack


def _on_background(layout: Layout, view: CameraView, brief: Brief) -> FloatArray:
    """Return places on the background over the frame, (n, 3) [m]; none where nobody asks."""
    if brief.background == "any":
        return np.zeros((0, 3))
    gap = brief.room.behind_sitter_m if layout.gap_m is None else layout.gap_m
    across, down = np.meshgrid(BACK_STEPS, BACK_STEPS)
    shares = np.stack([across.ravel(), down.ravel()], axis=-1)
    ahead = view.world_at(shares, depth_m=1.0) - view.position
    reach = (-gap - view.position[1]) / np.minimum(ahead[:, 1], -1e-6)
    places = view.position + ahead * reach[:, None]
    places[:, 2] = np.maximum(places[:, 2], 0.05)
    return np.asarray(places)
