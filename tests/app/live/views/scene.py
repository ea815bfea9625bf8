"""A case as a panel sees it, made of a few entries, without a database or a server."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from app.base.moments import moment_text
from app.case.fold import Record
from app.case.rules.judge import status
from app.journal.entry import Entry, Tap
from app.live.cases import LiveCase
from app.live.drawing import Drawing
from app.live.now import CaseNow

T0 = datetime(2026, 11, 3, 14, 0, tzinfo=UTC)
PEOPLE = {
    f"P{n}": {"name": name, "job": "doctor", "resp": "tight:K2"}
    for n, name in enumerate(("Ada", "Bea", "Cy", "Dot"), 1)
}
OPEN = ("case.open", {"ref": "C1", "procedure": "intubation", "precaution": "airborne", "age": "adult"})
CREW = ("role.assign", {"TL": "P1", "AO": "P2", "DR": "P3"})
GOES_IN = (("don.start", {"p": "P2", "ens": "airborne"}), ("room.in", {"p": "P2"}))
Said = tuple[str, Mapping[str, Any]]


def after(seconds: float) -> datetime:
    """The moment so many seconds after the first entry."""
    return T0 + timedelta(seconds=seconds)


def entries(*said: Said, case: str = "A", room: str = "Room 4") -> tuple[Entry, ...]:
    """Entries ten seconds apart, the first at T0; `id` is e1, e2 …"""
    made = []
    for n, (kind, body) in enumerate(said):
        named = [p for p in body.values() if isinstance(p, str) and p in PEOPLE] if kind != "notice.ack" else []
        facts: dict[str, Any] = {"people": {p: PEOPLE[p] for p in named}}
        if kind == "case.open":
            facts["room"] = {"id": room, "name": room, "ach": 12, "clear": 99.9}
        moment = moment_text(after(10 * n))
        tap = Tap(f"e{n + 1}", case, kind, body, "tablet", n + 1, moment, "DOC", None, 0, 5)
        made.append(Entry(tap, facts, n + 1, moment, "0" * 64, "0" * 64))
    return tuple(made)


def now(*said: Said, case: str = "A", room: str = "Room 4", judged_after_s: float | None = None) -> CaseNow:
    """A case after some entries; with its notices as they stand so many seconds after the first entry."""
    kept = entries(*said, case=case, room=room)
    live = LiveCase(Record.of(case, kept), revision=len(kept))
    lives = status({case: kept}, after(judged_after_s)) if judged_after_s is not None else ()
    return replace(CaseNow.of(case, live), notices=lives)


def html(panel: str, *cases: CaseNow) -> str:
    """A panel as it is sent to pages."""
    return Drawing(ZoneInfo("UTC")).panel(panel, cases, "en")


def words(panel: str, *cases: CaseNow) -> str:
    """What a reader sees of a panel, on one line."""
    return " ".join(re.sub(r"<[^>]+>", " ", html(panel, *cases)).split())


def offered(panel: str, *cases: CaseNow) -> list[str]:
    """Kinds of the entries that its buttons make."""
    return re.findall(r'data-kind="([a-z.0-9_]+)"', html(panel, *cases))
