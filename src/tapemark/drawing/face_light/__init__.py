"""Light on the face, zone by zone, as a picture."""

__all__: list[str] = []
