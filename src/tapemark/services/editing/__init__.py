"""Changes to a setup as its text: adding, taking away, moving, typing numbers, undoing."""

__all__: list[str] = []
