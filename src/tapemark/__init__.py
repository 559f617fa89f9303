"""Portrait lighting for people who wear glasses: what the lenses show, and what to change."""

__all__ = ["__version__"]

__version__ = "0.1.0"
