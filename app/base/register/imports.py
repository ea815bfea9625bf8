"""Taking a file in: tried first, every problem named and nothing changed; then confirmed; and undone as a whole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy import Engine

from app.base.database import writing
from app.base.errors import Conflict, NotValid
from app.base.ids import new_id
from app.base.messages import N_
from app.base.register import sheet
from app.base.register.spec import Names, Problem, Register, Row
from app.base.register.store import changing, files, history, reading, taking_back


@dataclass(frozen=True, slots=True)
class Plan:
    """What a file would do. It may be confirmed when there is no problem and something to do."""

    pairs: tuple[tuple[Row | None, Row | None], ...]
    same: int
    problems: tuple[Problem, ...]

    @property
    def new(self) -> int:
        return sum(before is None for before, _ in self.pairs)

    @property
    def changed(self) -> int:
        return len(self.pairs) - self.new


def plan(register: Register, lines: Sequence[sheet.Line], there: Sequence[Row], names: Names) -> Plan:
    """Compares lines with the rows that are there: by id where a line gives one, by the key otherwise."""
    by_id = {str(row["id"]): row for row in there}
    by_key = {register.key_of(row): row for row in there}
    pairs: list[tuple[Row | None, Row | None]] = []
    problems: list[Problem] = []
    seen: dict[str, int] = {}
    keys: dict[tuple[str, ...], tuple[str, int]] = {register.key_of(row): (str(row["id"]), 0) for row in there}
    same = 0
    for line in lines:
        before = by_id.get(line.row_id) if line.row_id else by_key.get(register.key_of(line.row))
        if line.row_id and before is None and not _may_name(line.row_id):
            told = N_("“%(id)s” is no id. Leave it empty for a new row.")
            problems.append(Problem(told, {"id": line.row_id[:40]}, "id", line.number))
            continue
        row: Row = {**(before or {"id": line.row_id or new_id(), **register.empty()}), **line.row}
        row_id, key = str(row["id"]), register.key_of(row)
        holder, holder_line = keys.get(key, (row_id, 0))
        if row_id in seen or holder != row_id:
            twice = seen.get(row_id) or holder_line
            told = N_("Line %(line)s is about the same row.") if twice else N_("Another row is called so already.")
            problems.append(Problem(told, {"line": twice}, register.key[0], line.number))
            continue
        seen[row_id], keys[key] = line.number, (row_id, line.number)
        if wrong := changing.check(register, row, names):
            problems += [Problem(one.message, one.params, one.column, line.number) for one in wrong]
        elif before == row:
            same += 1
        else:
            pairs.append((before, row))
    return Plan(tuple(pairs), same, tuple(problems))


def _may_name(row_id: str) -> bool:
    """An id that a file may bring along: from another copy of Doorside, or a department's own short one."""
    return row_id.isascii() and row_id.replace("-", "").replace("_", "").isalnum() and len(row_id) <= 40


def planned(register: Register, engine: Engine, raw: bytes, names: Names, zone: ZoneInfo) -> tuple[Plan, int]:
    """What a file would do now, and how many rows it has."""
    read = sheet.read(register, raw, names, zone)
    made = plan(register, read.lines, reading.find(register, engine), names)
    problems = sorted((*read.problems, *made.problems), key=lambda one: (one.line or 0, one.column))
    return Plan(made.pairs, made.same, tuple(problems)), read.count


def tried(
    register: Register, engine: Engine, raw: bytes, name: str, *, who: str, now: datetime, names: Names, zone: ZoneInfo
) -> tuple[str, Plan]:
    """A dry run. The file is kept until it is confirmed or another one is tried; gives its id and the plan."""
    made, rows = planned(register, engine, raw, names, zone)
    with writing(engine) as connection:
        files.forget_tried(connection, register.name)
        text = "" if made.problems else raw.decode("utf-8-sig")
        kept = files.keep(connection, register.name, "tried", who=who, now=now, name=name, rows=rows, text=text)
    return kept, made


def confirmed(
    register: Register, engine: Engine, file_id: str, *, who: str, now: datetime, names: Names, zone: ZoneInfo
) -> int:
    """Does what the dry run said, all or nothing; gives how many rows it touched.

    Raises Conflict when the file was confirmed before, or the register has changed so that it no longer fits
    """
    with writing(engine) as connection:
        kept = files.get(connection, register.name, file_id)
        if kept.state != "tried" or not kept.text:
            raise Conflict("That file is not waiting to be taken over.", holds="Nothing was changed.")
        made, _ = planned(register, engine, kept.text.encode(), names, zone)
        if made.problems:
            raise Conflict("The register has changed, and the file no longer fits.", do="Try the file again.")
        changing.put(register, connection, made.pairs, who=who, now=now, file_id=file_id)
        files.mark(connection, file_id, "done")
        return len(made.pairs)


def put_starters(register: Register, engine: Engine, rows: Sequence[Row], *, who: str, now: datetime) -> int:
    """Takes over rows that come with Doorside and are not there yet, as one import that can be undone."""
    with writing(engine) as connection:
        there = {register.key_of(row) for row in reading.find(register, engine)}
        pairs: list[tuple[Row | None, Row | None]] = [
            (None, {"id": new_id(), **register.empty(), **row}) for row in rows if register.key_of(row) not in there
        ]
        file_id = files.keep(
            connection, register.name, "done", who=who, now=now, name="comes with Doorside", rows=len(pairs), text=""
        )
        changing.put(register, connection, pairs, who=who, now=now, file_id=file_id)
        return len(pairs)


def undone(register: Register, engine: Engine, file_id: str, *, who: str, now: datetime) -> int:
    """Takes an import back, all of it or nothing. Raises NotValid naming how many rows were changed since."""
    with writing(engine) as connection:
        kept = files.get(connection, register.name, file_id)
        if kept.state != "done":
            raise Conflict("That file was not taken over, or is taken back already.", holds="Nothing was changed.")
        changes = [one for one in history.of_file(register, connection, file_id) if one.undone_by is None]
        there = {str(row["id"]): row for row in reading.find(register, engine)}
        pairs: list[tuple[Row | None, Row | None]] = []
        again = 0
        for change in changes:
            try:
                pairs.append(taking_back.undone(change, there.get(change.row_id)))
            except Conflict:
                again += 1
        if again:
            raise NotValid(
                f"{again} rows of that file were changed again since.",
                holds="Nothing was changed.",
                do="Take those changes back first, or mend the rows one by one.",
            )
        changing.put(register, connection, pairs, who=who, now=now, undoes={one.row_id: one.id for one in changes})
        files.mark(connection, file_id, "undone")
        return len(pairs)
