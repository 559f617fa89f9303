"""Single changes and pairs that cure a setup, searched, judged in full and ranked."""

__all__: list[str] = []
