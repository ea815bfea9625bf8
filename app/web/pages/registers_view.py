"""Rows of registers as pages set them out: every cell a text and whether it is a message id."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from zoneinfo import ZoneInfo

from app.base.messages import N_
from app.base.register.cells import NAMES_BETWEEN, write
from app.base.register.spec import Field, Names, Problem, Register, Row, Value
from app.base.register.store.history import Change

NO_ENTRY = "–"


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell. `say`: its parts are message ids, shown side by side; otherwise it is shown as it stands."""

    label: str
    parts: tuple[str, ...]
    say: bool = False
    unit: str = ""
    figure: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """A row of a list."""

    id: str
    cells: tuple[Cell, ...]
    aside: bool


@dataclass(frozen=True, slots=True)
class Option:
    """A choice of a form."""

    value: str
    text: str
    say: bool
    chosen: bool


@dataclass(frozen=True, slots=True)
class Asked:
    """A field of a form: what stands in it, what may be chosen, and what is wrong with it."""

    field: Field
    text: str
    options: tuple[Option, ...] = ()
    problems: tuple[Problem, ...] = ()
    many: bool = False


@dataclass(frozen=True, slots=True)
class Altered:
    """A line of a history: what changed from what to what, by whom, and whether it can be taken back."""

    id: str
    at: datetime
    who: str
    what: str
    cells: tuple[tuple[Cell, Cell], ...] = field(default=())
    undone: bool = False


def cell(register: Register, name: str, value: Value, names: Names, zone: ZoneInfo) -> Cell:
    """A value of a field as people read it."""
    one = register.field(name)
    if value is None or value == "":
        return Cell(one.label, (NO_ENTRY,))
    if one.kind == "yes":
        return Cell(one.label, (N_("yes") if value else N_("no"),), say=True)
    if one.kind == "choice":
        return Cell(one.label, (one.choices.get(str(value), str(value)),), say=True)
    if isinstance(value, datetime):
        return Cell(one.label, (value.astimezone(zone).strftime("%Y-%m-%d %H:%M"),), figure=True)
    if one.kind == "refs":
        return Cell(one.label, (", ".join(names.text(one.ref, row_id) for row_id in str(value).split()),))
    if one.kind == "ref":
        return Cell(one.label, (names.text(one.ref, str(value)),))
    if one.kind == "worn":
        return Cell(one.label, (str(value).removeprefix("tight:"),))
    figure = one.kind in ("number", "whole", "day")
    return Cell(one.label, (write(one, value, names, zone),), unit=one.unit, figure=figure)


def lines(register: Register, rows: Sequence[Row], names: Names, zone: ZoneInfo) -> tuple[Line, ...]:
    """Rows of a list, with the figures that are worked out beside them."""
    return tuple(
        Line(
            str(row["id"]),
            (
                *(cell(register, name, row[name], names, zone) for name in register.listed),
                *(Cell(one.label, one.of(row, names), say=True) for one in register.shown),
            ),
            aside=row.get("active") is False,
        )
        for row in rows
    )  # fmt: skip


def asked(
    register: Register, given: Mapping[str, str], names: Names, problems: Sequence[Problem] = ()
) -> tuple[Asked, ...]:
    """The fields of a form with what stands in them."""
    found = []
    for one in register.fields:
        text = given.get(one.name, "")
        wrong = tuple(problem for problem in problems if problem.column == one.name)
        many = one.kind in ("words", "refs")
        found.append(Asked(one, text, _options(one, text, names), wrong, many))
    return tuple(found)


def _options(one: Field, text: str, names: Names) -> tuple[Option, ...]:
    if one.kind == "yes":
        return tuple(Option(v, label, True, text == v) for v, label in (("yes", N_("yes")), ("no", N_("no"))))
    if one.kind in ("choice", "words"):
        chosen = text.split() if one.kind == "words" else [text]
        return tuple(Option(value, label, True, value in chosen) for value, label in one.choices.items())
    if one.kind in ("ref", "refs"):
        ids = {part.strip() for part in text.split(NAMES_BETWEEN)}
        known = sorted(names.of.get(one.ref, {}).items(), key=lambda item: item[1].casefold())
        return tuple(Option(row_id, name, False, row_id in ids) for row_id, name in known)
    if one.kind == "worn":
        models = sorted(names.of.get("respirators", {}).values(), key=str.casefold)
        told = [("none", N_("none"), True), ("hood", N_("hood"), True), *((f"tight:{m}", m, False) for m in models)]
        return tuple(Option(value, label, say, text == value) for value, label, say in told)
    return ()


def texts(register: Register, row: Row, zone: ZoneInfo) -> dict[str, str]:
    """What stands in the form of a row: ids for rows of other registers, local times."""
    plain = Names()
    found = {}
    for one in register.fields:
        value = row.get(one.name)
        if isinstance(value, datetime):
            found[one.name] = value.astimezone(zone).strftime("%Y-%m-%dT%H:%M")
        else:
            found[one.name] = write(one, value, plain, zone)
    return found


def history(
    register: Register,
    changes: Sequence[Change],
    names: Names,
    people: Mapping[str, str],
    zone: ZoneInfo,
    *,
    all_of: bool,
) -> tuple[Altered, ...]:
    """A row's history. people: id -> working name; all_of: also what only those see who may edit."""
    told = []
    hidden = {"id"} | {one.name for one in register.fields if one.confined and not all_of}
    for change in changes:
        if change.undoes:
            what = N_("taken back")
        elif change.before is None:
            what = N_("entered")
        else:
            what = N_("removed") if change.after is None else N_("changed")
        pairs = tuple(
            (cell(register, name, before, names, zone), cell(register, name, after, names, zone))
            for name, (before, after) in change.altered().items()
            if name not in hidden and (change.before is not None or after not in (None, "", False))
        )
        who = people.get(change.who, N_("the desk") if change.who == "desk" else change.who)
        told.append(Altered(change.id, change.at, who, what, pairs, undone=change.undone_by is not None))
    return tuple(told)
