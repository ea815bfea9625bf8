"""Reading and writing moments as text. Pure: asks no clock (that is `base/time.py`)."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from functools import lru_cache

_RFC3339 = re.compile(r"(\d{4})-(\d\d)-(\d\d)[Tt ](\d\d):(\d\d):(\d\d)(?:\.(\d{1,9}))?([Zz]|[+-]\d\d:\d\d)", re.ASCII)
EARLIEST = datetime(2000, 1, 1, tzinfo=UTC)
LATEST = datetime(2101, 1, 1, tzinfo=UTC)


@lru_cache(maxsize=4096)
def parse_moment(text: str) -> datetime:
    """An RFC 3339 text as an aware UTC moment, microseconds kept, finer digits dropped.

    Raises ValueError for anything else, and outside 2000-2100 (`judging.md`, Life of a case).
    Remembers the last ones: a tap's own time is read at the door and in the fold, and a list shares its arrival.

    >>> parse_moment("2026-11-03T15:10:00.25+01:00").isoformat()
    '2026-11-03T14:10:00.250000+00:00'
    """
    match = _RFC3339.fullmatch(text)
    if match is None:
        raise ValueError("not an RFC 3339 time with an offset")
    if len(text) in _PLAIN and text[-1] == "Z" and match[4] != "24" and match[6] != "60":
        return _possible(datetime.fromisoformat(text))  # as a browser and this server write it: five times as quick
    year, month, day, hour, minute, second = (int(part) for part in match.groups()[:6])
    micro = int((match[7] or "0").ljust(6, "0")[:6])
    zone = timedelta(0)
    if match[8] not in "Zz":
        hours, minutes = int(match[8][1:3]), int(match[8][4:6])
        if hours > 23 or minutes > 59:
            raise ValueError("not a possible offset from UTC")
        zone = timedelta(hours=hours, minutes=minutes) * (-1 if match[8][0] == "-" else 1)
    leap = second == 60  # RFC 3339 allows it; the second after is the nearest moment that Python knows
    local = datetime(year, month, day, hour, minute, 59 if leap else second, micro, tzinfo=UTC)
    try:
        return _possible(local + timedelta(seconds=leap) - zone)
    except OverflowError as error:
        raise ValueError("outside the years 2000 to 2100") from error


_PLAIN = (len("2026-11-03T14:10:00.250Z"), len("2026-11-03T14:10:00.250000Z"))


def _possible(moment: datetime) -> datetime:
    if not EARLIEST <= moment < LATEST:
        raise ValueError("outside the years 2000 to 2100")
    return moment


def moment_text(moment: datetime) -> str:
    """The one form in which the server writes a moment: UTC, microseconds, `Z`.

    >>> moment_text(datetime(2026, 11, 3, 14, 10, tzinfo=UTC))
    '2026-11-03T14:10:00.000000Z'
    """
    return moment.astimezone(UTC).isoformat(timespec="microseconds")[:-6] + "Z"


def whole_second(moment: datetime) -> datetime:
    """The second that a moment lies in: rules judge by whole seconds (`judging.md`, Notices 4)."""
    return moment.replace(microsecond=0)


def seconds_between(start: datetime, end: datetime) -> int | float:
    """Seconds from start to end, to the millisecond; whole numbers stay whole [s].

    >>> seconds_between(EARLIEST, EARLIEST + timedelta(seconds=90))
    90
    """
    value = round((end - start).total_seconds(), 3)
    return int(value) if value == int(value) else value
