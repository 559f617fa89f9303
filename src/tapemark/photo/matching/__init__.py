"""Whose light a reflection is: head and glasses fitted, lights named, setups contradicted."""

__all__: list[str] = []
