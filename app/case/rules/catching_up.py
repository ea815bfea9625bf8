"""A station that catches up in several lists: its case is judged when the last of them is in (`judging.md`, Notices 6).

An entry whose facts say `more` came in a list that did not hold all that its station had. From then on the judgement of
its case waits, with all that arrives there meanwhile, until that station's next list in the case is the last, and for
ten seconds at most. The mark is stored with the entry, so a journal that is read again is judged as the day was.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from app.base.moments import whole_second
from app.case.fold import Record
from app.journal.entry import Entry

MORE = "more"
PATIENCE = timedelta(seconds=10)


@dataclass(frozen=True, slots=True)
class CatchingUp:
    """A case whose judgement waits.

    record    all that has arrived of it
    stations  those whose last list was not all they had
    until     the last second that it waits: when that is over it is judged on what there is
    """

    record: Record
    stations: frozenset[str]
    until: datetime


def catching_up(
    before: CatchingUp | None, record: Record, new: Iterable[Entry], received: datetime
) -> CatchingUp | None:
    """How a case waits after some entries, in order of arrival; None when it is to be judged now."""
    stations = set() if before is None else set(before.stations)
    for entry in new:
        (stations.add if entry.facts.get(MORE) else stations.discard)(entry.tap.station)
    if not stations:
        return None
    until = whole_second(received) + PATIENCE - timedelta(seconds=1) if before is None else before.until
    return CatchingUp(record, frozenset(stations), until)
