"""The server's clock. Everything that must be repeatable is handed a moment instead of calling this."""

from __future__ import annotations

from datetime import UTC, datetime


def utc_now() -> datetime:
    """This moment, aware, in UTC."""
    return datetime.now(UTC)
