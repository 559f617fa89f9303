"""From a brief to different workable setups: search, powers, marks, and what to give up."""

__all__: list[str] = []
