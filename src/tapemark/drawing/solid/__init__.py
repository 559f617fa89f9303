"""The set as a solid model for other viewers."""

__all__: list[str] = []
