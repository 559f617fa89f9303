"""Cells of a lattice at the edge of something, resolved into sub-places.

A lattice field is known at cell middles.  Inside a cell it is taken as
linear, with the slopes between the neighbouring cells, so that a cell can be
looked at in several places without tracing again.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.geometry import FloatArray, join_components, split_components


@dataclass(frozen=True, kw_only=True, eq=False)
class EdgeCells:
    """Chosen cells of lattices whose last two axes are rows and columns.

    Attributes
    ----------
    at, up, down, right, left : (cells,) int arrays
        Flat numbers of the cells and of their neighbours.
    row_span, column_span : (cells,) arrays
        Distance between the neighbours: 2 cells, 1 at the border.
    row_steps, column_steps : (places, 1) arrays
        Sub-places as shares of a cell, from -0.5 to 0.5.
    """

    at: np.ndarray
    up: np.ndarray
    down: np.ndarray
    right: np.ndarray
    left: np.ndarray
    row_span: FloatArray
    column_span: FloatArray
    row_steps: FloatArray
    column_steps: FloatArray

    def values(self, field: FloatArray) -> FloatArray:
        """Return a field at every sub-place of every chosen cell, (places, cells)."""
        flat = field.reshape(-1)
        row_slope = (flat[self.up] - flat[self.down]) / self.row_span
        column_slope = (flat[self.right] - flat[self.left]) / self.column_span
        return np.asarray(
            flat[self.at] + self.row_steps * row_slope + self.column_steps * column_slope
        )

    def vectors(self, field: FloatArray) -> FloatArray:
        """Return a field of vectors at every sub-place, (places, cells, 3)."""
        return join_components(*(self.values(part) for part in split_components(field)))


def edge_cells(chosen: np.ndarray, *, sub_places: int) -> EdgeCells:
    """Return chosen cells ready to be resolved.

    Parameters
    ----------
    chosen : (..., rows, columns) bool array
        True for the cells to resolve.
    sub_places : int
        Places along each side of a cell.
    """
    rows, columns = chosen.shape[-2:]
    at = np.flatnonzero(chosen)
    row, column = (at // columns) % rows, at % columns
    up, down = np.minimum(row + 1, rows - 1) - row, np.maximum(row - 1, 0) - row
    right, left = np.minimum(column + 1, columns - 1) - column, np.maximum(column - 1, 0) - column
    steps = (np.arange(sub_places) + 0.5) / sub_places - 0.5
    return EdgeCells(
        at=at,
        up=at + up * columns,
        down=at + down * columns,
        right=at + right,
        left=at + left,
        row_span=(up - down).astype(float),
        column_span=(right - left).astype(float),
        row_steps=np.repeat(steps, sub_places)[:, None],
        column_steps=np.tile(steps, sub_places)[:, None],
    )


def boundaries(label: np.ndarray) -> np.ndarray:
    """Return which cells differ from a neighbour above, below or beside them."""
    edge = np.zeros(label.shape, dtype=bool)
    across = label[..., 1:] != label[..., :-1]
    upright = label[..., 1:, :] != label[..., :-1, :]
    edge[..., 1:] |= across
    edge[..., :-1] |= across
    edge[..., 1:, :] |= upright
    edge[..., :-1, :] |= upright
    return edge
