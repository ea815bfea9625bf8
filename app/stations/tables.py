"""The tables of stations: what each was paired to and when, codes that pair, its last report, and taps held for it."""

from datetime import datetime

from sqlalchemy import CheckConstraint, Column
from sqlmodel import Field, SQLModel

from app.base.database import UTCDateTime, name_constraints

name_constraints(SQLModel.metadata)


class Station(SQLModel, table=True):
    """A paired screen. Its secret is known to that screen alone; here lies the hash.

    room_id       cases made in this room are paired to it by themselves
    revoked_at    from then on its secret opens nothing; what it still sends is held
    last_seen_at  when it was last known to be there
    revision      rises with every change of what it may see, so that other server processes notice
    """

    __tablename__ = "station"
    __table_args__ = (CheckConstraint("kind IN ('inside', 'outside', 'board', 'desk')", name="kind"),)

    id: str = Field(primary_key=True)
    kind: str
    label: str
    secret_hash: str
    language: str = "en"
    created_at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
    revoked_at: datetime | None = Field(default=None, sa_column=Column(UTCDateTime()))
    last_seen_at: datetime | None = Field(default=None, sa_column=Column(UTCDateTime()))
    room_id: str | None = None
    revision: int = 0


class StationCase(SQLModel, table=True):
    """A station's time with a case, `*` for all. It may write what was tapped between the two moments, also later."""

    __tablename__ = "station_case"

    station_id: str = Field(primary_key=True, foreign_key="station.id")
    case_id: str = Field(primary_key=True, index=True)
    paired_at: datetime = Field(sa_column=Column(UTCDateTime(), primary_key=True))
    ended_at: datetime | None = Field(default=None, sa_column=Column(UTCDateTime()))


class PairingCode(SQLModel, table=True):
    """A code that pairs one screen once. code_hash is keyed with the server's key; cases is a JSON list."""

    __tablename__ = "pairing_code"

    code_hash: str = Field(primary_key=True)
    kind: str
    label: str
    language: str
    cases: str
    room_id: str | None = None
    made_at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
    made_by: str | None = None
    used_at: datetime | None = Field(default=None, sa_column=Column(UTCDateTime()))


class StationReport(SQLModel, table=True):
    """What a station last said of itself (`values.Report`), one row a station, written at most once a minute."""

    __tablename__ = "station_report"

    station_id: str = Field(primary_key=True, foreign_key="station.id")
    at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
    battery_percent: int | None = None
    charging: bool | None = None
    offset_ms: float | None = None
    error_ms: float | None = None
    waiting: int = 0
    refused: int = 0
    version: str = ""


class HeldTap(SQLModel, table=True):
    """A tap that a station made while it was not paired, or sent after its revoke. `tap` is its JSON as it was sent."""

    __tablename__ = "held_tap"
    __table_args__ = (CheckConstraint("decision IN ('accepted', 'refused')", name="decision"),)

    id: str = Field(primary_key=True)
    station_id: str = Field(foreign_key="station.id", index=True)
    case_id: str
    tap: str
    held_at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
    decision: str | None = None
    decided_at: datetime | None = Field(default=None, sa_column=Column(UTCDateTime()))
    decided_by: str | None = None
