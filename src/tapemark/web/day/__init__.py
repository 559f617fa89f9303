"""The run order as the app keeps and shows it."""

__all__: list[str] = []
