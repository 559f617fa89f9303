"""The commands of tapemark: parse, call a service, answer."""

from tapemark.cli.main import main

__all__ = ["main"]
