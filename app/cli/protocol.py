"""`doorside protocol`: check a department's own protocol file, print its grammar, list the built-in ones."""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import Any

from app.protocol.check import check
from app.protocol.library import protocols, shared
from app.protocol.read import digest
from app.protocol.schema import json_schema
from app.protocol.values import Protocol

Subparsers = Any  # argparse keeps the type of `add_subparsers()` private


def add_parser(subparsers: Subparsers) -> None:
    """Adds `protocol` and its three actions to the command line."""
    parser = subparsers.add_parser("protocol", help="check, describe and list protocols")
    actions = parser.add_subparsers(dest="action", required=True)
    checking = actions.add_parser("check", help="find every mistake in a protocol file, in one pass")
    checking.add_argument("file", metavar="FILE", help="a protocol as YAML; - reads standard input")
    checking.add_argument("--json", action="store_true", help="print one JSON object")
    actions.add_parser("schema", help="print the grammar of a protocol file as JSON Schema, for editors")
    listing = actions.add_parser("list", help="list the protocols that come with Doorside")
    listing.add_argument("--json", action="store_true", help="print one JSON array")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """0 when all is well, 1 when the file has mistakes, 2 when it cannot be read."""
    if args.action == "check":
        return _check(args.file, as_json=args.json)
    if args.action == "schema":
        print(json.dumps(json_schema(), indent=2, ensure_ascii=False))
        return 0
    return _list(as_json=args.json)


def _check(file: str, *, as_json: bool) -> int:
    try:
        raw = sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
        text = raw.decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        print(f"{file} cannot be read: {why}. Nothing was checked. Name a YAML file.", file=sys.stderr)
        return 2
    protocol, mistakes = check(text, file, shared())
    if as_json:
        found = [asdict(mistake) for mistake in mistakes]
        about = _about(protocol) if protocol else {}
        print(json.dumps({"file": file, "ok": protocol is not None, **about, "mistakes": found}, ensure_ascii=False))
    elif protocol is not None:
        print(f"{file}: no mistakes. {protocol.title}, version {protocol.version}, digest {digest(protocol)}.")
    else:
        for mistake in mistakes:
            print(mistake)
        print(f"{len(mistakes)} {'mistake' if len(mistakes) == 1 else 'mistakes'} in {file}.")
    return 0 if protocol is not None else 1


def _list(*, as_json: bool) -> int:
    if as_json:
        print(json.dumps([_about(protocol) for protocol in protocols()], ensure_ascii=False))
        return 0
    for protocol in protocols():
        ages = ", ".join(protocol.ages)
        due = protocol.review_due.isoformat()
        print(f"{protocol.id:<18} version {protocol.version}  {protocol.title} ({ages}), review due {due}")
    return 0


def _about(protocol: Protocol) -> dict[str, Any]:
    return {
        "id": protocol.id,
        "title": protocol.title,
        "version": protocol.version,
        "procedure": protocol.procedure,
        "ages": list(protocol.ages),
        "effective": protocol.effective.isoformat(),
        "review_due": protocol.review_due.isoformat(),
        "digest": digest(protocol),
    }
