"""The order of many sitters with the least re-rigging, and what changes between them."""

__all__: list[str] = []
