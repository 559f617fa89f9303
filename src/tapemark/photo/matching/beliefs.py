"""What is believed about the unknowns, and how a measurement changes it.

A belief is a normal distribution over all unknowns, in units of their spreads; what is measured
is taken as linear in them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tapemark.geometry import FloatArray

#: Densities are told against this spread of an edge, so that they have no unit. [mm]
USUAL_MM = 3.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Belief:
    """A normal distribution.

    Attributes
    ----------
    mean : (n,) array
        In spreads of the unknowns.
    covariance : (n, n) array
        The same.
    """

    mean: FloatArray
    covariance: FloatArray

    def after(
        self, value: FloatArray, slope: FloatArray, *, fit: FloatArray, variance: FloatArray
    ) -> tuple[Belief, float]:
        """Return the belief after some differences were measured to be nothing.

        Parameters
        ----------
        value, slope : (m,), (m, n) arrays
            Differences at a fit, and how they change.
        fit : (n,) array
            Where they were taken.
        variance : (m,) array
            Of the measurement.

        Returns
        -------
        Belief
            Afterwards.
        float
            Log density of the measurement, before it was made, over that of `USUAL_MM`.
        """
        away = value + slope @ (self.mean - fit)
        mixed = self.covariance @ slope.T
        total = slope @ mixed + np.diag(variance)
        factor = np.linalg.cholesky(total)
        whitened = np.linalg.solve(factor, np.column_stack([away, mixed.T]))
        pulled = whitened[:, 1:]
        mean = self.mean - pulled.T @ whitened[:, 0]
        size = float(np.log(np.diag(factor)).sum()) - len(value) * float(np.log(USUAL_MM))
        density = -0.5 * float(whitened[:, 0] @ whitened[:, 0]) - size
        return Belief(mean=mean, covariance=self.covariance - pulled.T @ pulled), density


def first_belief(count: int) -> Belief:
    """Return what is believed before anything was measured."""
    return Belief(mean=np.zeros(count), covariance=np.eye(count))
