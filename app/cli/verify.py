"""`doorside verify`: walks every chain of a journal and names the first entry that is not as it was stored."""

from __future__ import annotations

import argparse
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from app.base.database import open_engine
from app.base.errors import Unknown
from app.base.settings import Settings, database_url, load
from app.journal.keys import PublicKey, read_key
from app.journal.verify import Report, verify

KEY_HELP = "public key that must have signed: its 64 digits (default: of the key file; without one, the database's own)"


def add_parser(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """`doorside verify [FILE] [--db URL] [--key HEX] [--json]`."""
    parser = subparsers.add_parser("verify", help="name the first entry of the journal that is not as it was stored")
    parser.add_argument("file", metavar="FILE", nargs="?", help="a SQLite database or a backup, instead of --db")
    parser.add_argument("--db", help="database URL (default: that of this installation)")
    parser.add_argument("--key", metavar="HEX", help=KEY_HELP)
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(args: argparse.Namespace) -> int:
    """0 when clean; 1 with the finding. Raises DoorsideError for a database that is not there."""
    settings = load(db=args.db)
    url = database_url(args.file) if args.file else settings.db
    refuse_absent(url)
    trust = trusted(settings, args.key)
    engine = open_engine(url, read_only=True)
    try:
        report = verify(engine, trust.key, trust.origin)
    finally:
        engine.dispose()
    print(json.dumps(report.shape(), ensure_ascii=False) if args.json else in_words(report))
    return 0 if report.clean else 1


@dataclass(frozen=True, slots=True)
class Trust:
    """Which public key must have signed, and where it was had from."""

    key: PublicKey | None
    origin: str


def trusted(settings: Settings, given: str | None) -> Trust:
    """The key given in words, else of this server's key file; none when there is no such file. Raises BadKey."""
    if given is not None:
        return Trust(PublicKey(given.strip().lower()), "given")
    own = read_key(settings.key_file)
    return Trust(None if own is None else own.public, "file")


def refuse_absent(url: str) -> None:
    """Raises Unknown when a SQLite file is not there: opening it would make an empty one, which verifies clean."""
    path = url.removeprefix("sqlite:///")
    if path != url and not Path(path).expanduser().is_file():
        raise Unknown(f"There is no file {path}.", holds="Nothing was opened.", do="Name the database with --db.")


def in_words(report: Report) -> str:
    """The report for people."""
    lines = []
    if report.finding is None:
        lines.append(f"Clean: {report.entries} entries in {report.cases} cases are as they were stored.")
    else:
        finding: dict[str, Any] = report.shape()["finding"]
        where = " · ".join(f"{name} {finding[name]}" for name in ("case", "seq", "id") if finding[name] is not None)
        lines += [f"Not clean ({finding['wrong']}): {finding['says']}", where, "What comes after it was not judged."]
    if report.key_from == "database":
        lines.append("Judged by the public key in the database itself: that shows that it is of one piece, not whose.")
    if not report.guarded:
        lines.append("The triggers that refuse changes to entries are not in place.")
    return "\n".join(line for line in lines if line)
