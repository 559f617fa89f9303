"""The drawings of the app's main screen, made to be dragged."""

__all__: list[str] = []
