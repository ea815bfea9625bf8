"""The table of the department's own protocols: each version once, never changed, in use once a second approved."""

from datetime import datetime

from sqlalchemy import Column, Text, UniqueConstraint
from sqlmodel import Field, SQLModel

from app.base.database import UTCDateTime, name_constraints

name_constraints(SQLModel.metadata)


class ProtocolVersion(SQLModel, table=True):
    """One version of one protocol.

    text    the file as it was imported; plain: the whole protocol as JSON, shared parts in place
    digest  SHA-256 over that JSON: two versions with one digest are the same
    """

    __tablename__ = "protocol_version"
    __table_args__ = (UniqueConstraint("protocol_id", "version"),)

    id: str = Field(primary_key=True)
    protocol_id: str
    version: int
    title: str
    text: str = Field(sa_type=Text)
    plain: str = Field(sa_type=Text)
    digest: str
    imported_by: str
    imported_at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
    approved_by: str | None = None
    approved_at: datetime | None = Field(default=None, sa_column=Column(UTCDateTime()))
    withdrawn_by: str | None = None
    withdrawn_at: datetime | None = Field(default=None, sa_column=Column(UTCDateTime()))
