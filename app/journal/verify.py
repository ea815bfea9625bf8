"""Walks every chain and every head of a journal and names the first entry that is not as it was stored.

Streams in one consistent snapshot, so it may run beside a server; memory holds one entry, and a whole case only once
something is wrong with it. What it finds and what it cannot find: `app/journal/__init__.py`.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing
from dataclasses import asdict, dataclass
from itertools import groupby
from operator import itemgetter
from typing import Any

from sqlalchemy import Connection, Engine, text
from sqlalchemy.exc import DBAPIError

from app.journal.chain import FIRST
from app.journal.chains import Finding, SignedHead, first_wrong, sound
from app.journal.keys import BadKey, PublicKey, registered
from app.journal.rows import COLUMNS

_ROWS = f"SELECT {', '.join(COLUMNS)} FROM journal_entry"
ALL = text(f"{_ROWS} ORDER BY case_id, seq")
ONE = text(f"{_ROWS} WHERE case_id = :case ORDER BY seq")
HEADS = text("SELECT case_id, seq, hash, signature FROM journal_head ORDER BY case_id")
GUARDS = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'journal_entry'",
    "postgresql": "SELECT tgname FROM pg_trigger WHERE tgrelid = 'journal_entry'::regclass AND tgenabled <> 'D'",
}
GUARD_NAMES = {"journal_entry_no_update", "journal_entry_no_delete"}
AT_ONCE = 2000


@dataclass(frozen=True, slots=True)
class Report:
    """What `verify` saw.

    key       fingerprint of the public key that was trusted; key_from: `given`, `file`, or `database`, which proves
              no more than that the journal is of one piece
    guarded   whether the triggers that refuse changes are in place
    finding   the first thing that is wrong; None = clean
    """

    cases: int
    entries: int
    key: str | None
    key_from: str
    guarded: bool
    finding: Finding | None

    @property
    def clean(self) -> bool:
        return self.finding is None

    def shape(self) -> dict[str, Any]:
        """As JSON."""
        return {"ok": self.clean, **asdict(self)}


def verify(engine: Engine, trusted: PublicKey | None = None, key_from: str = "given") -> Report:
    """Verifies a whole journal. `trusted`: the key that must have signed; None: the one that stands in the database.

    Raises nothing for a damaged database: that is a finding. Raises BadKey when a journal with cases has no key at all.
    """
    count = _Count()
    guarded, key = False, trusted
    try:
        with _snapshot(engine) as connection:
            guarded = {row[0] for row in connection.execute(text(GUARDS[engine.dialect.name]))} >= GUARD_NAMES
            there = registered(connection)
            key = trusted or there
            if key is None and connection.execute(HEADS).all():
                raise BadKey("This journal names no key.", do="Give the public key that signed it, with --key.")
            finding = _judged(connection, key, there, count)
    except (DBAPIError, sqlite3.Error):
        says = "The database cannot be read to its end: the file is damaged, or is no journal."
        finding = Finding(count.case, None, None, "unreadable", says)
    return Report(
        count.cases,
        count.entries,
        key.fingerprint if key else None,
        key_from if trusted else "database",
        guarded,
        finding,
    )


@dataclass(slots=True)
class _Count:
    cases: int = 0
    entries: int = 0
    case: str | None = None


def _snapshot(engine: Engine) -> Connection:
    """A connection whose reads all see one moment."""
    level = {"isolation_level": "REPEATABLE READ"} if engine.dialect.name == "postgresql" else {}
    return engine.connect().execution_options(stream_results=True, yield_per=AT_ONCE, **level)


def _judged(connection: Connection, key: PublicKey | None, there: PublicKey | None, count: _Count) -> Finding | None:
    """The first finding under the trusted key; a journal that is whole under another key is said to be just that."""
    finding = _first(connection, key, count)
    if there is None or key is None or there == key:
        return finding
    if finding is None:
        return Finding(None, None, None, "key altered", "The public key that stands in the database did not sign it.")
    if finding.wrong == "signature wrong":
        count.cases, count.entries = 0, 0
        under_other = _first(connection, there, count)
        if under_other is None:
            says = (
                f"The journal is of one piece, but signed with another key ({there.fingerprint}…) than the trusted one "
                f"({key.fingerprint}…). If it comes from another server, give that server's public key."
            )
            return Finding(None, None, None, "other key", says)
        if under_other.wrong != "signature wrong":
            return under_other
    return finding


def _first(connection: Connection, key: PublicKey | None, count: _Count) -> Finding | None:
    """The first finding, by id of case."""
    heads = {
        case: SignedHead(case, seq, hash_, key is not None and key.signed(case, seq, hash_, signature))
        for case, seq, hash_, signature in connection.execute(HEADS).all()
    }
    worst = _first_of_chains(connection, heads, count)
    if worst is not None:
        return worst
    for head in heads.values():  # cases that have no entry, or none any more
        count.cases += 1
        if not (head.genuine and head.seq == 0 and head.hash == FIRST):
            return first_wrong(head, [])
    return None


def _first_of_chains(connection: Connection, heads: dict[str, SignedHead], count: _Count) -> Finding | None:
    """The first finding among cases that have entries; takes their heads out of `heads`."""
    with closing(connection.execute(ALL)) as found:
        rows = (dict(zip(COLUMNS, row, strict=True)) for row in found)
        for case, of_case in groupby(rows, key=itemgetter("case_id")):
            count.cases, count.case = count.cases + 1, case
            head = heads.pop(case, None)
            if head is None:
                first = next(iter(of_case))
                return Finding(case, first["seq"], first["id"], "no head", "This case's head was removed.")
            if not _whole(head, of_case, count):
                whole_case = connection.execute(ONE, {"case": case}).all()
                return first_wrong(head, [dict(zip(COLUMNS, row, strict=True)) for row in whole_case])
    return None


def _whole(head: SignedHead, rows: Iterator[Mapping[str, Any]], count: _Count) -> bool:
    """Whether a case is as it was stored, from the first entry to the signed head."""
    seq, prev = 0, FIRST
    for row in rows:
        seq += 1
        count.entries += 1
        if not sound(row, seq, prev):
            return False
        prev = row["hash"]
    return head.genuine and head.seq == seq and head.hash == prev
