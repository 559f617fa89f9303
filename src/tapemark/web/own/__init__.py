"""Forms for rooms, gear, glasses and sitters of one's own."""

__all__: list[str] = []
