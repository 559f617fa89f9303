"""Folders of photos read in the background, and looked through while that goes on."""

__all__: list[str] = []
