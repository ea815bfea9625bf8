"""`doorside pair`: a code for a screen, made on the server's own machine when no desk is at hand."""

from __future__ import annotations

import argparse
import json

from app.base.database import migrate, open_engine
from app.base.settings import load
from app.base.time import utc_now
from app.cli.verify import refuse_absent
from app.journal.keys import open_key
from app.stations import codes
from app.stations.values import KINDS, LANGUAGES, Plan


def add_parser(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """`doorside pair [--kind K] [--label TEXT] [--language L] [--db URL] [--json]`."""
    parser = subparsers.add_parser("pair", help="a one-time code that pairs a screen, when no desk is at hand")
    parser.add_argument("--kind", choices=KINDS, default="desk", help="where it stands (default desk)")
    parser.add_argument("--label", help="what people call it")
    parser.add_argument("--language", choices=LANGUAGES, default="en")
    parser.add_argument("--db", help="database URL (default: that of this installation)")
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(args: argparse.Namespace) -> int:
    """Prints a code for a screen that serves all cases. Whoever reads the server's key file may pair."""
    settings = load(db=args.db)
    refuse_absent(settings.db)
    migrate(settings.db)
    engine = open_engine(settings.db)
    try:
        plan = Plan(args.kind, args.label or args.kind, args.language)
        key = open_key(settings.key_file).secret(codes.PURPOSE)
        code = codes.make(engine, plan, key, utc_now(), "command line")
    finally:
        engine.dispose()
    if args.json:
        print(json.dumps({"code": code, "kind": plan.kind, "label": plan.label}))
    else:
        print(f"{code[:4]} {code[4:]}")
        print("Open /pair on the screen and type it within five minutes. It pairs one screen.")
    return 0
