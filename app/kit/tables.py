"""The tables of respirators, kits and cylinders."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Column
from sqlmodel import Field, SQLModel

from app.base.database import UTCDateTime, name_constraints

name_constraints(SQLModel.metadata)


class Respirator(SQLModel, table=True):
    """One exact model. A new model needs a new fit test.

    face   half (with filtering facepieces), full or hood; a hood needs no fit test
    sizes  words with spaces between; empty for one size
    """

    __tablename__ = "respirator"
    __table_args__ = (CheckConstraint("face IN ('half', 'full', 'hood')", name="face"),)

    id: str = Field(primary_key=True)
    model: str
    face: str = "half"
    sizes: str = ""
    note: str | None = None
    active: bool = True


class RespiratorStock(SQLModel, table=True):
    """How many of a model and size were counted, when, and at how many to order again."""

    __tablename__ = "respirator_stock"

    id: str = Field(primary_key=True)
    respirator_id: str = Field(foreign_key="respirator.id", index=True)
    size: str = ""
    place: str = ""
    counted: int
    counted_at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
    reorder_at: int | None = None


class KitTemplate(SQLModel, table=True):
    """What a kind of kit must hold. tray: the tray of a case that it becomes."""

    __tablename__ = "kit_template"
    __table_args__ = (CheckConstraint("tray IN ('clean', 'soiled', 'door')", name="tray"),)

    id: str = Field(primary_key=True)
    name: str
    tray: str
    active: bool = True


class KitTemplateItem(SQLModel, table=True):
    """One item of a template. code: as tray entries name it (`kit.staged`)."""

    __tablename__ = "kit_template_item"

    id: str = Field(primary_key=True)
    template_id: str = Field(foreign_key="kit_template.id", index=True)
    code: str
    name: str
    quantity: int = 1
    mandatory: bool = False


class Kit(SQLModel, table=True):
    """A tray, trolley or bag that stands somewhere under a seal."""

    __tablename__ = "kit"

    id: str = Field(primary_key=True)
    name: str
    template_id: str = Field(foreign_key="kit_template.id", index=True)
    place: str
    seal: str | None = None
    active: bool = True


class KitContent(SQLModel, table=True):
    """What lies in a kit: so many of an item, with the date to which they may be used."""

    __tablename__ = "kit_content"

    id: str = Field(primary_key=True)
    kit_id: str = Field(foreign_key="kit.id", index=True)
    code: str
    quantity: int = 1
    expires_on: date | None = None
    lot: str = ""


class KitCheck(SQLModel, table=True):
    """Somebody looked at a kit: the seal that they read, and whether it was whole."""

    __tablename__ = "kit_check"
    __table_args__ = (CheckConstraint("why IN ('daily', 'after use')", name="why"),)

    id: str = Field(primary_key=True)
    kit_id: str = Field(foreign_key="kit.id", index=True)
    checked_at: datetime = Field(sa_column=Column(UTCDateTime(), nullable=False))
    why: str = "daily"
    seal: str | None = None
    whole: bool = True
    checked_by: str = ""
    note: str | None = None


class Cylinder(SQLModel, table=True):
    """An oxygen cylinder. size: the letter of its scheme, which must stand beside it: letters differ by country.

    gauge_bar  as last read [bar]; full_bar: what a full one reads [bar]
    kit_id     the kit in which it lies, if any
    """

    __tablename__ = "cylinder"
    __table_args__ = (CheckConstraint("scheme IN ('UK', 'US')", name="scheme"),)

    id: str = Field(primary_key=True)
    label: str
    scheme: str
    size: str
    gauge_bar: float | None = None
    place: str = ""
    read_at: datetime | None = Field(default=None, sa_column=Column(UTCDateTime()))
    active: bool = True
    full_bar: float | None = None
    expires_on: date | None = None
    kit_id: str | None = Field(default=None, foreign_key="kit.id", index=True)
