"""What colour has the light on the face and behind it, and how far apart are they?

Every emitter's light is traced back to the lights, windows, screens and lamps
that made it; those of one colour temperature are put together, and different
ones are mixed as tristimulus values.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tapemark.analysis.exposure import ROOM_LAMPS, Exposure
from tapemark.analysis.scene import Scene
from tapemark.photometry import (
    HIGHEST_K,
    LOWEST_K,
    black_body_xyz,
    color_temperature,
    glow_srgb,
    kelvin_from_mired,
    mired_from_kelvin,
    mired_shift,
)
from tapemark.studio import Gel

NOMINAL_DAYLIGHT_K = 5500.0  # white balance where there is no key, [cine-manual-color]
#: Below this the mean in mired stands for the mixture, which it misses by 2.5 mired at most:
#: nobody sees that. The colour library is not loaded for less. [mired]
MEAN_WILL_DO_MIRED = 5.0
#: A deep colour counts as this far from the key's: farther than any sheet for a colour
#: temperature shifts (assumption). [mired]
DEEP_PULL_MIRED = 250.0


@dataclass(frozen=True, kw_only=True, slots=True)
class MixedColor:
    """The light at one place.

    Attributes
    ----------
    color_k : float
        Correlated colour temperature, lights with a deep colour left out. [K]
    duv : float
        How far it is off the black bodies: pinkish below 0. [-]
    mired_from_white : float
        Against the white balance, warmer positive. [mired]
    exposure_lx_s : float
        Light it is made of, deep colours left out. [lx·s]
    deep_share : float
        Share of all light there that has a deep colour, 0 to 1. [-]
    leading : str
        The source that colours it most, deep colours counted: the farthest from the key's
        colour for its share; empty without one.
    leading_share : float
        Its share of all light there, 0 to 1. [-]
    off_key : str
        The same among the sources of a colour temperature.
    off_key_share : float
        Its share of all light there, 0 to 1. [-]
    """

    color_k: float
    duv: float
    mired_from_white: float
    exposure_lx_s: float
    deep_share: float
    leading: str
    leading_share: float
    off_key: str
    off_key_share: float


@dataclass(frozen=True, kw_only=True, slots=True)
class SourceColor:
    """The colour of one light, window, screen or of the room's lamps.

    Attributes
    ----------
    name : str
        What it is called.
    bare_k : float
        Colour temperature without a gel. [K]
    color_k : float or None
        With its gel; None for a deep colour, which has none. [K]
    mired_from_white : float or None
        Against the white balance, warmer positive. [mired]
    gel : str
        Its gel; empty without one.
    glow : three floats or None
        sRGB colour of a deep-coloured light on a white backdrop, 0 to 1.
    face_share, shadow_share, background_share : float
        Its share of the light at the face, on the face's shadow side and on the background,
        its bounces included. [-]
    """

    name: str
    bare_k: float
    color_k: float | None
    mired_from_white: float | None
    gel: str
    glow: tuple[float, float, float] | None
    face_share: float
    shadow_share: float
    background_share: float


@dataclass(frozen=True, kw_only=True, slots=True)
class LightColor:
    """Colour of the light in a scene.

    Attributes
    ----------
    white_balance_k : float
        As the camera is set, else that of the key. [K]
    white_balance_stated : bool
        Whether the camera's was stated.
    key : str
        The source of a colour temperature that gives most light at the face; empty without.
    sources : tuple of SourceColor
        Lights, windows, screens, the room's lamps, those that are off included.
    face, lit_side, shadow_side, background : MixedColor or None
        None where there is no light but that of deep colours.
    shadow_from_lit_mired, background_from_face_mired : float or None
        Differences, warmer positive. [mired]
    shadow_to_lit : float or None
        All light on the shadow side against all on the lit one [-]; None without any.
    """

    white_balance_k: float
    white_balance_stated: bool
    key: str
    sources: tuple[SourceColor, ...]
    face: MixedColor | None
    lit_side: MixedColor | None
    shadow_side: MixedColor | None
    background: MixedColor | None
    shadow_from_lit_mired: float | None
    background_from_face_mired: float | None
    shadow_to_lit: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class _Source:
    bare_k: float
    color_k: float | None
    gel: Gel | None


def light_color(
    scene: Scene,
    *,
    reading: Exposure,
    background: Mapping[str, float] | None = None,
    lit_side: Mapping[str, float] | None = None,
    shadow_side: Mapping[str, float] | None = None,
) -> LightColor:
    """Return the colour of the light at the face and behind it.

    Parameters
    ----------
    scene : Scene
        Sitter, camera and emitters.
    reading : Exposure
        The light at the face from each emitter.
    background, lit_side, shadow_side : mapping, optional
        Luminous exposure on the background and on the two sides of the face, by the name of
        the emitter [lx·s]. Without the sides, all light reaches the lit one, and all but the
        key's the other.

    Notes
    -----
    Gels count by their shift, whatever the light behind them. Walls, panels and backdrops are
    taken as neutral. A flash drifts by some 400 K over its range of power, and modifiers
    and the room shift it by up to 600 K: all told ±20 mired.

    References
    ----------
    [flash-color] for the drift, [ohno-2013] for the temperature of a mixture.
    """
    sources, room = _sources(scene), scene.setup.room
    amounts = {one.name: one.exposure_lx_s for one in reading.lights}
    amounts[ROOM_LAMPS] = room.ambient_lx * scene.setup.camera.shutter_s
    at_face = _by_source(amounts, scene)
    plain = [name for name in at_face if sources[name].color_k is not None]
    key = max(plain, key=lambda name: at_face[name], default="")
    key_k = sources[key].color_k if key else None
    stated = scene.setup.camera.white_balance_k
    white_k = stated or key_k or NOMINAL_DAYLIGHT_K
    behind = _by_source(background or {}, scene)
    rest = {name: amount for name, amount in at_face.items() if name != key}

    def mixed(amounts: Mapping[str, float]) -> MixedColor | None:
        return _mixed(amounts, sources, white_k=white_k, key_k=key_k or white_k)

    face, back = mixed(at_face), mixed(behind)
    on_lit = at_face if lit_side is None else _by_source(lit_side, scene)
    in_shadow = rest if shadow_side is None else _by_source(shadow_side, scene)
    lit, shadow, on_lit_side = mixed(on_lit), mixed(in_shadow), sum(on_lit.values())
    return LightColor(
        white_balance_k=white_k,
        white_balance_stated=stated is not None,
        key=key,
        sources=tuple(
            _told(name, one, white_k=white_k, face=at_face, shadow=in_shadow, background=behind)
            for name, one in sources.items()
        ),
        face=face,
        lit_side=lit,
        shadow_side=shadow,
        background=back,
        shadow_from_lit_mired=_between(lit, shadow),
        background_from_face_mired=_between(face, back),
        shadow_to_lit=sum(in_shadow.values()) / on_lit_side if on_lit_side > 0.0 else None,
    )


def _sources(scene: Scene) -> dict[str, _Source]:
    """Return the colour of everything that makes light, by name."""
    setup = scene.setup
    found = {one.name: _gelled(one.head.color_k, one.gel) for one in setup.lights}
    found |= {one.name: _gelled(one.color_k, None) for one in setup.windows}
    found |= {one.name: _gelled(one.color_k, None) for one in setup.screens}
    if setup.room.ambient_lx > 0:
        found[ROOM_LAMPS] = _gelled(setup.room.ambient_color_k, None)
    return found


def _gelled(bare_k: float, gel: Gel | None) -> _Source:
    """Return a source behind its gel, kept within what has a colour temperature."""
    if gel is not None and gel.shares is not None:
        return _Source(bare_k=bare_k, color_k=None, gel=gel)
    mired = float(mired_from_kelvin(bare_k)) + (gel.shift_mired if gel is not None else 0.0)
    bounded = min(
        max(mired, float(mired_from_kelvin(HIGHEST_K))), float(mired_from_kelvin(LOWEST_K))
    )
    return _Source(bare_k=bare_k, color_k=float(kelvin_from_mired(bounded)), gel=gel)


def _by_source(amounts: Mapping[str, float], scene: Scene) -> dict[str, float]:
    """Return amounts of light by what made it; a lit surface passes on what it gets."""
    lit = {one.name: one for one in scene.emitters if one.kind not in ("light", "window", "screen")}
    found: dict[str, float] = {}
    for name, amount in amounts.items():
        surface = lit.get(name)
        parts = (
            {name: 1.0}
            if surface is None
            else dict(zip(surface.fed_by, surface.fed_shares, strict=True))
        )
        for source, share in parts.items():
            if amount * share > 0.0:
                found[source] = found.get(source, 0.0) + amount * share
    return found


def _mixed(
    amounts: Mapping[str, float], sources: Mapping[str, _Source], *, white_k: float, key_k: float
) -> MixedColor | None:
    """Return the mixture of light at one place."""
    by_color: dict[float, float] = {}
    pulls: dict[str, float] = {}
    for name, amount in amounts.items():
        color_k = sources[name].color_k
        if color_k is not None:
            by_color[color_k] = by_color.get(color_k, 0.0) + amount
            pulls[name] = amount * abs(float(mired_shift(key_k, to_k=color_k)))
    plain, total = sum(by_color.values()), sum(amounts.values())
    if plain <= 0.0:
        return None
    deep = {name: DEEP_PULL_MIRED * one for name, one in amounts.items() if name not in pulls}
    color_k, duv = mixture(by_color)
    leading, off_key = _strongest({**pulls, **deep}), _strongest(pulls)
    return MixedColor(
        color_k=color_k,
        duv=duv,
        mired_from_white=float(mired_shift(white_k, to_k=color_k)),
        exposure_lx_s=plain,
        deep_share=sum(amounts[name] for name in deep) / total,
        leading=leading,
        leading_share=_share(leading, amounts),
        off_key=off_key,
        off_key_share=_share(off_key, amounts),
    )


def _strongest(pulls: Mapping[str, float]) -> str:
    """Return what pulls a colour most; empty where nothing does."""
    name = max(pulls, key=lambda name: pulls[name], default="")
    return name if name and pulls[name] > 0.0 else ""


def mixture(amounts: Mapping[float, float]) -> tuple[float, float]:
    """Return colour temperature [K] and Duv of light of several colour temperatures.

    Parameters
    ----------
    amounts : mapping of float to float
        Amount of light, 0 or more and not 0 altogether, by its colour temperature [K], 1000 to
        40 000 K; any unit of the same photometric quantity.

    Notes
    -----
    Where the mean in mired is less than `MEAN_WILL_DO_MIRED` off the strongest colour it is the
    answer; the mixture proper is then within 2 mired of it (2000 to 12 000 K).
    """
    present = sorted((one, amount) for one, amount in amounts.items() if amount > 0.0)
    each_k, weights = np.array(present).T
    weights = weights / weights.sum()
    strongest = each_k[np.argmax(weights)]
    apart = mired_shift(strongest, to_k=each_k)
    if weights @ np.abs(apart) < MEAN_WILL_DO_MIRED:
        return float(kelvin_from_mired(mired_from_kelvin(strongest) + weights @ apart)), 0.0
    color_k, duv = color_temperature(weights @ np.array([_xyz(float(one)) for one in each_k]))
    return float(color_k), float(duv)


@lru_cache(maxsize=256)
def _xyz(color_k: float) -> tuple[float, float, float]:
    x, y, z = black_body_xyz(color_k)
    return float(x), float(y), float(z)


def _told(
    name: str,
    source: _Source,
    *,
    white_k: float,
    face: Mapping[str, float],
    shadow: Mapping[str, float],
    background: Mapping[str, float],
) -> SourceColor:
    deep = None if source.gel is None else source.gel.shares
    return SourceColor(
        name=name,
        bare_k=source.bare_k,
        color_k=source.color_k,
        mired_from_white=None
        if source.color_k is None
        else float(mired_shift(white_k, to_k=source.color_k)),
        gel="" if source.gel is None else source.gel.label,
        glow=None if deep is None else glow_srgb(deep),
        face_share=_share(name, face),
        shadow_share=_share(name, shadow),
        background_share=_share(name, background),
    )


def _share(name: str, amounts: Mapping[str, float]) -> float:
    total = sum(amounts.values())
    return amounts.get(name, 0.0) / total if total > 0.0 else 0.0


def _between(start: MixedColor | None, end: MixedColor | None) -> float | None:
    """Return how much warmer the second is [mired]."""
    if start is None or end is None:
        return None
    return float(mired_shift(start.color_k, to_k=end.color_k))
