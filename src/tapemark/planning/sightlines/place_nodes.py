"""A few places of a sheet that stand for all: what changes smoothly is looked at there alone."""

from dataclasses import dataclass

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.planning.sightlines.place_rows import PlaceRows


@dataclass(frozen=True, kw_only=True, eq=False)
class PlaceNodes:
    """Coarse places of one sheet, and the weights that give all places from them.

    Attributes
    ----------
    rows, sides : int arrays
        Their numbers.
    row_weights, side_weights : (rows, nodes), (sides, nodes) arrays
        Weights of linear interpolation. [-]
    """

    rows: np.ndarray
    sides: np.ndarray
    row_weights: FloatArray
    side_weights: FloatArray

    @property
    def flat(self) -> tuple[np.ndarray, np.ndarray]:
        """Numbers of row and side of each node."""
        row, side = np.meshgrid(self.rows, self.sides, indexing="ij")
        return row.ravel(), side.ravel()

    def everywhere(self, values: FloatArray) -> FloatArray:
        """Return values (..., nodes) at all places, (..., rows, sides)."""
        grid = values.reshape(*values.shape[:-1], len(self.rows), len(self.sides))
        return np.asarray(self.row_weights @ grid @ self.side_weights.T)


def place_nodes(grid: PlaceRows, *, rows: int, sides: int) -> PlaceNodes:
    """Return so many rows and sides of nodes over a sheet."""
    at = [
        np.rint(np.linspace(0, size - 1, count)).astype(int)
        for size, count in zip(grid.shape, (rows, sides), strict=True)
    ]
    weights = [
        np.stack([np.interp(np.arange(size), own, one) for one in np.eye(len(own))], axis=1)
        for size, own in zip(grid.shape, at, strict=True)
    ]
    return PlaceNodes(rows=at[0], sides=at[1], row_weights=weights[0], side_weights=weights[1])
