"""Figures of the guide: the set's own drawings, with what a figure is about laid over them."""

__all__: list[str] = []
