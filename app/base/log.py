"""The log: one line an event on standard error, and never anything about a patient or a person.

What may stand in a line: ids of cases, stations and entries, kinds, counts, durations, and where in the code an error
came from. What may not: bodies, facts, names, notes, secrets. Two things see to it beyond care in the calls: `extra`
fields outside `SAFE` are dropped, and an exception leaves only its class and the places it passed, never its words,
because a database driver puts the refused values into them.
"""

from __future__ import annotations

import logging
import sys
import traceback
from time import gmtime
from typing import Any

SAFE = ("case", "station", "entry", "kind", "seq", "count", "page", "panel", "route", "status", "duration_ms", "days")
"""Names of `extra` fields that a line may carry."""

log = logging.getLogger("doorside")
"""The one logger. `log.warning("what happened", extra={"case": case})`."""


class Line(logging.Formatter):
    """`2026-11-03T14:10:00Z WARNING what happened case=… count=3`, and for an error the places it passed."""

    def __init__(self) -> None:
        super().__init__("%(asctime)s %(levelname)s %(message)s", "%Y-%m-%dT%H:%M:%SZ")
        self.converter = gmtime

    def format(self, record: logging.LogRecord) -> str:
        fields = " ".join(f"{name}={getattr(record, name)}" for name in SAFE if hasattr(record, name))
        return f"{super().format(record)} {fields}".rstrip()

    def formatException(self, ei: Any) -> str:
        kind, _, trace = ei
        places = " < ".join(f"{frame.name} {frame.lineno}" for frame in reversed(traceback.extract_tb(trace)))
        return f"  {kind.__name__} in {places}"


def to_stderr(level: int = logging.INFO) -> None:
    """Sends the log to standard error, once, however often it is called. Raises nothing."""
    if not any(isinstance(handler.formatter, Line) for handler in log.handlers):
        handler = logging.StreamHandler(sys.stderr)
        handler.setFormatter(Line())
        log.addHandler(handler)
        log.propagate = False
    log.setLevel(level)
