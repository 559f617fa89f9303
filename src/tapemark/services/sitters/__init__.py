"""People who come again: what to say to them, what is known of their glasses, their last setup."""

__all__: list[str] = []
