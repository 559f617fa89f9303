"""What does each light put where it is not meant to, and which grid or flag would cut it?

A light's share of the background is told against the reading at the face; so
is what a light from behind puts on nose and cheeks.  The colour that a gelled
light throws on the background is measured here too.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.backdrop_light import BackdropLight, emitting_samples, surface_face
from tapemark.analysis.background import NO_LIGHT_STOPS, stops_over_key
from tapemark.analysis.emitter import Emitter
from tapemark.analysis.exposure import Exposure
from tapemark.analysis.face_points import skin_at
from tapemark.analysis.hue import hue_word, srgb_bytes
from tapemark.analysis.light_at_places import seen_share
from tapemark.analysis.light_faces import FlatFace
from tapemark.analysis.scene import Scene
from tapemark.anatomy import Body
from tapemark.geometry import (
    FloatArray,
    angle_between,
    dot,
    normalize,
    to_local,
)
from tapemark.photometry import glow_srgb, stops_between
from tapemark.studio import aim_point_m
from tapemark.units import MM

#: Nothing narrower is sold, and each step of a grid is as coarse as this (common practice). [deg]
NARROWEST_GRID_DEG, GRID_STEP_DEG = 10.0, 5.0
#: Where a flag stands: so far from the light, and at most this share of the way to the sitter.
FLAG_FROM_LIGHT_M, FLAG_SHARE = 0.6, 0.4
LEAST_FLAG_M, MOST_FLAG_M, FLAG_MARGIN_M = 0.1, 2.0, 0.03
AIMED_WITHIN_M = 0.3  # of the background: a place that a light aimed at it points to
_ON_BACKGROUND = ("backdrop", "wall behind")
#: Tip and sides of the nose, and the cheeks beside it, as seen from the front.
_SPOTS = MM * np.array([(0.0, -36.0), (7.0, -37.0), (-7.0, -37.0), (36.0, -32.0), (-36.0, -32.0)])
_SCAN = 25  # places along a line over the surface on which a glow is measured


@dataclass(frozen=True, kw_only=True, slots=True)
class FlagPlace:
    """Where a black panel would keep a light off the background.

    Attributes
    ----------
    side : str
        ``camera-left`` or ``camera-right``: on which side of the light's way to the sitter.
    middle_m : tuple of three floats
        Its middle, world. [m]
    width_m, height_m : float
        Its size, upright, square to the light's way to the background. [m]
    from_light_m, to_background_m : tuples of three floats
        The line along which its inner edge stands: edge of the light, edge of what it is to
        shade. [m]
    cuts_share : float
        Share of the light's spill on the background that lies on this side. [-]
    """

    side: str
    middle_m: tuple[float, float, float]
    width_m: float
    height_m: float
    from_light_m: tuple[float, float, float]
    to_background_m: tuple[float, float, float]
    cuts_share: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Spill:
    """One light on the background, and on the face where it comes from behind.

    Attributes
    ----------
    light : str
        Its name.
    meant : bool
        Whether it is aimed at the background.
    stops_over_key : float or None
        Mean over the visible background, shadows counted, against the reading at the face.
        [stops]
    share : float
        Share of all light there. [-]
    face_stops : float or None
        For a light from behind: the brightest of nose and cheeks against the reading at the
        face [stops]; None for others.
    """

    light: str
    meant: bool
    stops_over_key: float | None
    share: float
    face_stops: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Glow:
    """The colour of a gelled light on the background.

    Attributes
    ----------
    light, gel : str
        Names of the light and of its gel.
    color : str
        What its colour is called.
    srgb : three ints
        Its colour on a white backdrop, without other light, as 8-bit sRGB values. [-]
    across_m, up_m : float
        Its brightest place: to camera-left of the sitter mark, and over the floor. [m]
    width_m, height_m : float
        Between the places where it has fallen to half, or the edge of the surface. [m]
    stops_over_others : float
        Against all other light, over the visible background where it leads most. [stops]
    leading_share : float
        Share of the visible background where it outshines all other light. [-]
    """

    light: str
    gel: str
    color: str
    srgb: tuple[int, int, int]
    across_m: float
    up_m: float
    width_m: float
    height_m: float
    stops_over_others: float
    leading_share: float


def spills(scene: Scene, *, light: BackdropLight, reading: Exposure) -> tuple[Spill, ...]:
    """Return what each light that is on puts on the visible background, in the setup's order.

    Parameters
    ----------
    scene : Scene
        Lights and sitter.
    light : BackdropLight
        The light on the background.
    reading : Exposure
        The reading at the face.
    """
    total = max(float(light.total.sum()), 1e-300)
    found = []
    for one in scene.setup.lights:
        index = light.names.index(one.name)
        received = light.received[index]
        if not one.on:
            continue
        aimed = aim_point_m(one, setup=scene.setup)[1]
        behind = float(surface_face(scene).center[1])
        meant = one.aim in _ON_BACKGROUND or bool(aimed < behind + AIMED_WITHIN_M)
        mean = np.array(received.mean()) if len(received) else np.array(0.0)
        over = stops_over_key(mean, scene=scene, reading=reading)
        found.append(
            Spill(
                light=one.name,
                meant=meant,
                stops_over_key=None if over is None else float(over),
                share=float(received.sum()) / total,
                face_stops=_face_stops(scene, scene.emitters[index], reading=reading),
            )
        )
    return tuple(found)


def glows(scene: Scene, *, light: BackdropLight) -> tuple[Glow, ...]:
    """Return the glow of every gelled light that reaches the background with a colour of its own.

    Parameters
    ----------
    scene : Scene
        The lights.
    light : BackdropLight
        The light on the background.
    """
    found = []
    for one in scene.setup.lights:
        index = light.names.index(one.name)
        received = light.received[index]
        if one.gel is None or one.gel.shares is None or not received.any():
            continue
        others = light.total - received
        over = stops_between(received + 1e-300, reference=np.maximum(others, 1e-9))
        place, size = _half_width(scene, scene.emitters[index])
        found.append(
            Glow(
                light=one.name,
                gel=one.gel.label,
                color=hue_word(glow_srgb(one.gel.shares)),
                srgb=srgb_bytes(glow_srgb(one.gel.shares)),
                across_m=place[0],
                up_m=place[1],
                width_m=size[0],
                height_m=size[1],
                stops_over_others=float(min(over.max(), -NO_LIGHT_STOPS)),
                leading_share=float(np.mean(over > 0.0)),
            )
        )
    return tuple(found)


def head_reach_deg(body: Body, emitter: Emitter) -> float:
    """Return how far from a light's axis a person's head reaches, seen from the light [deg]."""
    head = body.only("head").surface(count=8).reshape(-1, 3)
    off = angle_between(head - emitter.face.center, emitter.face.axes[:, 1])
    return float(np.degrees(off.max()))


def grid_within(off_axis_deg: float, *, at_least_deg: float) -> float | None:
    """Return the widest grid, full angle [deg], that sends nothing farther off than an angle.

    Parameters
    ----------
    off_axis_deg : float
        Angle from the axis that is to stay dark. [deg]
    at_least_deg : float
        Angle from the axis that has to stay lit. [deg]

    Examples
    --------
    >>> grid_within(23.0, at_least_deg=8.0), grid_within(23.0, at_least_deg=24.0)
    (45.0, None)
    """
    widest = float(np.floor(2.0 * off_axis_deg / GRID_STEP_DEG) * GRID_STEP_DEG)
    fits = widest >= max(NARROWEST_GRID_DEG, 2.0 * at_least_deg)
    return widest if fits else None


def cutting_grid_deg(scene: Scene, *, light: BackdropLight, name: str) -> float | None:
    """Return the widest grid that keeps a light off the visible background.

    Parameters
    ----------
    scene, light : Scene, BackdropLight
        The sitter, whose head the light has to cover still, and the background.
    name : str
        Of the light, which is aimed at the sitter.

    Returns
    -------
    float or None
        Full angle; None if no grid does both. [deg]
    """
    index = light.names.index(name)
    emitter, lit = scene.emitters[index], light.places[light.received[index] > 0.0]
    if not len(lit):
        return None
    rays = lit - emitter.face.outline()[:, None]
    off = angle_between(rays, emitter.face.axes[:, 1])
    return grid_within(
        float(np.degrees(off.min())), at_least_deg=head_reach_deg(scene.body, emitter)
    )


def cutting_flag(scene: Scene, *, light: BackdropLight, name: str) -> FlagPlace | None:
    """Return the panel that keeps a light off one side of the background, clear of the sitter.

    Parameters
    ----------
    scene, light : Scene, BackdropLight
        The sitter, whom the panel may not shade, and the background.
    name : str
        Of the light.

    Returns
    -------
    FlagPlace or None
        The better of both sides; None if the light reaches neither past the sitter.
    """
    index = light.names.index(name)
    emitter, received = scene.emitters[index], light.received[index]
    source = emitter.face.center
    person = scene.body.only("head", "neck", "trunk").surface().reshape(-1, 3)
    ahead = _level(person.mean(axis=0) - source)
    aside = np.array([ahead[1], -ahead[0], 0.0])
    edge = np.abs((person - source) @ aside / np.maximum((person - source) @ ahead, 1e-3)).max()
    lit = received > 0.02 * received.max(initial=0.0)
    options = []
    for sign in (1.0, -1.0):
        ahead_m = (light.places - source) @ ahead
        beside = sign * (light.places - source) @ aside > 0.5 * edge * ahead_m
        flagged = lit & (ahead_m > 0.0) & beside
        if flagged.any():
            options.append(
                _panel(
                    emitter,
                    light.places,
                    flagged=flagged,
                    person=person,
                    received=received,
                    outwards=aside * sign,
                )
            )
    fit = [one for one in options if one is not None]
    return max(fit, key=lambda one: one.cuts_share) if fit else None


def _panel(
    emitter: Emitter,
    places: FloatArray,
    *,
    flagged: np.ndarray,
    person: FloatArray,
    received: FloatArray,
    outwards: FloatArray,
) -> FlagPlace | None:
    """Return the smallest upright panel through which all light to the flagged places goes.

    It faces the light and ends where the light's way to the person begins.
    """
    source, corners = emitter.face.center, emitter.face.outline()
    away = min(FLAG_FROM_LIGHT_M, FLAG_SHARE * float(np.linalg.norm(person.mean(axis=0) - source)))
    ahead = _level(places[flagged].mean(axis=0) - source)
    for _ in range(3):
        across = np.array([ahead[1], -ahead[0], 0.0])
        across = across * np.sign(across @ outwards)
        plane = _Plane(source=source, ahead=ahead, across=across, away_m=away)
        box = plane.crossings(corners, places)[:, flagged]
        to_person = plane.crossings(corners, person)
        if np.isnan(box).all() or np.isnan(to_person).all():
            return None  # the plane lies beyond what the light is to reach, or not to
        inner, outer, low, high = _edges(box, to_person)
        ahead = _level(away * ahead + across * (inner + outer) / 2)
    if outer - inner < LEAST_FLAG_M:
        return None
    samples, weights = emitting_samples(emitter)
    u, up = np.moveaxis(plane.crossings(samples, places), -1, 0)
    caught = weights @ ((u > inner) & (u < outer) & (up > low) & (up < high))
    start = corners[int(np.argmin((corners - source) @ across))]
    at_edge = plane.world(inner, (low + high) / 2)
    run = (places[0, 1] - start[1]) / min((at_edge - start)[1], -1e-6)
    return FlagPlace(
        side="camera-left" if across[0] > 0 else "camera-right",
        middle_m=_point(plane.world((inner + outer) / 2, (low + high) / 2)),
        width_m=outer - inner,
        height_m=high - low,
        from_light_m=_point(start),
        to_background_m=_point(start + run * (at_edge - start)),
        cuts_share=float((caught * received).sum() / received.sum()),
    )


def _edges(box: FloatArray, person: FloatArray) -> tuple[float, float, float, float]:
    """Return the limits of a panel across and up that catches a box and spares the person [m]."""
    inner = max(float(np.nanmin(box[..., 0])), float(np.nanmax(person[..., 0])) + 2 * FLAG_MARGIN_M)
    outer = min(float(np.nanmax(box[..., 0])) + FLAG_MARGIN_M, inner + MOST_FLAG_M)
    low = float(np.nanmin(box[..., 1])) - FLAG_MARGIN_M
    high = min(float(np.nanmax(box[..., 1])) + FLAG_MARGIN_M, low + MOST_FLAG_M)
    return inner - FLAG_MARGIN_M, outer, low, high


@dataclass(frozen=True, kw_only=True, eq=False)
class _Plane:
    """An upright plane `away_m` ahead of a light."""

    source: FloatArray
    ahead: FloatArray
    across: FloatArray
    away_m: float

    def world(self, across_m: float, up_m: float) -> FloatArray:
        level = self.source + self.away_m * self.ahead + across_m * self.across
        return np.asarray(level + np.array([0.0, 0.0, up_m]))

    def crossings(self, corners: FloatArray, ends: FloatArray) -> FloatArray:
        """Return where lines from corners to ends cross it, (corners, ends, 2).

        Across and up from the source [m]; NaN for a line that ends before.
        """
        starts, span = (corners - self.source)[:, None], ends - corners[:, None]
        along = dot(span, self.ahead)
        share = (self.away_m - dot(starts, self.ahead)) / np.where(
            np.abs(along) < 1e-9, np.nan, along
        )
        share = np.where((share > 0.0) & (share < 1.0), share, np.nan)
        met = starts + share[..., None] * span
        return np.stack([dot(met, self.across), met[..., 2]], axis=-1)


def _level(span: FloatArray) -> FloatArray:
    return normalize(span * np.array([1.0, 1.0, 0.0]))


def _point(place: FloatArray) -> tuple[float, float, float]:
    return float(place[0]), float(place[1]), float(place[2])


def _face_stops(scene: Scene, emitter: Emitter, *, reading: Exposure) -> float | None:
    """Return what a light from behind puts on nose and cheeks against the reading [stops]."""
    pose = scene.pose
    towards = to_local(emitter.face.center, origin=pose.origin, axes=pose.axes)
    if towards[1] > 0.0 or reading.aperture is None:
        return None
    skin = skin_at(scene.head, _SPOTS[:, 0], _SPOTS[:, 1]).in_world(pose)
    lit = emitter.exposure_at(skin.points, normal=skin.normals)
    if lit.any():
        lit = lit * seen_share(scene, emitter, places=skin.points, normals=skin.normals)
    over = stops_over_key(lit, scene=scene, reading=reading)
    return None if over is None else float(over.max())


def _half_width(scene: Scene, emitter: Emitter) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the brightest place on the surface and how wide and high the light is there [m]."""
    face = surface_face(scene)
    half = np.array([face.width_m, face.height_m]) / 2
    rough = np.linspace(-1.0, 1.0, 13)
    x, z = np.meshgrid(rough * half[0], rough * half[1], indexing="ij")
    found = np.argmax(_on_surface(emitter, face, x.ravel(), z.ravel()))
    peak = np.array([x.ravel()[found], z.ravel()[found]])
    for step in (half / 6, half / 24):
        offsets = np.linspace(-1.0, 1.0, 9)
        x, z = np.meshgrid(peak[0] + offsets * step[0], peak[1] + offsets * step[1], indexing="ij")
        x, z = np.clip(x, -half[0], half[0]), np.clip(z, -half[1], half[1])
        found = np.argmax(_on_surface(emitter, face, x.ravel(), z.ravel()))
        peak = np.array([x.ravel()[found], z.ravel()[found]])
    sizes = []
    for axis in (0, 1):
        line = np.repeat(peak[None], 2 * _SCAN, axis=0)
        line[:, axis] = np.concatenate(
            [
                np.linspace(-half[axis], peak[axis], _SCAN),
                np.linspace(peak[axis], half[axis], _SCAN),
            ]
        )
        values = _on_surface(emitter, face, line[:, 0], line[:, 1])
        sizes.append(_width_at_half(line[:, axis], values))
    return (
        (float(face.center[0] + peak[0]), float(face.center[2] + peak[1])),
        (sizes[0], sizes[1]),
    )


def _on_surface(emitter: Emitter, face: FlatFace, x: FloatArray, z: FloatArray) -> FloatArray:
    places = face.center + x[:, None] * face.axes[:, 0] + z[:, None] * face.axes[:, 2]
    return emitter.exposure_at(places, normal=face.axes[:, 1])


def _width_at_half(along: FloatArray, values: FloatArray) -> float:
    """Return between where values on both sides of a peak in the middle fall to its half [m]."""
    rising, falling = slice(0, _SCAN), slice(_SCAN, None)
    half = values.max() / 2.0
    low = np.interp(half, np.maximum.accumulate(values[rising]), along[rising])
    high = np.interp(half, np.maximum.accumulate(values[falling][::-1]), along[falling][::-1])
    return float(high - low)
