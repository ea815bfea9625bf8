"""`doorside backup`: a verified copy of the database while it runs."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from app.base.database import open_engine
from app.base.settings import load
from app.cli.verify import KEY_HELP, in_words, refuse_absent, trusted
from app.journal.backup import backup


def add_parser(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """`doorside backup --out FILE [--db URL] [--key HEX] [--json]`."""
    parser = subparsers.add_parser("backup", help="write a verified copy of the database while it runs")
    parser.add_argument("--out", metavar="FILE", required=True, help="the new file, a SQLite database")
    parser.add_argument("--db", help="database URL (default: that of this installation)")
    parser.add_argument("--key", metavar="HEX", help=KEY_HELP)
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(args: argparse.Namespace) -> int:
    """0 when written and clean; 1 when written and not clean. Raises DoorsideError when nothing was written."""
    settings = load(db=args.db)
    refuse_absent(settings.db)
    trust = trusted(settings, args.key)
    out = Path(args.out)
    engine = open_engine(settings.db)
    try:
        report = backup(engine, out, trust.key, trust.origin)
    finally:
        engine.dispose()
    if args.json:
        print(json.dumps({"file": str(out), "bytes": out.stat().st_size, **report.shape()}, ensure_ascii=False))
    else:
        print(f"Written: {out}, {out.stat().st_size} bytes. The server's key is not in it; keep a copy apart.")
        print("Without that key a restored copy is signed anew, and everybody needs a new PIN.")
        print(in_words(report))
    return 0 if report.clean else 1
