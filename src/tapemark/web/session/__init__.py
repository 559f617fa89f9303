"""The session as the app takes it in, reads it and shows it."""

__all__: list[str] = []
