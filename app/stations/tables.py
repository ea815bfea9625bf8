"""The tables of stations and of what each was paired to, and when."""

from datetime import datetime

from sqlalchemy import CheckConstraint, Column
from sqlmodel import Field, SQLModel

from app.base.database import UTCDateTime, name_constraints

name_constraints(SQLModel.metadata)


class Station(SQLModel, table=True):
    """A paired screen. Its secret is known to that screen alone; here lies the hash.

    all_cases     serves every case; otherwise only those in `station_case`
    revoked_at    from then on its secret proves nothing
    last_seen_at  when it last spoke to the server
    """

    __tablename__ = "station"
    __table_args__ = (CheckConstraint("kind IN ('inside', 'outside', 'board', 'desk')", name="kind"),)

    id: str = Field(primary_key=True)
    kind: str
    label: str
    secret_hash: str
    language: str = "en"
    all_cases: bool = False
    created_at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
    revoked_at: datetime | None = Field(default=None, sa_column=Column(UTCDateTime()))
    last_seen_at: datetime | None = Field(default=None, sa_column=Column(UTCDateTime()))


class StationCase(SQLModel, table=True):
    """A station's time with a case. It may write what was tapped between the two moments, also later."""

    __tablename__ = "station_case"

    station_id: str = Field(primary_key=True, foreign_key="station.id")
    case_id: str = Field(primary_key=True, index=True)
    paired_at: datetime = Field(sa_column=Column(UTCDateTime(), primary_key=True))
    ended_at: datetime | None = Field(default=None, sa_column=Column(UTCDateTime()))
