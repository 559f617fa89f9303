"""Tables of the reference head: sections, profile, hills and hollows, in millimetres.

Written for the measures in `REFERENCE`; `head.py` scales them.  Heights count
up from the pupils, depths forward from the corneas.

References
----------
Sellion, glabella, nose tip, subnasale and menton: [ansur88] headboard rows
with the cornea placed behind sellion as in [exophthalmometry].  Everything
between these points is our own drawing.
"""

from functools import lru_cache

import numpy as np

from tapemark.geometry import FloatArray

STATION_STEP_MM = 0.5  # step of the tables made dense
REFERENCE = {
    "head_breadth": 151.0,
    "bizygomatic": 138.0,
    "head_length": 195.0,
    "face_height": 118.0,
    "nose_protrusion": 20.0,
    "interpupillary": 63.0,
}

#: Height; half width; depth of the front (nose and lips left out), of the
#: widest place and of the rear.  Below the cheeks the widest place moves
#: forward along the edge of the jaw, from its corner to the chin.
STATIONS = np.array(
    [
        (115.0, 0.0, -75.0, -75.0, -75.0),
        (112.0, 22.0, -50.0, -75.0, -101.0),
        (106.0, 38.0, -29.0, -76.0, -123.0),
        (96.0, 51.5, -10.5, -77.0, -144.0),
        (82.0, 62.5, 4.5, -78.0, -160.0),
        (66.0, 70.0, 13.0, -79.0, -169.0),
        (48.0, 74.5, 17.0, -80.0, -173.0),
        (32.0, 75.5, 18.2, -80.0, -172.0),
        (18.0, 74.5, 17.6, -79.0, -169.0),
        (4.0, 72.5, 15.6, -78.0, -164.0),
        (-16.0, 69.5, 14.2, -76.0, -152.0),
        (-30.0, 67.0, 14.4, -73.0, -142.0),
        (-46.0, 64.0, 15.4, -69.0, -132.0),
        (-60.0, 60.5, 15.8, -64.0, -122.0),
        (-74.0, 55.5, 14.6, -58.0, -112.0),
        (-88.0, 48.5, 11.4, -49.0, -100.0),
        (-100.0, 39.5, 6.0, -39.0, -86.0),
        (-109.0, 29.5, -1.5, -31.0, -72.0),
        (-116.0, 18.0, -12.0, -26.0, -58.0),
        (-120.0, 0.0, -30.0, -30.0, -30.0),
    ]
)[::-1]

FRONT_EXPONENT = 2.25
REAR_EXPONENT = 2.0

#: Midline from chin to forehead: height, depth, and how wide it reaches.
PROFILE = np.array(
    [
        (86.0, 0.7, 40.0),
        (70.0, 11.4, 40.0),
        (58.0, 16.8, 42.0),
        (44.0, 20.0, 42.0),
        (32.0, 21.9, 30.0),
        (25.0, 22.6, 19.0),
        (19.0, 22.7, 12.5),
        (11.0, 21.4, 9.0),
        (3.0, 20.0, 7.6),
        (-5.0, 22.4, 8.0),
        (-14.0, 27.4, 8.4),
        (-23.0, 33.6, 9.6),
        (-30.0, 38.6, 11.0),
        (-35.0, 41.4, 11.8),
        (-38.0, 42.0, 12.0),
        (-41.0, 41.0, 11.6),
        (-43.6, 37.6, 10.0),
        (-46.0, 32.0, 8.0),
        (-48.5, 26.5, 10.0),
        (-52.0, 25.4, 17.0),
        (-56.0, 25.9, 22.0),
        (-59.5, 27.4, 22.5),
        (-62.3, 28.3, 22.5),
        (-64.6, 27.4, 23.0),
        (-66.2, 25.2, 24.0),
        (-67.8, 25.8, 23.0),
        (-70.5, 27.0, 20.5),
        (-73.8, 25.4, 18.5),
        (-78.0, 21.4, 19.0),
        (-82.5, 19.4, 20.0),
        (-88.0, 19.9, 19.0),
        (-94.0, 21.2, 18.0),
        (-99.0, 21.0, 18.0),
        (-104.0, 18.8, 18.0),
        (-108.5, 14.6, 18.0),
        (-112.0, 10.0, 18.0),
        (-115.0, 5.0, 18.0),
        (-117.5, -4.0, 18.0),
        (-120.0, -30.0, 18.0),
    ]
)[::-1]
NOSE_ROOT = (3.0, 20.0)  # height and depth: the nose rises over the line
NOSE_FOOT = (-48.5, 26.5)  # from its root to its foot, times the protrusion

#: Name, side, height; rise; half widths across and up; slope and bend of its
#: middle line (rise of the height per mm and mm² away from the nose).
HILLS = (
    ("inner corner", 17.0, 4.0, -9.0, 7.0, 10.0, 0.0, 0.0),
    ("under the brow", 34.0, 7.0, -6.4, 14.0, 6.6, 0.0, -0.006),
    ("eyeball", 32.0, -1.5, 2.6, 10.5, 8.0, 0.0, 0.0),
    ("socket", 32.0, -3.0, -5.6, 15.0, 10.5, 0.0, 0.0),
    ("brow", 34.0, 16.5, 3.4, 15.0, 5.2, 0.02, -0.008),
    ("outer rim of the socket", 51.0, 2.0, 2.6, 6.5, 11.0, 0.0, 0.0),
    ("tear trough", 25.0, -14.5, -1.5, 9.0, 3.4, -0.35, 0.0),
    ("cheekbone", 45.0, -25.0, 4.2, 13.0, 10.5, 0.30, 0.0),
    ("cheek", 33.0, -46.0, 3.0, 13.0, 14.0, 0.0, 0.0),
    ("fold beside the mouth", 27.0, -54.0, -0.7, 6.0, 12.0, -0.9, 0.0),
    ("nose wing", 13.2, -40.5, 8.4, 4.8, 5.6, 0.0, 0.0),
    ("behind the wing", 20.0, -40.0, -2.0, 4.0, 7.0, 0.0, 0.0),
    ("nostril", 7.0, -46.2, -2.0, 3.6, 2.4, 0.0, 0.0),
    ("corner of the mouth", 26.0, -64.6, -1.6, 5.0, 4.6, 0.0, 0.0),
    ("beside the chin", 22.0, -92.0, -1.2, 7.0, 8.0, 0.0, 0.0),
    ("temple", 60.0, 24.0, -2.0, 9.0, 18.0, 0.0, 0.0),
    ("jaw muscle", 52.0, -66.0, 2.2, 8.0, 15.0, 0.0, 0.0),
)


@lru_cache(maxsize=1)
def dense_stations() -> tuple[FloatArray, ...]:
    """Return the station table resampled smoothly: heights, then each column [mm]."""
    heights = STATIONS[:, 0]
    dense = np.arange(heights[0], heights[-1] + STATION_STEP_MM / 2, STATION_STEP_MM)
    half_width, *depths = (_hermite(dense, heights, STATIONS[:, k]) for k in (1, 2, 3, 4))
    return (dense, np.maximum(half_width, 1e-3), *depths)


@lru_cache(maxsize=1)
def dense_profile() -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the midline resampled smoothly: height, depth, reach [mm]."""
    heights = PROFILE[:, 0]
    dense = np.arange(heights[0], heights[-1], STATION_STEP_MM)
    depth, reach = (_hermite(dense, heights, PROFILE[:, k]) for k in (1, 2))
    return dense, depth, reach


def _hermite(at: FloatArray, knots: FloatArray, values: FloatArray) -> FloatArray:
    """Return a monotone-safe cubic Hermite interpolation (Fritsch-Carlson limited)."""
    step, slope = np.diff(knots), np.diff(values) / np.diff(knots)
    tangent = np.concatenate([[slope[0]], (slope[:-1] + slope[1:]) / 2, [slope[-1]]])
    same = np.concatenate([[True], slope[:-1] * slope[1:] > 0, [True]])
    limit = 3 * np.minimum(np.abs(np.r_[slope, slope[-1]]), np.abs(np.r_[slope[0], slope]))
    tangent = np.where(same, np.clip(tangent, -limit, limit), 0.0)
    cell = np.clip(np.searchsorted(knots, at, side="right") - 1, 0, len(step) - 1)
    t = np.clip((at - knots[cell]) / step[cell], 0.0, 1.0)
    low, high = values[cell], values[cell + 1]
    rise = step[cell] * (tangent[cell] * (t - 2 * t**2 + t**3) + tangent[cell + 1] * (t**3 - t**2))
    return np.asarray(low + (high - low) * (3 * t**2 - 2 * t**3) + rise)
