"""A picture as the sensor has it, and how taking it and whoever waits for it talk."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from tapemark.geometry import FloatArray

#: ``first look``: in large pixels; ``samples``: as traced, the lenses still missing;
#: ``picture``: with all that is to be seen, though perhaps not the last.
Step = Literal["first look", "samples", "picture"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Shot:
    """A picture as the sensor has it.

    Attributes
    ----------
    values : (rows, columns, 3) array
        Linear; 1.0 is a matt white in light that meters right. [-]
    samples : int
        Paths for each pixel that are in it.
    complete : bool
        False where it was stopped before all were, or more are to come.
    step : str
        How far it is.
    share : float
        Of the work that is done, 0 to 1. [-]
    """

    values: np.ndarray
    samples: int
    complete: bool
    step: Step = "picture"
    share: float = 1.0


@dataclass(kw_only=True, eq=False)
class Watching:
    """How taking a picture and whoever waits for it talk.

    Attributes
    ----------
    tell : callable
        Told in a few words how far it is.
    show : callable
        Shown the picture as it is by then: linear values.
    stopped : callable
        Asked between passes whether to end well with what there is.
    """

    tell: Callable[[str], None] = field(default=lambda text: None)
    show: Callable[[FloatArray], None] = field(default=lambda values: None)
    stopped: Callable[[], bool] = field(default=lambda: False)
