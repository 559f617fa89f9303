"""What years do to the mannequin's face: fat of childhood, folds, pouches and jowls of age.

Depths are of a face of eighty, or of a child of six; everything is drawn.  All in millimetres of
the reference head.
"""

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.rendering.mannequin.mesh import smoothstep

_CHILD_YEARS, _GROWN_YEARS = 7.0, 17.0
_SMOOTH_YEARS, _FOLDED_YEARS = 26.0, 78.0


def childhood(age_years: float) -> float:
    """Return how much of a child is left: 1 at seven and younger, 0 from seventeen on. [-]"""
    return float(1.0 - smoothstep(_CHILD_YEARS, _GROWN_YEARS, np.array(age_years)))


def age_share(age_years: float) -> float:
    """Return how old a face looks: 0 to the middle twenties, 1 from 78 on. [-]"""
    return float(smoothstep(_SMOOTH_YEARS, _FOLDED_YEARS, np.array(age_years)))


def sag_share(age_years: float) -> float:
    """Return how much flesh has sunk: nothing before the forties, all from 80 on. [-]"""
    return float(smoothstep(40.0, 80.0, np.array(age_years)))


def child_fat(side: FloatArray, up: FloatArray) -> FloatArray:
    """Return how much fuller a child's cheeks and chin are. [mm]"""
    cheek = 2.7 * np.exp(-(((side - 39.0) / 15.0) ** 2 + ((up + 60.0) / 14.0) ** 2))
    bridge = -1.0 * np.exp(-((side / 9.0) ** 2 + ((up + 13.0) / 8.0) ** 2))
    brow = -2.2 * np.exp(-(((side - 30.0) / 17.0) ** 2 + ((up - 16.5) / 6.5) ** 2))
    return np.asarray(cheek + bridge + brow)


def sagging(side: FloatArray, up: FloatArray) -> FloatArray:
    """Return where flesh has sunk to: jowls, hollow cheeks and temples, pouches. [mm]"""
    jowl = 3.6 * np.exp(-(((side - 39.0) / 9.0) ** 2 + ((up + 89.0) / 9.0) ** 2))
    before = -1.8 * np.exp(-(((side - 26.0) / 4.5) ** 2 + ((up + 91.0) / 11.0) ** 2))
    hollow = -2.6 * np.exp(-(((side - 45.0) / 10.0) ** 2 + ((up + 57.0) / 13.0) ** 2))
    temple = -2.4 * np.exp(-(((side - 57.0) / 8.0) ** 2 + ((up - 24.0) / 15.0) ** 2))
    away = np.hypot((side - 31.0) / 1.25, up + 2.0)
    low = 1.0 - smoothstep(-12.0, -6.0, up)
    pouch = 1.3 * np.exp(-(((away - 11.2) / 2.6) ** 2)) * low
    hood = 1.5 * np.exp(-(((side - 42.0) / 7.0) ** 2 + ((up - 10.5) / 4.5) ** 2))
    return np.asarray(jowl + before + hollow + temple + pouch + hood)


def folds(side: FloatArray, up: FloatArray) -> FloatArray:
    """Return the lines of a face, as how deep they are cut in it. [mm]"""
    return np.asarray(
        beside_mouth(side, up)
        + _under_eyes(side, up)
        + _forehead(side, up)
        + _frown(side, up)
        + _crows_feet(side, up)
        + _marionette(side, up)
    )


def beside_mouth(side: FloatArray, up: FloatArray) -> FloatArray:
    """Return the fold from the wing of the nose past the mouth's corner. [mm]"""
    middle = 18.0 - 0.60 * (up + 42.0) - 0.004 * (up + 42.0) ** 2
    run = smoothstep(-78.0, -66.0, up) * (1.0 - smoothstep(-45.0, -38.0, up))
    return np.asarray(2.0 * np.exp(-(((side - middle) / 1.9) ** 2)) * run)


def _under_eyes(side: FloatArray, up: FloatArray) -> FloatArray:
    away = np.hypot((side - 31.0) / 1.25, up + 2.0)
    low = 1.0 - smoothstep(-12.0, -6.0, up)
    return np.asarray(1.4 * np.exp(-(((away - 15.2) / 1.6) ** 2)) * low)


def _forehead(side: FloatArray, up: FloatArray) -> FloatArray:
    total = np.zeros(np.broadcast_shapes(side.shape, up.shape))
    for height, depth in ((34.0, 0.55), (43.0, 0.65), (54.0, 0.5)):
        line = height + 1.4 * np.cos(side / 9.0) - 0.0016 * side**2
        total = total + depth * np.exp(-(((up - line) / 1.2) ** 2))
    return np.asarray(total * (1.0 - smoothstep(26.0, 44.0, side)))


def _frown(side: FloatArray, up: FloatArray) -> FloatArray:
    away = (side - 6.5 - 0.12 * (up - 18.0)) / 1.3
    return np.asarray(0.9 * np.exp(-(away**2 + ((up - 20.0) / 7.0) ** 2)))


def _crows_feet(side: FloatArray, up: FloatArray) -> FloatArray:
    total = np.zeros(np.broadcast_shapes(side.shape, up.shape))
    for slope in (0.42, 0.0, -0.42):
        away = (up + 1.0 - slope * (side - 44.0)) / 1.0
        total = total + 0.75 * np.exp(-(away**2))
    return np.asarray(total * smoothstep(45.5, 49.0, side) * (1.0 - smoothstep(55.0, 60.0, side)))


def _marionette(side: FloatArray, up: FloatArray) -> FloatArray:
    middle = 25.5 - 0.06 * (up + 66.0)
    run = smoothstep(-88.0, -78.0, up) * (1.0 - smoothstep(-70.0, -65.0, up))
    return np.asarray(1.3 * np.exp(-(((side - middle) / 1.6) ** 2)) * run)
