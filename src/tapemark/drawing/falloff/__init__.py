"""How light falls off across the set, as a picture."""

__all__: list[str] = []
