"""The tables of every register's history, and of the files that went in or out."""

from datetime import datetime

from sqlalchemy import CheckConstraint, Column, Text, UniqueConstraint
from sqlmodel import Field, SQLModel

from app.base.database import UTCDateTime, name_constraints

name_constraints(SQLModel.metadata)


class RegisterChange(SQLModel, table=True):
    """One change of one row. Rows here are only added; undoing is a change of its own.

    book, row_id  which row of which register
    version   1 for the row's first change, then one more each: two people cannot change the same version
    who       id of the person, or `desk` when nobody was signed in
    before    the whole row as JSON before; empty when the change made it
    after     the whole row as JSON after; empty when the change removed it
    file_id   the import that it belongs to
    undoes    the change that it takes back; undone_by is the other way round
    """

    __tablename__ = "register_change"
    __table_args__ = (UniqueConstraint("book", "row_id", "version"),)

    id: str = Field(primary_key=True)
    book: str
    row_id: str
    version: int
    who: str
    at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
    before: str = Field(default="", sa_type=Text)
    after: str = Field(default="", sa_type=Text)
    file_id: str | None = Field(default=None, index=True)
    undoes: str | None = None
    undone_by: str | None = None


class RegisterFile(SQLModel, table=True):
    """A file that was taken in or given out: exports are logged, an import is undone as a whole.

    state  `tried` (dry run; its text is kept until it is confirmed or another file is tried), `done`, `undone`, or
           `out` for an export
    rows   how many rows it had
    """

    __tablename__ = "register_file"
    __table_args__ = (CheckConstraint("state IN ('tried', 'done', 'undone', 'out')", name="state"),)

    id: str = Field(primary_key=True)
    book: str = Field(index=True)
    state: str
    who: str
    at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
    name: str = ""
    rows: int = 0
    text: str = Field(default="", sa_type=Text)
