"""When did it happen: from a station's clock to corrected time."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from app.base.moments import parse_moment
from app.case.happening import Mark
from app.journal.entry import Entry

AHEAD_ALLOWED = timedelta(seconds=5)

Offsets = Mapping[str, tuple[tuple[int, float], ...]]
"""Per station: its counters with a known clock offset, rising, and that offset [ms]."""


def known_offsets(entries: Iterable[Entry]) -> Offsets:
    """What is known of each station's clock from all of its entries."""
    found: dict[str, list[tuple[int, float]]] = {}
    for entry in entries:
        if entry.tap.offset_ms is not None:
            found.setdefault(entry.tap.station, []).append((entry.tap.counter, entry.tap.offset_ms))
    return {station: tuple(sorted(pairs)) for station, pairs in found.items()}


def happened_at(entry: Entry, offsets: Offsets) -> tuple[datetime, Mark | None]:
    """Corrected time of an entry, and what a reader must know of it.

    Device time plus offset. Without an offset the station's next known one serves (else its last): its clock ran on the
    same. Without any, and where the result lies further ahead of the server than its error and 5 s, the time of arrival
    stands instead (`judging.md`, Life of a case).
    """
    tap, mark, offset_ms = entry.tap, None, entry.tap.offset_ms
    if offset_ms is None:
        pairs = offsets.get(tap.station, ())
        if not pairs:
            return entry.received, Mark.NO_CLOCK
        mark = Mark.REDATED
        offset_ms = next((offset for counter, offset in pairs if counter > tap.counter), pairs[-1][1])
    try:
        at = parse_moment(tap.device_at) + timedelta(milliseconds=offset_ms)
        latest = entry.received + AHEAD_ALLOWED + timedelta(milliseconds=tap.error_ms or 0)
    except OverflowError:
        return entry.received, Mark.AHEAD
    return (entry.received, Mark.AHEAD) if at > latest else (at, mark)
