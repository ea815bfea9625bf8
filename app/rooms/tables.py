"""The tables of rooms and of what was read at their doors."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Column
from sqlmodel import Field, SQLModel

from app.base.database import UTCDateTime, name_constraints

name_constraints(SQLModel.metadata)


class Room(SQLModel, table=True):
    """A room in which procedures are done.

    ach           measured air changes [1/h]; None = not measured, so no clearance time. ach_on: when it was measured
    clear         share of what is airborne to remove before the room counts as clear [%]
    anteroom      name of its anteroom; rooms with the same one share it
    mixing        mixing factor, 1 ideal to 10 very poor [-]; None = not judged
    volume_m3     of the room without its anteroom [m3]
    reference     what its pressure is measured against: a figure without it means nothing
    meant         how it is meant to be run: negative, neutral or positive to that reference
    limit_pa      the department's own limit of that difference, with its sign [Pa]
    state         ready, in use, clearing, cleaning or out of order, as somebody last released it
    released_by, released_on  who said so, and when
    active        False once out of use; rows stay, because journals name them
    """

    __tablename__ = "room"

    id: str = Field(primary_key=True)
    name: str
    ach: float | None = None
    clear: float
    anteroom: str | None = None
    mixing: float | None = None
    active: bool = True
    ach_on: date | None = None
    volume_m3: float | None = None
    reference: str | None = None
    meant: str | None = None
    limit_pa: float | None = None
    neighbours: str | None = None
    state: str = "ready"
    released_by: str | None = None
    released_on: date | None = None


class RoomCheck(SQLModel, table=True):
    """Pressure and direction of the air at a room's door, as read once.

    pressure_pa  the gauge's difference with its sign, room minus `reference` [Pa]; None = not read
    direction    smoke or tissue at the foot of the shut door: inwards, outwards or not clear; None = not tried
    """

    __tablename__ = "room_check"
    __table_args__ = (CheckConstraint("direction IN ('inwards', 'outwards', 'not clear')", name="direction"),)

    id: str = Field(primary_key=True)
    room_id: str = Field(foreign_key="room.id", index=True)
    checked_at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
    pressure_pa: float | None = None
    reference: str | None = None
    direction: str | None = None
    door_shut: bool = True
    checked_by: str = ""
    note: str | None = None
