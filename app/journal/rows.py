"""Between entries and rows of `journal_entry`: what may be stored, how it looks there, and back."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic_core import from_json

from app.base.errors import NotValid
from app.journal.chain import canonical, entry_hash
from app.journal.entry import Entry, Tap

COLUMNS = (
    "id",
    "case_id",
    "seq",
    "kind",
    "body",
    "role",
    "person",
    "station",
    "counter",
    "device_at",
    "offset_ms",
    "error_ms",
    "facts",
    "received_at",
    "prev",
    "hash",
)
"""Columns of `journal_entry`, in the order in which rows are read and written."""

_SENT = ("case_id", "kind", "body", "role", "person", "station", "counter", "device_at", "offset_ms", "error_ms")

Row = Sequence[Any]
Columns = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Prepared:
    """A checked tap on its way into the journal.

    tap          what the station sent; its body must fit the vocabulary (checked by the caller)
    facts        what the registers said about what it names
    received_at  `moments.moment_text`; all entries of one POST share it
    """

    tap: Tap
    facts: Mapping[str, Any]
    received_at: str


def to_columns(prepared: Prepared) -> Columns:
    """The columns of an entry that has no place yet: all but seq, prev and hash.

    Raises NotValid for what no database keeps exactly: lone surrogates, NUL outside the body, numbers beyond 2^53 or
    not finite, wrong types. Callers check before; this is what keeps a slip of theirs out of the journal for good.
    """
    tap = prepared.tap
    columns: Columns = {
        "id": tap.id,
        "case_id": tap.case,
        "kind": tap.kind,
        "role": tap.role,
        "person": tap.person,
        "station": tap.station,
        "counter": tap.counter,
        "device_at": tap.device_at,
        "offset_ms": tap.offset_ms,
        "error_ms": tap.error_ms,
        "received_at": prepared.received_at,
    }
    if not _storable_at_once(columns):
        for name, value in columns.items():
            _check_column(name, value)
    try:
        columns["body"] = canonical(dict(tap.body))
        columns["facts"] = canonical(dict(prepared.facts)) if prepared.facts else "{}"
        return columns
    except (ValueError, TypeError, RecursionError) as error:
        raise NotValid(
            "An entry holds something that cannot be stored exactly.",
            holds="That entry was not stored.",
            do="Send text without broken characters, and numbers of at most 15 digits.",
        ) from error


_OPTIONAL = ("role", "person", "offset_ms", "error_ms")


def _storable_at_once(columns: Columns) -> bool:
    """Whether the columns of an everyday tap can be stored: what `_check_column` says of each, in one look at all."""
    counter, offset_ms, error_ms = columns["counter"], columns["offset_ms"], columns["error_ms"]
    texts = [columns[name] for name in _TEXTS] + [
        columns[name] for name in ("role", "person") if columns[name] is not None
    ]
    return (
        {type(text) for text in texts} == {str}
        and storable("".join(texts))
        and (type(counter) is int and 0 < counter < 2**53)
        and (type(offset_ms) is float and -(2**53) < offset_ms < 2**53)
        and (type(error_ms) in (int, float) and 0 <= error_ms < 2**53)
    )


_TEXTS = ("id", "case_id", "kind", "station", "device_at", "received_at")


def _check_column(name: str, value: Any) -> None:
    if value is None and name in _OPTIONAL:
        return
    if name == "counter":
        good = type(value) is int and -(2**53) < value < 2**53
    elif name in ("offset_ms", "error_ms"):
        good = type(value) in (int, float) and abs(value) < 2**53
    else:
        good = type(value) is str and storable(value)
    if not good:
        raise NotValid(
            f"The field {name.removesuffix('_id')} of an entry cannot be stored.", holds="It was not stored."
        )


def storable(text: str) -> bool:
    """Whether both databases keep a text to the letter: no NUL, no half of a surrogate pair."""
    return _UNSTORABLE.search(text) is None


_UNSTORABLE = re.compile("[\0\ud800-\udfff]")


def placed(columns: Columns, *, seq: int, prev: str) -> Columns:
    """The whole row of an entry in its place, with its hash."""
    row = {**columns, "seq": seq, "prev": prev}
    row["hash"] = row_hash(row)
    return row


def row_hash(row: Mapping[str, Any]) -> str:
    """What the hash of a row should be."""
    return entry_hash({**row, "case": row["case_id"]}, row["body"], row["facts"])


def same_sent(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Whether two rows carry the same fields of a station: facts, arrival and place are the server's."""
    return all(one[name] == other[name] for name in _SENT)


def to_entry(row: Row) -> Entry:
    """An entry from a row in the order of COLUMNS."""
    (
        id_,
        case,
        seq,
        kind,
        body,
        role,
        person,
        station,
        counter,
        device_at,
        offset_ms,
        error_ms,
        facts,
        at,
        prev,
        hash_,
    ) = row
    tap = Tap(id_, case, kind, from_json(body), station, counter, device_at, role, person, offset_ms, error_ms)
    return Entry(tap, {} if facts == "{}" else from_json(facts), seq, at, prev, hash_)
