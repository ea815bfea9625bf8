"""`doorside restore`: puts a backup back into an empty database."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from app.base.settings import load
from app.cli.verify import KEY_HELP, in_words, trusted
from app.journal.backup import restore
from app.journal.keys import open_key


def add_parser(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """`doorside restore FILE [--db URL] [--key HEX] [--json]`."""
    parser = subparsers.add_parser("restore", help="put a backup into an empty database and verify it there")
    parser.add_argument("file", metavar="FILE", help="a backup")
    parser.add_argument("--db", help="database URL (default: that of this installation); must be empty or absent")
    parser.add_argument("--key", metavar="HEX", help=KEY_HELP)
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(args: argparse.Namespace) -> int:
    """0 when restored and clean. Raises DoorsideError when nothing was restored."""
    settings = load(db=args.db)
    trust = trusted(settings, args.key)
    report = restore(Path(args.file), settings.db, open_key(settings.key_file), trust.key, trust.origin)
    if args.json:
        print(json.dumps(report.shape(), ensure_ascii=False))
    else:
        print(f"Restored. The journal is signed with this server's key from now on.\n{in_words(report)}")
        print("PINs that were made with another server's key fit no more: `doorside admin reset` gives a first one.")
    return 0
