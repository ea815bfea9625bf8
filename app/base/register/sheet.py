"""CSV out and in. Out: UTF-8 with a header, cells that a spreadsheet would run made harmless. In: every problem named.

A cell that begins with = + - @ (or a tab, a return, an apostrophe) leaves with an apostrophe before it, and that is
taken off again on the way in, so that what went out comes back the same.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from app.base.checks import did_you_mean
from app.base.messages import N_
from app.base.register.cells import read_row, write
from app.base.register.spec import Names, Problem, Register, Row

BOM = "\ufeff"
ROWS_MOST = 200_000
_ACTIVE = ("=", "+", "-", "@", "\t", "\r")
_DELIMITERS = (",", ";", "\t")
_NO_FORMULA = frozenset({"whole", "number", "numbers"})


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a file that could be read: its number, the id it gives if any, and what it says."""

    number: int
    row_id: str
    row: Row


@dataclass(frozen=True, slots=True)
class Sheet:
    """A file as it was understood, and everything that is wrong with it."""

    lines: tuple[Line, ...]
    problems: tuple[Problem, ...]
    count: int


def written(register: Register, rows: Iterable[Row], names: Names, zone: ZoneInfo) -> bytes:
    """The rows as a CSV file: `id` first, then every field by its name."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(("id", *register.names))
    for row in rows:
        cells = [write(field, row[field.name], names, zone) for field in register.fields]
        writer.writerow([harmless(cell) for cell in (str(row["id"]), *cells)])
    return (BOM + out.getvalue()).encode()


def harmless(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula.

    >>> harmless("=1+1"), harmless("-2.5"), harmless("Room 4")
    ("'=1+1", "'-2.5", 'Room 4')
    """
    return "'" + cell if cell.startswith((*_ACTIVE, "'")) else cell


def plain_cell(cell: str) -> str:
    """The same cell as it was.

    >>> plain_cell("'=1+1"), plain_cell("'tis")
    ('=1+1', "'tis")
    """
    return cell[1:] if cell.startswith("'") and cell[1:].startswith((*_ACTIVE, "'")) else cell


def read(register: Register, raw: bytes, names: Names, zone: ZoneInfo) -> Sheet:
    """What a file says, line by line. Nothing is looked up in the register itself yet (`imports.py`)."""
    text, problem = _decoded(raw)
    if problem is not None:
        return Sheet((), (problem,), 0)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(register, text), strict=True)
    try:
        header = [cell.strip() for cell in next(reader, [])]
        problems = _header(register, header)
        if problems:
            return Sheet((), tuple(problems), 0)
        return _lines(register, header, reader, names, zone)
    except csv.Error as error:
        told = N_("From here on this is no CSV file: %(why)s.")
        return Sheet((), (Problem(told, {"why": str(error)}, line=reader.line_num),), 0)


def _decoded(raw: bytes) -> tuple[str, Problem | None]:
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "", Problem(N_("The file is in UTF-16. Save it as CSV UTF-8."), line=1)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        told = N_("The file is not in UTF-8: byte %(byte)s looks like Windows-1252. Save it as CSV UTF-8.")
        return "", Problem(told, {"byte": f"0x{raw[error.start]:02X}"}, line=line)
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        return "", Problem(N_("The file holds a zero byte, so it is no CSV text."), line=line)
    if not text.strip():
        return "", Problem(N_("The file is empty."), line=1)
    return text, None


def _delimiter(register: Register, text: str) -> str:
    """Commas, or what spreadsheets of other countries write: what splits the first line into the most known names."""
    first = text.split("\n", 1)[0]
    known = {"id", *register.names}

    def fits(mark: str) -> int:
        return sum(cell.strip().strip('"') in known for cell in first.split(mark))

    return max(_DELIMITERS, key=fits)


def _header(register: Register, header: list[str]) -> list[Problem]:
    known = ("id", *register.names)
    problems = [
        Problem(
            N_("There is no column “%(name)s” here. %(near)s"), {"name": n[:40], "near": did_you_mean(n, known)}, n, 1
        )
        for n in header
        if n not in known
    ]
    twice = dict.fromkeys(name for name in header if header.count(name) > 1)
    problems += [Problem(N_("The column “%(name)s” stands twice."), {"name": name}, name, 1) for name in twice]
    if not problems and "id" not in header:
        for name in register.key:
            if name not in header and register.field(name).required:
                problems.append(Problem(N_("The column “%(name)s” is missing."), {"name": name}, name, 1))
    return problems


def _lines(register: Register, header: list[str], reader: Iterable[list[str]], names: Names, zone: ZoneInfo) -> Sheet:
    lines: list[Line] = []
    problems: list[Problem] = []
    fields = tuple(field for field in register.fields if field.name in header)
    open_to_formulas = {"id", *(field.name for field in fields if field.kind not in _NO_FORMULA)}
    number = 1
    for cells in reader:
        number += 1
        if not any(cells):
            continue
        if number - 1 > ROWS_MOST:
            problems.append(Problem(N_("The file has more than %(most)s rows."), {"most": ROWS_MOST}, line=number))
            break
        if len(cells) != len(header):
            told = N_("This row has %(has)s cells, the header has %(wants)s.")
            problems.append(Problem(told, {"has": len(cells), "wants": len(header)}, line=number))
            continue
        given = dict(zip(header, cells, strict=True))
        formulas = [n for n, cell in given.items() if cell.startswith(_ACTIVE) and n in open_to_formulas]
        told = N_("This begins like a formula. Write an apostrophe before it if it is meant so.")
        found = [Problem(told, column=name) for name in formulas]
        plain = {name: plain_cell(cell) for name, cell in given.items() if name not in formulas}
        row, wrong = read_row(fields, plain, names, zone)
        found += wrong
        problems += [Problem(one.message, one.params, one.column, number) for one in found]
        if not found:
            lines.append(Line(number, plain.get("id", "").strip(), row))
    return Sheet(tuple(lines), tuple(problems), number - 1)
