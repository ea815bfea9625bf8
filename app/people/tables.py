"""The tables of people and of what is recorded about them, and of what the department fixes for them."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Column
from sqlmodel import Field, SQLModel

from app.base.database import UTCDateTime, name_constraints

name_constraints(SQLModel.metadata)


class Person(SQLModel, table=True):
    """A member of staff.

    name      working name, as pages show it
    job       what they are employed as, in the department's words
    roles     codes of the roles that they are signed off for, with spaces between
    resp      respirator they usually wear: `tight:` and the model (`tight:K2`), `hood`, or `none`
    hood      whether they may work in a powered hood
    drill     date of the last team drill
    no_entry  may not enter, for a reason that stands nowhere here
    active    False once they left; rows stay, because journals name them
    """

    __tablename__ = "person"

    id: str = Field(primary_key=True)
    name: str
    initials: str
    job: str
    resp: str = "none"
    drill: date | None = None
    active: bool = True
    roles: str = ""
    hood: bool = False
    no_entry: bool = False


class FitTest(SQLModel, table=True):
    """One fit test of one person in one exact model. The readings of two countries are worked out, never stored.

    factors  fit factor of each exercise, with spaces between; empty for a method that only passes or fails
    result   what the tester said of such a method: pass or fail
    """

    __tablename__ = "fit_test"
    __table_args__ = (CheckConstraint("result IN ('pass', 'fail')", name="result"),)

    id: str = Field(primary_key=True)
    person_id: str = Field(foreign_key="person.id", index=True)
    respirator_id: str = Field(foreign_key="respirator.id", index=True)
    size: str | None = None
    method: str
    factors: str = ""
    result: str | None = None
    tested_on: date
    tested_by: str | None = None


class Immunity(SQLModel, table=True):
    """Whether somebody is recorded immune to one condition. A health fact: no page shows it but this register's own."""

    __tablename__ = "immunity"
    __table_args__ = (CheckConstraint("state IN ('yes', 'no', 'unknown')", name="state"),)

    id: str = Field(primary_key=True)
    person_id: str = Field(foreign_key="person.id", index=True)
    condition: str
    state: str = "unknown"
    recorded_on: date | None = None


class Organism(SQLModel, table=True):
    """What the department does for one organism.

    entry     who may enter: anyone, fit-tested, immune, or trained (with an observer)
    immunity  the condition of `immunity` that is asked for; empty when none is
    """

    __tablename__ = "organism"
    __table_args__ = (
        CheckConstraint("precaution IN ('contact', 'droplet', 'airborne', 'enhanced')", name="precaution"),
        CheckConstraint("entry IN ('anyone', 'fit-tested', 'immune', 'trained')", name="entry"),
    )

    id: str = Field(primary_key=True)
    name: str
    precaution: str
    entry: str
    immunity: str | None = None
    eyes: bool = False
    source: str
    active: bool = True


class FollowUp(SQLModel, table=True):
    """What follows an exposure to one organism, by the rules of one country. Day 0 is the last exposure.

    first_day, last_day  of watching or staying off work [days]; None where the rule is no span
    """

    __tablename__ = "follow_up"

    id: str = Field(primary_key=True)
    organism_id: str = Field(foreign_key="organism.id", index=True)
    country: str
    who: str
    first_day: int | None = None
    last_day: int | None = None
    what: str
    source: str


class Shift(SQLModel, table=True):
    """Who is on duty from one moment to another. `people` are ids with spaces between."""

    __tablename__ = "shift"

    id: str = Field(primary_key=True)
    name: str
    starts_at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False, index=True))
    ends_at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
    people: str = ""


class Practice(SQLModel, table=True):
    """The department's own limits for its registers. One row."""

    __tablename__ = "practice"
    __table_args__ = (CheckConstraint("fit_reading IN ('us', 'uk', 'both')", name="fit_reading"),)

    id: str = Field(primary_key=True)
    name: str
    country: str = ""
    fit_reading: str = "both"
    ach_days: int = 365
    room_check_h: int = 24
    kit_check_h: int = 24
    cylinder_percent: int = 50
