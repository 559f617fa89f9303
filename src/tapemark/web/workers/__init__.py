"""Processes that compute for the app, so that no screen waits for another's work."""

__all__: list[str] = []
