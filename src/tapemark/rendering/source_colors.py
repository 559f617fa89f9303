"""The colour of every source as the camera records it, its white balance set.

Light of the colour temperature that the camera is set to comes out neutral. Everything else is
adapted as an eye would (Bradford) and kept at its luminance, so that colour changes no reading.
"""

from collections.abc import Mapping

import numpy as np

from tapemark.analysis import LightColor
from tapemark.geometry import FloatArray
from tapemark.rendering.black_bodies import black_body_color
from tapemark.rendering.parts import LUMINANCE, Rgb
from tapemark.studio import Setup

#: Cone responses of the Bradford adaptation and linear sRGB, from CIE XYZ (from memory).
_BRADFORD = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)
_SRGB = np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]])
_D65 = np.array([0.95047, 1.0, 1.08883])
ROOM_LAMPS = "room lamps"


def source_colors(setup: Setup, *, color: LightColor) -> dict[str, Rgb]:
    """Return the colour of every light, window, screen and of the room's lamps, by name.

    Parameters
    ----------
    setup : Setup
        For the gels.
    color : LightColor
        Colour temperatures and the white balance.

    Returns
    -------
    dict of str to three floats
        Linear sRGB of luminance 1. [-]
    """
    gels = {one.name: one.gel for one in setup.lights}
    found: dict[str, Rgb] = {}
    for one in color.sources:
        gel = gels.get(one.name)
        kelvin = one.color_k if one.color_k is not None else one.bare_k
        rgb = balanced(kelvin, white_k=color.white_balance_k)
        if one.color_k is None and gel is not None and gel.shares is not None:
            rgb = rgb * np.array(gel.shares)
        found[one.name] = _of_luminance_one(rgb)
    return found


def balanced(kelvin: float, *, white_k: float) -> FloatArray:
    """Return light of a colour temperature as a camera set to another records it, (3,).

    Linear sRGB; negative parts, of colours beyond sRGB, are set to 0. [-]
    """
    own, white = (black_body_color(one) for one in (kelvin, white_k))
    gains = (_BRADFORD @ _D65) / (_BRADFORD @ white)
    adapted = np.linalg.solve(_BRADFORD, gains * (_BRADFORD @ own))
    recorded: FloatArray = np.maximum(_SRGB @ adapted, 0.0)
    return recorded


def neutral(names: Mapping[str, Rgb]) -> dict[str, Rgb]:
    """Return the same names, every one white."""
    return dict.fromkeys(names, (1.0, 1.0, 1.0))


def _of_luminance_one(rgb: FloatArray) -> Rgb:
    red, green, blue = (float(one) for one in rgb / max(float(rgb @ LUMINANCE), 1e-6))
    return red, green, blue
