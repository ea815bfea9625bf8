"""Ids: UUIDv7, so that rows made later sort later and ids can be made on any station without asking."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from hashlib import sha256

import uuid_utils

_UUID7 = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")


def new_id() -> str:
    """A fresh UUIDv7 in its canonical lower-case form."""
    return str(uuid_utils.uuid7())


def is_uuid7(text: str) -> bool:
    """Whether a text is a UUIDv7 in canonical form (RFC 9562)."""
    return _UUID7.fullmatch(text) is not None


def derived_id(moment: datetime, *parts: object) -> str:
    """A UUIDv7 whose time is a moment and whose other bits follow from parts: the same parts, the same id.

    >>> from datetime import UTC
    >>> derived_id(datetime(2026, 11, 3, 14, 10, tzinfo=UTC), "file", 7)
    '01a1a1be-d2c0-7399-9ab2-d7f4bc000156'
    """
    since = moment - datetime(1970, 1, 1, tzinfo=moment.tzinfo)
    milliseconds = since // timedelta(milliseconds=1)
    rest = int.from_bytes(sha256("\x1f".join(str(part) for part in parts).encode()).digest()[:10])
    value = milliseconds << 80 | 0x7 << 76 | (rest >> 68 & 0xFFF) << 64 | 0b10 << 62 | rest & (1 << 62) - 1
    text = f"{value:032x}"
    return "-".join((text[:8], text[8:12], text[12:16], text[16:20], text[20:]))
