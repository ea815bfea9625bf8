"""A journal with very many entries in cases that have ended: bulk SQL, and yet a valid chain with signed heads.

Kept between runs in the machine's folder for temporary files, under a hash of everything that decides its content.
"""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from hashlib import sha256
from pathlib import Path

from app.base.database import migrate, newest_version, open_engine
from app.base.ids import new_id
from app.journal.chain import FIRST
from app.journal.keys import open_key, register
from app.journal.rows import COLUMNS, row_hash

A_CASE = 500
_ROW = {
    "role": "DOC", "person": None, "station": "bench", "device_at": "2026-01-05T10:00:00.000Z", "offset_ms": 0.5,
    "error_ms": 5.0, "facts": "{}", "received_at": "2026-01-05T10:00:00.500000Z",
}  # fmt: skip
INSERT = f"INSERT INTO journal_entry ({', '.join(COLUMNS)}) VALUES ({', '.join('?' * len(COLUMNS))})"
HEAD = "INSERT INTO journal_head (case_id, seq, hash, signature, created_at, ref, ended) VALUES (?, ?, ?, ?, ?, ?, 1)"


def journal_of(entries: int) -> Path:
    """A folder with a database of that many entries and its key; made when it is not kept from an earlier run."""
    recipe = f"{entries} {newest_version()} {INSERT} {HEAD} {_ROW} {A_CASE} {Path(__file__).read_text('utf-8')}"
    folder = Path(tempfile.gettempdir()) / f"doorside-bench-{sha256(recipe.encode()).hexdigest()[:16]}"
    if not folder.is_dir():
        made = folder.with_suffix(".making")
        shutil.rmtree(made, ignore_errors=True)
        _make(made, entries)
        made.rename(folder)
    return folder


def _make(folder: Path, entries: int) -> None:
    folder.mkdir(parents=True)
    url = f"sqlite:///{folder / 'doorside.db'}"
    migrate(url)
    engine, key = open_engine(url), open_key(folder / "server.key")
    register(engine, key)
    engine.dispose()
    database = sqlite3.connect(folder / "doorside.db", isolation_level=None)
    database.execute("PRAGMA synchronous=OFF")
    for nth in range(-(-entries // A_CASE)):
        case, rows, prev = new_id(), [], FIRST
        size = min(A_CASE, entries - nth * A_CASE)
        for seq in range(1, size + 1):
            kind, body = "vitals", f'{{"spo2":{90 + seq % 10}}}'
            if seq == 1:
                kind, body = "case.open", '{"procedure":"intubation"}'
            elif seq == size:
                kind, body = "case.close", "{}"
            row = {**_ROW, "id": new_id(), "case_id": case, "seq": seq, "kind": kind, "body": body}
            row |= {"counter": seq, "prev": prev}
            row["hash"] = prev = row_hash(row)
            rows.append([row[name] for name in COLUMNS])
        database.execute("BEGIN")
        database.executemany(INSERT, rows)
        signature = key.sign_head(case, size, prev)
        database.execute(HEAD, (case, size, prev, signature, "2026-01-05 10:00:00.000000", f"B{nth}"))
        database.execute("COMMIT")
    database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    database.close()
