"""A day of unknown wearers: who they are, what their lenses show, which share is clear."""

__all__: list[str] = []
