"""What the guide has drawn while somebody moves a slider."""

__all__: list[str] = []
