"""The first visit: a brief in five steps, and the plans to choose from."""

__all__: list[str] = []
