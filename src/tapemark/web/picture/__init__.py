"""The rendered picture: its socket, and what the app's processes compute for it."""

__all__: list[str] = []
