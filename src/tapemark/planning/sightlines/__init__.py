"""Where a light may stand: the map of places, what closes them, and the best open one."""

__all__: list[str] = []
