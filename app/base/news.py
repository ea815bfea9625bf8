"""Registers have changed: told to the other server processes on one PostgreSQL, with the transaction that changed them.

SQLite has one server process, which reads its registers again by itself.
"""

from __future__ import annotations

from sqlalchemy import Connection, text

CHANNEL = "doorside_registers"
"""PostgreSQL's NOTIFY channel; it says only that something has changed."""
_NOTIFY = text("SELECT pg_notify(:channel, '')")


def tell(connection: Connection) -> None:
    """Lets other processes know when this transaction commits; not at all when it does not."""
    if connection.dialect.name == "postgresql":
        connection.execute(_NOTIFY, {"channel": CHANNEL})
