"""Ids: UUIDv7, so that rows made later sort later and ids can be made on any station without asking."""

from __future__ import annotations

import re

import uuid_utils

_UUID7 = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")


def new_id() -> str:
    """A fresh UUIDv7 in its canonical lower-case form."""
    return str(uuid_utils.uuid7())


def is_uuid7(text: str) -> bool:
    """Whether a text is a UUIDv7 in canonical form (RFC 9562)."""
    return _UUID7.fullmatch(text) is not None
