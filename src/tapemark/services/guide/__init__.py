"""The illustrated guide: topics, what can be changed in each, and its figure drawn anew."""

__all__: list[str] = []
