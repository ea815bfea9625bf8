"""A process that does nothing but store: lists of taps in on standard input, ids of what is on disk out.

    python tests/crash/writing.py DATABASE_URL KEY_FILE

A line in is a JSON list of taps (fields of `Tap`; the case is made when it is new). A line out is a JSON list of the
ids that were acknowledged. It is there to be killed.
"""

from __future__ import annotations

import json
import os
import sys
from concurrent.futures import Future
from pathlib import Path

from app.base.database import migrate, open_engine
from app.base.errors import Busy
from app.base.moments import moment_text
from app.base.time import utc_now
from app.journal.entry import Tap
from app.journal.keys import open_key, register
from app.journal.writer import Outcome, Prepared, Writer


def acknowledge(future: Future[list[Outcome]]) -> None:
    ids = [outcome.id for outcome in future.result() if outcome.entry is not None]
    os.write(1, json.dumps(ids).encode() + b"\n")  # one write, so a kill cannot leave half an id that looks whole


def main(url: str, key_file: str) -> None:
    migrate(url)
    engine, key = open_engine(url), open_key(Path(key_file))
    register(engine, key)
    writer = Writer(engine, key)
    writer.start()
    made: set[str] = set()
    for line in sys.stdin:
        taps = [Tap(**tap) for tap in json.loads(line)]
        for case in {tap.case for tap in taps} - made:
            writer.create_case(case).result()
            made.add(case)
        prepared = [Prepared(tap, {}, moment_text(utc_now())) for tap in taps]
        while True:
            try:
                writer.submit(prepared).add_done_callback(acknowledge)
                break
            except Busy:
                writer.submit([]).result()  # goes to the end of the queue: then there is room again
    writer.stop()
    engine.dispose()


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
