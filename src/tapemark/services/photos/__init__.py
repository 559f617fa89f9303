"""Photos read one by one, in folders, and as they arrive."""

__all__: list[str] = []
