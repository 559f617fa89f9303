"""Pages to rig from, set in type, as PDF."""

__all__: list[str] = []
