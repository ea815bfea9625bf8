"""How wrong PINs slow the next try down: arithmetic only, no clock and no database.

Each person and each station counts for itself. A person's few free tries bound the guessing of one PIN from many
desks; a station's bound one desk that tries many names. Waits double up to a quarter of an hour: by then the tries of a
whole day are about a hundred out of a million PINs. Nobody is locked out for good, for that could be done to them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

FIRST_WAIT_S, WAIT_MOST_S = 30, 900


@dataclass(frozen=True, slots=True)
class Failures:
    """Counted tries of a subject. A try counts before its PIN is looked at, so that many at once are no way around."""

    failed: int = 0
    last_at: datetime | None = None
    locked_until: datetime | None = None


@dataclass(frozen=True, slots=True)
class Limit:
    """`free` wrong PINs cost no wait; one is forgotten each `forgets_s` [s]."""

    free: int
    forgets_s: int


PERSON = Limit(free=5, forgets_s=6 * 3600)
STATION = Limit(free=10, forgets_s=300)
"""A busy desk mistypes now and then: its count runs down sooner."""


def wait_s(failed: int, limit: Limit) -> int:
    """How long the next try waits after so many wrong PINs [s].

    >>> [wait_s(failed, PERSON) for failed in (4, 5, 6, 9, 10, 50)]
    [0, 30, 60, 480, 900, 900]
    """
    over = failed - limit.free
    return 0 if over < 0 else min(FIRST_WAIT_S * 2 ** min(over, 10), WAIT_MOST_S)


def left_s(held: Failures, now: datetime) -> int:
    """How long a subject must still wait, rounded up [s]."""
    if held.locked_until is None or held.locked_until <= now:
        return 0
    return -int(-(held.locked_until - now).total_seconds() // 1)


def counted(held: Failures, limit: Limit, now: datetime) -> Failures:
    """One try more, what is long past forgotten first."""
    quiet_s = 0.0 if held.last_at is None else (now - held.last_at).total_seconds()
    failed = max(0, held.failed - int(max(0.0, quiet_s) // limit.forgets_s)) + 1
    return Failures(failed, now, now + timedelta(seconds=wait) if (wait := wait_s(failed, limit)) else None)


def taken_back(held: Failures, limit: Limit) -> Failures:
    """The try was right after all: it does not count."""
    failed = max(0, held.failed - 1)
    return replace(held, failed=failed, locked_until=held.locked_until if wait_s(failed, limit) else None)
