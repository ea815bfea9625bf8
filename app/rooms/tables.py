"""The table of rooms."""

from sqlmodel import Field, SQLModel

from app.base.database import name_constraints

name_constraints(SQLModel.metadata)


class Room(SQLModel, table=True):
    """A room in which procedures are done.

    ach       measured air changes [1/h]; None = not measured, so no clearance time
    clear     share of what is airborne to remove before the room counts as clear [%]
    anteroom  name of its anteroom; rooms with the same one share it
    mixing    mixing factor, 1 ideal to 10 very poor [-]; None = not judged
    active    False once out of use; rows stay, because journals name them
    """

    __tablename__ = "room"

    id: str = Field(primary_key=True)
    name: str
    ach: float | None = None
    clear: float
    anteroom: str | None = None
    mixing: float | None = None
    active: bool = True
