"""The sitter of the rendered picture: one parametric figure with the measures of the setup."""

__all__: list[str] = []
