"""The table of people."""

from datetime import date

from sqlalchemy import CheckConstraint
from sqlmodel import Field, SQLModel

from app.base.database import name_constraints

name_constraints(SQLModel.metadata)


class Person(SQLModel, table=True):
    """A member of staff.

    job     what they are employed as, in the department's words
    resp    respirator they wear: `tight:` and the model (`tight:K2`), `hood`, or `none`
    fit     JSON object, model -> ISO date of the last passed fit test
    drill   date of the last team drill
    immune  `yes`, `no` or `unknown`; a health fact, shown to nobody: only may enter / may not leaves this register
    active  False once they left; rows stay, because journals name them
    """

    __tablename__ = "person"
    __table_args__ = (CheckConstraint("immune IN ('yes', 'no', 'unknown')", name="immune"),)

    id: str = Field(primary_key=True)
    name: str
    initials: str
    job: str
    resp: str = "none"
    fit: str = "{}"
    drill: date | None = None
    immune: str = "unknown"
    active: bool = True
