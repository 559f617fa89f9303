"""Sheets and files to take along: set sheet, day sheet, drawings, solid models, links."""

__all__: list[str] = []
