"""What is a colour called?"""

import colorsys

#: Where each hue ends, after the arcs that the names of sRGB's corners stand for (assumption).
#: [deg]
_HUES = (
    (15.0, "red"),
    (45.0, "orange"),
    (70.0, "yellow"),
    (165.0, "green"),
    (200.0, "cyan"),
    (260.0, "blue"),
    (285.0, "violet"),
    (325.0, "magenta"),
    (345.0, "pink"),
    (360.0, "red"),
)
PALE_SATURATION = 0.3  # below, a colour is a tint of white (assumption) [-]


def srgb_bytes(srgb: tuple[float, float, float]) -> tuple[int, int, int]:
    """Return sRGB values of 0 to 1 as bytes.

    Examples
    --------
    >>> srgb_bytes((0.0, 0.5, 1.0))
    (0, 128, 255)
    """
    red, green, blue = (int(255.0 * one + 0.5) for one in srgb)
    return red, green, blue


def hue_word(srgb: tuple[float, float, float]) -> str:
    """Return the name of a colour, its strength and brightness left out.

    Parameters
    ----------
    srgb : three floats
        sRGB values, 0 to 1. [-]

    Examples
    --------
    >>> hue_word((0.1, 0.2, 1.0)), hue_word((1.0, 0.9, 0.9))
    ('blue', 'nearly white')
    """
    hue, saturation, _ = colorsys.rgb_to_hsv(*srgb)
    if saturation < PALE_SATURATION:
        return "nearly white"
    return next(name for end, name in _HUES if hue * 360.0 <= end)
