r"""Whether something on legs stands: its centre of mass over the polygon of its feet.

A rigid body on n feet, evenly spread on a circle about the column, tips about the edge
between two neighbouring feet.  It stands on a floor tilted by theta as long as

    x + h tan(theta) <= a

      foot                    a  column to the edge, r cos(pi/n); over a foot r
       /|                     x  centre of mass, along the way it leans
      / |   between the legs  h  its height
     o--|-> a = r cos(pi/n)
      \ |                     r  column to a foot
       \|
      foot
"""

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike

STANDARD_GRAVITY = 9.80665  # [m/s^2], by definition


def center_of_mass(masses_kg: FloatArray, *, places: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return what several things weigh together and where their common centre is.

    Parameters
    ----------
    masses_kg : (..., n) array
        0 or more each. [kg]
    places : (..., n, 3) array
        Their own centres of mass, in one frame. [m]

    Returns
    -------
    total_kg : (...) array
        Mass. [kg]
    center : (..., 3) array
        Centre of mass; NaN where there is no mass. [m]
    """
    total = masses_kg.sum(axis=-1)
    moments = (masses_kg[..., None] * places).sum(axis=-2)
    return total, moments / np.where(total > 0.0, total, np.nan)[..., None]


def support_margin(
    points2d: FloatArray, *, leg_radius: FloatLike, legs: FloatLike, leg_turn: FloatLike
) -> FloatArray:
    """Return how far inside the nearest edge between two feet a point of the floor lies.

    Parameters
    ----------
    points2d : (..., 2) array
        Points (x, y) of the floor, from the foot of the column. [m]
    leg_radius : float or (...) array
        Column to a foot. [m]
    legs : float or (...) array
        Number of legs, evenly spread, 3 or more. [-]
    leg_turn : float or (...) array
        Direction of one leg, from x towards y. [rad]

    Returns
    -------
    (...) array
        Margin, positive inside, negative where it would tip by itself. [m]

    Notes
    -----
    r cos(pi/n) - rho cos(delta): rho from the column, delta from the middle of the nearest
    edge. Inside it is the distance to that edge.
    """
    half = np.pi / np.asarray(legs, dtype=np.float64)
    x, y = points2d[..., 0], points2d[..., 1]
    past_leg = np.mod(np.arctan2(y, x) - leg_turn, 2.0 * half)
    margin: FloatArray = leg_radius * np.cos(half) - np.hypot(x, y) * np.cos(past_leg - half)
    return margin


def tipping_angle(margin: FloatArray, *, height: FloatLike) -> FloatArray:
    """Return the tilt of the floor, about one edge, at which something tips.

    Parameters
    ----------
    margin : (...) array
        Centre of mass inside that edge, on the floor. [m]
    height : (...) array
        Of the centre of mass. [m]

    Returns
    -------
    (...) array
        Angle, negative where it tips on a level floor; NaN where an input is NaN. [rad]

    Notes
    -----
    atan((a - x)/h): static and rigid. A real stand bends and its bag swings, so it tips
    a little earlier.
    """
    return np.arctan2(margin, height)


def tipping_force(margin: FloatArray, *, mass_kg: FloatLike, height: FloatLike) -> FloatArray:
    """Return the level push that tips something about one edge.

    Parameters
    ----------
    margin : (...) array
        Centre of mass inside that edge, on the floor. [m]
    mass_kg : (...) array
        Of the whole. [kg]
    height : (...) array
        Above the floor at which it is pushed, more than 0. [m]

    Returns
    -------
    (...) array
        Force, negative where it tips without one. [N]

    Notes
    -----
    M g (a - x)/h, if the feet do not slide first.
    """
    force: FloatArray = np.asarray(mass_kg * STANDARD_GRAVITY * margin / height)
    return force


def ballast_for_angle(
    margin: FloatArray,
    *,
    mass_kg: FloatLike,
    height: FloatLike,
    angle: float,
    ballast_margin: FloatLike,
    ballast_height: float,
) -> FloatArray:
    """Return the least ballast that lets something stand on a tilted floor.

    Parameters
    ----------
    margin, height : (...) array
        Centre of mass without the ballast: inside the edge, and above the floor. [m]
    mass_kg : (...) array
        Of the whole without the ballast. [kg]
    angle : float
        Tilt of the floor to be stood, about that edge. [rad]
    ballast_margin : (...) array
        Where the ballast hangs: inside the edge. [m]
    ballast_height : float
        Above the floor. [m]

    Returns
    -------
    (...) array
        Mass; 0 where it stands as it is, infinite where no ballast at that place helps. [kg]

    Notes
    -----
    Moments about the edge of the tilted floor: m (a_b - h_b tan) = M (h tan - (a - x)).
    """
    slope = np.tan(angle)
    missing = mass_kg * np.maximum(height * slope - margin, 0.0)
    arm = np.asarray(ballast_margin - ballast_height * slope)
    enough: FloatArray = missing / np.where(arm > 0.0, arm, np.nan)
    return np.where(missing == 0.0, 0.0, np.where(arm <= 0.0, np.inf + missing, enough))
