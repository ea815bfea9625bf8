"""The tables of the journal. Entries are only added: triggers of the migration refuse UPDATE and DELETE.

Column names are what is hashed (`chain.py`), with one difference: `case_id` is hashed as `case`. They never change.
"""

from datetime import datetime

from sqlalchemy import BigInteger, Column, Double, Text, UniqueConstraint
from sqlmodel import Field, SQLModel

from app.base.database import UTCDateTime, name_constraints

name_constraints(SQLModel.metadata)


class JournalEntry(SQLModel, table=True):
    """One stored entry. `body` and `facts` are canonical JSON text (RFC 8785), kept to the letter."""

    __tablename__ = "journal_entry"
    __table_args__ = (UniqueConstraint("case_id", "seq"),)

    id: str = Field(sa_column=Column(Text, primary_key=True))
    case_id: str = Field(sa_column=Column(Text, nullable=False))
    seq: int = Field(sa_column=Column(BigInteger, nullable=False))
    kind: str = Field(sa_column=Column(Text, nullable=False))
    body: str = Field(sa_column=Column(Text, nullable=False))
    role: str | None = Field(default=None, sa_column=Column(Text))
    person: str | None = Field(default=None, sa_column=Column(Text))
    station: str = Field(sa_column=Column(Text, nullable=False))
    counter: int = Field(sa_column=Column(BigInteger, nullable=False))
    device_at: str = Field(sa_column=Column(Text, nullable=False))
    offset_ms: float | None = Field(default=None, sa_column=Column(Double))
    error_ms: float | None = Field(default=None, sa_column=Column(Double))
    facts: str = Field(sa_column=Column(Text, nullable=False))
    received_at: str = Field(sa_column=Column(Text, nullable=False))
    prev: str = Field(sa_column=Column(Text, nullable=False))
    hash: str = Field(sa_column=Column(Text, nullable=False))


class JournalHead(SQLModel, table=True):
    """The newest entry of each case, signed. A case exists once it has this row.

    seq, hash  of the newest entry; 0 and 64 zeros before the first
    signature  Ed25519 over `chain.head_text`, hex; with the way up to what was signed where several were (`tree.py`)
    ref        the short text that lists show
    room_id    the room of the register that the case was opened for, if any
    ended      a hint: a `case.close` is stored, so the case need not be in memory at start. The fold decides
    """

    __tablename__ = "journal_head"

    case_id: str = Field(sa_column=Column(Text, primary_key=True))
    seq: int = Field(sa_column=Column(BigInteger, nullable=False))
    hash: str = Field(sa_column=Column(Text, nullable=False))
    signature: str = Field(sa_column=Column(Text, nullable=False))
    created_at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
    ref: str | None = Field(default=None, sa_column=Column(Text))
    room_id: str | None = Field(default=None, sa_column=Column(Text))
    ended: bool = Field(default=False, nullable=False)


class ServerKey(SQLModel, table=True):
    """The public half of the key that signs heads, so that a copy can be verified where the key file is not."""

    __tablename__ = "server_key"

    public_key: str = Field(sa_column=Column(Text, primary_key=True))
    created_at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
