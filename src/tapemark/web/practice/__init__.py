"""Practice on the screen: what the app's processes make for it."""

__all__: list[str] = []
