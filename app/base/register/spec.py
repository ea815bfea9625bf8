"""What a register is, as plain values: its table, its fields, what names a row, what its fields must agree on."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, Literal

from sqlalchemy import Table
from sqlmodel import SQLModel

Value = str | int | float | bool | date | datetime | None
Row = dict[str, Value]
Kind = Literal["text", "whole", "number", "yes", "day", "moment", "choice", "words", "numbers", "ref", "refs", "worn"]
TEXT_MOST = 200


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with a row. The words are made where a language is known: `message % params`.

    line    line of a file, from 1; None in a form
    column  the field that is meant; empty when it is the row as a whole
    """

    message: str
    params: Mapping[str, object] = field(default_factory=dict)
    column: str = ""
    line: int | None = None


@dataclass(frozen=True, slots=True)
class Field:
    """One thing that a row says.

    name      the column, also in CSV files; units stand last in it
    label     message id
    kind      how its text is read (`cells.py`). `words` are codes out of `choices`, `numbers` are figures, `refs` are
              rows of another register, each kept as one text with spaces between; `worn` is none, hood or tight:model
    unit      beside the figure
    least, most  bounds, both allowed
    choices   value -> message id
    ref       the register that a `ref` or `refs` names
    hint      message id of a short sentence under the field
    confined  a health fact: only who may edit registers sees it, also in the history
    """

    name: str
    label: str
    kind: Kind = "text"
    unit: str = ""
    least: float | None = None
    most: float | None = None
    choices: Mapping[str, str] = field(default_factory=dict)
    required: bool = False
    ref: str = ""
    hint: str = ""
    default: Value = None
    confined: bool = False


@dataclass(frozen=True, slots=True)
class Names:
    """How rows of other registers are called: register -> row id -> text; and back, by what people write."""

    of: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    by: Mapping[str, Mapping[str, tuple[str, ...]]] = field(default_factory=dict)

    @classmethod
    def gathered(cls, of: Mapping[str, Mapping[str, str]]) -> Names:
        """Also by name: a name may stand for several rows, then only the id tells them apart."""
        by: dict[str, dict[str, tuple[str, ...]]] = {}
        for register, names in of.items():
            found: dict[str, tuple[str, ...]] = {}
            for row_id, name in names.items():
                found[name.casefold()] = (*found.get(name.casefold(), ()), row_id)
            by[register] = found
        return cls(of, by)

    def text(self, register: str, row_id: str) -> str:
        """What a row is called; its id when it is not known."""
        return self.of.get(register, {}).get(row_id, row_id)

    def ids(self, register: str, text: str) -> tuple[str, ...]:
        """The rows that a text may mean."""
        if text in self.of.get(register, {}):
            return (text,)
        return self.by.get(register, {}).get(text.casefold(), ())


Check = Callable[[Row, Names], Iterable[Problem]]


@dataclass(frozen=True, slots=True)
class Shown:
    """What is worked out from a row and shown beside it. `of` gives message ids, or figures, side by side."""

    label: str
    of: Callable[[Row, Names], tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Register:
    """One register of the department.

    name      its name in addresses and in the history
    title, one  message ids: the register, one row of it
    about     message id: what belongs here, said when it is empty
    key       the fields that name a row: no two rows may have the same
    listed    the fields that its list shows
    order     the fields by which its list is sorted; a minus before one turns it round
    confined  health facts: only who may edit registers sees it
    check     what fields must agree on, beyond each for itself
    starters  rows that come with Doorside, offered while a register is new
    shown     what is worked out from a row
    only      the id of the one row of a register that has one

    Rows of a register with a field `active` are never removed, only set aside, because journals name them.
    """

    name: str
    title: str
    one: str
    about: str
    table: type[SQLModel]
    fields: tuple[Field, ...]
    key: tuple[str, ...]
    listed: tuple[str, ...]
    order: tuple[str, ...] = ()
    confined: bool = False
    check: Check | None = None
    starters: Callable[[], Sequence[Row]] | None = None
    shown: tuple[Shown, ...] = ()
    only: str = ""

    @property
    def sql(self) -> Table:
        """The table as SQLAlchemy knows it."""
        made: Any = self.table
        found: Table = made.__table__
        return found

    @property
    def keeps(self) -> bool:
        return any(one.name == "active" for one in self.fields)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the fields, in order."""
        return tuple(one.name for one in self.fields)

    def field(self, name: str) -> Field:
        """The field of a name. Raises KeyError."""
        for one in self.fields:
            if one.name == name:
                return one
        raise KeyError(name)

    @property
    def refs(self) -> tuple[str, ...]:
        """The other registers that rows name."""
        found = [one.ref for one in self.fields if one.ref]
        return tuple(dict.fromkeys(found))

    def key_of(self, row: Mapping[str, Value]) -> tuple[str, ...]:
        """What names a row, in a form that can be compared: letters of either case are the same."""
        return tuple("" if row.get(name) is None else str(row[name]).casefold() for name in self.key)

    def empty(self) -> Row:
        """A row in which nothing is said yet."""
        return {one.name: one.default for one in self.fields}
