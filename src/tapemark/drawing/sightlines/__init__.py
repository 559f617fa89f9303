"""The map of places of one light, as a picture."""

__all__: list[str] = []
