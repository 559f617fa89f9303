"""The set as the app shows it while something is dragged."""

__all__: list[str] = []
