"""`doorside admin`: who administers this installation, and a new PIN for one who lost theirs. On the machine alone."""

from __future__ import annotations

import argparse
import json

from sqlalchemy import Engine

from app.base.database import migrate, open_engine
from app.base.errors import Conflict, NotValid, Unknown
from app.base.settings import load
from app.base.time import utc_now
from app.cli.verify import refuse_absent
from app.journal.keys import open_key
from app.people.sign_in import pins, store
from app.people.sign_in.values import Member

HOW = "command line"


def add_parser(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """`doorside admin list|reset [PERSON] [--db URL] [--json]`."""
    parser = subparsers.add_parser("admin", help="who administers; a new PIN for one who lost theirs")
    parser.add_argument("what", choices=("list", "reset"))
    parser.add_argument("person", nargs="?", help="name or id of the administrator; not needed when there is only one")
    parser.add_argument("--db", help="database URL (default: that of this installation)")
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(args: argparse.Namespace) -> int:
    """Prints the administrators, or a first PIN for one of them. Raises DoorsideError when nothing was done."""
    settings = load(db=args.db)
    refuse_absent(settings.db)
    migrate(settings.db)
    engine = open_engine(settings.db)
    try:
        known = [one for one in store.members(engine) if one.rights.admin]
        if not known:
            raise Unknown(
                "Nobody administers this installation yet.",
                holds="Nothing was changed.",
                do="`doorside serve` prints a link for the first set-up.",
            )
        if args.what == "list":
            _print(args, {"administrators": [{"id": one.id, "name": one.name} for one in known]}, _names(known))
            return 0
        one = _chosen(known, args.person)
        pin = _reset(engine, one, open_key(settings.key_file).secret(pins.PURPOSE))
    finally:
        engine.dispose()
    words = f"First PIN of {one.name}: {pin}\nIt opens nothing but the choice of an own PIN. Their sessions have ended."
    _print(args, {"id": one.id, "name": one.name, "pin": pin}, words)
    return 0


def _reset(engine: Engine, one: Member, secret: bytes) -> str:
    pin = pins.first_pin()
    store.set_pin(engine, one.id, pins.hashed(pin, secret), first=True, now=utc_now(), how=HOW)
    return pin


def _chosen(known: list[Member], named: str | None) -> Member:
    if named is None and len(known) > 1:
        raise NotValid("There are several administrators.", holds="Nothing was changed.", do=_names(known))
    found = known if named is None else [one for one in known if named in (one.id, one.name)]
    if not found:
        raise Unknown(f"No administrator is called {named!r}.", holds="Nothing was changed.", do=_names(known))
    if len(found) > 1:
        raise Conflict("Two administrators have that name.", holds="Nothing was changed.", do=_names(found))
    return found[0]


def _names(known: list[Member]) -> str:
    return "\n".join(f"{one.id}  {one.name}" for one in known)


def _print(args: argparse.Namespace, shape: dict[str, object], words: str) -> None:
    print(json.dumps(shape, ensure_ascii=False) if args.json else words)
