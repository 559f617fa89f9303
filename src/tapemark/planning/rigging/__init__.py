"""What an assistant rigs from: tapes, lines, packing and steps of one setup."""

__all__: list[str] = []
