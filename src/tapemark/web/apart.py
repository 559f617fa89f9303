"""Names that are read from the right, set apart: as `tapemark.units.apart` does it everywhere."""

from tapemark.units.apart import apart, names_apart

__all__ = ["apart", "names_apart"]
