"""The tables of signing in: rights and PINs, their history, sessions, and counted failures."""

from datetime import datetime

from sqlalchemy import CheckConstraint, Column
from sqlmodel import Field, SQLModel

from app.base.database import UTCDateTime, name_constraints

name_constraints(SQLModel.metadata)


class PersonRight(SQLModel, table=True):
    """What a person may do at a desk. No row, or a row without a right: they may not sign in.

    pin_hash     argon2id, with its parameters and salt, as `pins` writes it; None = no PIN was given yet
    must_change  the PIN came from somebody else: it opens nothing but the choice of an own one
    """

    __tablename__ = "person_right"
    __table_args__ = (CheckConstraint("level IN ('view', 'document', 'lead')", name="level"),)

    person_id: str = Field(primary_key=True, foreign_key="person.id")
    level: str | None = None
    editor: bool = False
    admin: bool = False
    pin_hash: str | None = None
    must_change: bool = False


class RightChange(SQLModel, table=True):
    """One change of somebody's rights or PIN. Never a PIN in it, nor its hash.

    what        `rights`, `first pin`, `own pin`
    by_person   who did it; None with `how` saying how else: set-up, command line
    before, after  JSON of the rights
    """

    __tablename__ = "right_change"

    id: str = Field(primary_key=True)
    person_id: str = Field(foreign_key="person.id", index=True)
    at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
    what: str
    by_person: str | None = Field(default=None, foreign_key="person.id")
    how: str = ""
    before: str = "{}"
    after: str = "{}"


class DeskSession(SQLModel, table=True):
    """Somebody's time at a desk. Rows stay: they say who was there when an entry was made.

    id_hash     of the secret in the browser's cookie
    level, editor, admin  the rights when it began: what was tapped then stays good after a right is taken away
    used_at     last sign of life, within half a minute
    ended_at    by signing out, by the next person, or by a change of rights; idle sessions have none
    """

    __tablename__ = "desk_session"

    id_hash: str = Field(primary_key=True)
    person_id: str = Field(foreign_key="person.id", index=True)
    station_id: str = Field(foreign_key="station.id", index=True)
    level: str | None = None
    editor: bool = False
    admin: bool = False
    begun_at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
    used_at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
    ended_at: datetime | None = Field(default=None, sa_column=Column(UTCDateTime()))


class SignInFailure(SQLModel, table=True):
    """Wrong PINs of late, of one person (`person:ID`) or from one station (`station:ID`)."""

    __tablename__ = "sign_in_failure"

    subject: str = Field(primary_key=True)
    failed: int
    last_at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
    locked_until: datetime | None = Field(default=None, sa_column=Column(UTCDateTime()))
