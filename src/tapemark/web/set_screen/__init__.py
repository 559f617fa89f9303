"""The main screen's live set: messages in, drawings and verdicts out."""

__all__: list[str] = []
