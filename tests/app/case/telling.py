"""A case told in lines, as entries and as the state that they fold to.

    entries = told("10:00 case.open ref=A", "10:20 room.in p=P1", "10:30 vitals spo2=97; id=v1; recv=12:00")

A line is `mm:ss kind key=value; key=value`. Words for the envelope: `id`, `recv` (mm:ss, otherwise one second later),
`station`, `counter`, `offset` and `error` [ms] (0 unless said, `none` = never synchronised), `clock` (mm:ss on the
station's clock, otherwise the line's own). `at` of a correction is mm:ss too; `ref` is an `id`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

from app.base.moments import moment_text
from app.case.correction import happenings
from app.case.fold import fold, marked
from app.case.happening import Happening
from app.case.state import State
from app.case.vocabulary.registry import read_body
from app.case.vocabulary.words import body_of
from app.journal.entry import Entry, Tap

T0 = datetime(2026, 11, 3, 14, 10, tzinfo=UTC)
CASE = "case"
_ENVELOPE: tuple[str, ...] = ("recv", "station", "counter", "offset", "error", "clock")
ROOM = {"id": "R4", "name": "Room 4", "ach": 12, "clear": 99.9, "mixing": 1, "tz": "UTC"}


def moment(text: str) -> datetime:
    """`mm:ss` after T0, which may be negative and may pass 60 minutes."""
    sign = -1 if text.startswith("-") else 1
    minutes, seconds = text.lstrip("-").split(":")
    return T0 + sign * timedelta(minutes=int(minutes), seconds=float(seconds))


def told(*lines: str, facts: Mapping[str, Any] | None = None) -> list[Entry]:
    """Entries of the lines, in order of arrival as written; `facts` come with each `case.open`."""
    made = []
    for nth, line in enumerate(filter(None, (part.strip() for text in lines for part in text.splitlines())), 1):
        when, kind, *rest = line.split(" ", 2)
        words = dict(part.strip().split("=", 1) for part in rest[0].split(";")) if rest else {}
        own = {name: words.pop(name) for name in _ENVELOPE if name in words}
        own["id"] = words.pop("id", f"e{nth}")
        body = body_of(kind, words)
        if kind == "tap.fix" and "at" in body and ":" in str(body["at"]):
            body["at"] = moment_text(moment(str(body["at"])))
        read_body(kind, body)
        made.append(_entry(kind, body, moment(when), nth, own, dict(facts or {}) if kind == "case.open" else {}))
    return made


def _entry(
    kind: str, body: dict[str, Any], at: datetime, nth: int, own: Mapping[str, str], facts: Mapping[str, Any]
) -> Entry:
    clockless = own.get("offset") == "none"
    tap = Tap(
        own["id"],
        CASE,
        kind,
        body,
        own.get("station", "inside"),
        int(own.get("counter", nth)),
        moment_text(moment(own["clock"]) if "clock" in own else at),
        role="DOC",
        offset_ms=None if clockless else float(own.get("offset", 0)),
        error_ms=None if clockless else float(own.get("error", 0)),
    )
    received = moment(own["recv"]) if "recv" in own else at + timedelta(seconds=1)
    return Entry(tap, facts, nth, moment_text(received), "", "")


def state_of(*lines: str, facts: Mapping[str, Any] | None = None) -> State:
    """The state that the lines fold to."""
    return fold(CASE, told(*lines, facts=facts))


def history_of(entries: Iterable[Entry]) -> dict[str, Happening]:
    """Entry id to what it came to, corrected and marked, in order of happening."""
    return {h.id: h for h in marked(happenings(entries))}
