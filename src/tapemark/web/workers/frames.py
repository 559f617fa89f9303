"""How the app and the processes that compute for it talk: frames of named parts.

A frame is four bytes of length, a line of JSON, and parts of bytes whose names and lengths the
line gives. Parts hold JSON text that goes on to the browser as it is, without being read again.
"""

import json
import struct
from collections.abc import Mapping
from typing import Any

LARGEST_FRAME = 64_000_000  # [bytes]
PREFIX = struct.Struct(">I")


def pack(head: Mapping[str, Any], parts: Mapping[str, bytes] | None = None) -> bytes:
    """Return a frame.

    Parameters
    ----------
    head : mapping
        What the frame is about, fit for JSON.
    parts : mapping of str to bytes, optional
        What it carries.
    """
    parts = parts or {}
    line = json.dumps({**head, "parts": {name: len(one) for name, one in parts.items()}})
    body = line.encode() + b"\n" + b"".join(parts.values())
    return PREFIX.pack(len(body)) + body


def unpack(body: bytes) -> tuple[dict[str, Any], dict[str, bytes]]:
    """Return head and parts of a frame without its four bytes."""
    line, _, rest = body.partition(b"\n")
    head = json.loads(line)
    parts, at = {}, 0
    for name, length in head.pop("parts").items():
        parts[name] = rest[at : at + length]
        at += length
    return head, parts
