"""What is kept: setups with all their versions, own things, merging and calibrating."""

__all__: list[str] = []
