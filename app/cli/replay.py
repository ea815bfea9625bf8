"""`doorside replay`: plays a scenario file into a database and says whether what came out is what the file expects.

Exit status 0: as expected; 1: something differs; 2: the file or the words of the command cannot be used.
"""

from __future__ import annotations

import json
import sys
import tempfile
from argparse import ArgumentTypeError, Namespace
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING, Any

from app.base import settings
from app.base.database import migrate, open_engine
from app.base.errors import DoorsideError
from app.drill.department import Staff
from app.drill.differences import clock, interval_text, shown
from app.drill.outcome import Outcome, outcome
from app.drill.player import play
from app.drill.register import register
from app.drill.scenario import read_file
from app.drill.values import Scenario
from app.journal import keys
from app.journal.keys import ServerKey
from app.journal.writer import Writer

if TYPE_CHECKING:
    from argparse import _SubParsersAction

    from sqlalchemy import Engine


def add_parser(subparsers: _SubParsersAction[Any]) -> None:
    """Declares the command."""
    parser = subparsers.add_parser("replay", help="play a scenario file and compare with what it expects")
    parser.add_argument("file", type=Path, metavar="FILE", help="a scenario file")
    parser.add_argument("--shuffle", type=_seed, metavar="SEED", help="random order of arrival; the record is the same")
    parser.add_argument("--pace", type=_pace, metavar="X", help="X times as fast as real time; default: at once")
    parser.add_argument("--db", metavar="URL", help="play into this database; default: a temporary one")
    parser.add_argument("--json", action="store_true", dest="as_json", help="one JSON object on standard output")
    parser.set_defaults(run=run)


def _seed(text: str) -> int:
    try:
        return int(text)
    except ValueError:
        raise ArgumentTypeError(f"{text!r} is no whole number") from None


def _pace(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = 0.0
    if not 0 < value <= 1e6:
        raise ArgumentTypeError(f"{text!r} is no number above 0")
    return value


def run(args: Namespace) -> int:
    """Runs the command."""
    try:
        scenario = read_file(args.file)
    except DoorsideError as error:
        print(f"{args.file}: {error}", file=sys.stderr)
        return 2
    try:
        with _database(args.db) as (engine, key):
            result = played(scenario, engine, key, shuffle=args.shuffle, pace=args.pace)
    except DoorsideError as error:
        print(error, file=sys.stderr)
        return 2
    if args.as_json:
        print(json.dumps(result.shape(), ensure_ascii=False))
    else:
        print("\n".join(lines(result)))
    return 0 if result.ok else 1


@contextmanager
def _database(url: str | None) -> Iterator[tuple[Engine, ServerKey]]:
    """The database to play into, migrated, and the key that signs there; a temporary one is gone afterwards."""
    if url is not None:
        chosen = settings.load(db=url)
        migrate(chosen.db)
        engine = open_engine(chosen.db)
        try:
            yield engine, keys.open_key(chosen.key_file)
        finally:
            engine.dispose()
        return
    with tempfile.TemporaryDirectory(prefix="doorside-replay-") as folder:
        temporary = f"sqlite:///{folder}/replay.db"
        migrate(temporary)
        engine = open_engine(temporary)
        try:
            yield engine, ServerKey.generate()
        finally:
            engine.dispose()


def played(
    scenario: Scenario, engine: Engine, key: ServerKey, *, shuffle: int | None = None, pace: float | None = None
) -> Outcome:
    """Plays a scenario into a migrated database, reads it back and judges it."""
    people = [Staff(member.handle, member.facts) for member in scenario.staff.values()]
    register(engine, people, [setup.room for setup in scenario.cases.values()])
    keys.register(engine, key)
    writer = Writer(engine, key)
    writer.start()
    try:
        play(scenario, writer, shuffle=shuffle, pace=pace, wait=Event().wait)
    finally:
        writer.stop()
    return outcome(scenario, engine, key.public, in_order=shuffle is None)


def lines(result: Outcome) -> Iterator[str]:
    """The result for people."""
    yield result.scenario
    yield f"{result.entries} entries, chain {result.chain}"
    for title, notices in (("Raised on the day", result.live), ("Standing in the final record", result.final)):
        yield ""
        yield f"{title}: {len(notices) or 'nothing'}"
        for one in notices:
            late = "  (late)" if one["late"] else ""
            when = clock(one["at_s"])
            yield f"  {one['case']}  {when:>7}  {one['rule']}  {one['severity']}  {one['text']}{late}"
    for case, measured in result.intervals.items():
        yield ""
        yield f"Intervals of case {case}"
        yield from (f"  {code}  {interval_text(code, value)}" for code, value in measured.items())
    for case, state in result.state.items():
        yield ""
        yield f"Case {case} is {state['state']}, phase {state['phase']}"
        yield f"  inside    {', '.join(state['inside']) or 'nobody'}"
        yield f"  attempts  {state['attempts']}"
        yield f"  open      {shown(state['requests'])}"
        yield f"  exposures {', '.join(state['exposures']) or 'none'}"
    yield ""
    yield from _compared(result)


def _compared(result: Outcome) -> Iterator[str]:
    if not result.differences:
        yield "As expected." if result.ok else f"NOT as expected: {result.chain}"
        return
    rows = [(one.what, one.expected or "-", one.got or "-") for one in result.differences]
    rows.insert(0, ("NOT as expected", "expected", "got"))
    wide = [max(len(row[column]) for row in rows) for column in (0, 1)]
    for what, expected, got in rows:
        yield f"{what:<{wide[0]}}  {expected:<{wide[1]}}  {got}"
