"""Taps that are not stored at once but wait at the desk: which they are, what is answered, and what a lead's word does.

A station may write to a case what was tapped while it was paired to it, however late it comes. What it tapped outside
that time, and whatever comes after its revoke, is held: nothing vanishes, and nothing enters a record unseen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime, timedelta
from typing import Any

from app.base.errors import DoorsideError, NotValid
from app.base.moments import parse_moment
from app.base.time import utc_now
from app.journal.entry import Tap
from app.live.live import Live
from app.stations import held as store
from app.stations.values import Held, Station

AHEAD_ALLOWED = timedelta(seconds=5)
REFUSED = NotValid(
    "A lead at the desk did not take this tap into the record.",
    holds="It stays readable on this screen until it is seen.",
    do="If it did happen, tell the desk.",
)


def made_at(tap: Tap, now: datetime) -> tuple[datetime, timedelta]:
    """When a tap was made by the server's clock, and the bound on that; by arrival where the clock says nothing.

    The fold's reading (`case/order.py`) without what other entries of the station may tell later.
    """
    if tap.offset_ms is None:
        return now, timedelta()
    try:
        error = timedelta(milliseconds=tap.error_ms or 0)
        at = parse_moment(tap.device_at) + timedelta(milliseconds=tap.offset_ms)
        return (now, error) if at > now + AHEAD_ALLOWED + error else (at, error)
    except OverflowError:
        return now, timedelta()


def must_wait(station: Station, tap: Tap, now: datetime) -> bool:
    """Whether a tap is for a lead to decide about."""
    return station.revoked or not station.wrote_in_time(tap.case, *made_at(tap, now))


def keep(live: Live, station: Station, taps: Sequence[Tap]) -> list[Held]:
    """Holds taps of one station; one that was decided about is left as it is. Raises TooLarge for too many."""
    return store.hold(live.engine, station.id, [asdict(tap) for tap in taps], utc_now())


def answer(held: Held) -> dict[str, Any]:
    """What the station hears of a tap that waits."""
    return {
        "id": held.id,
        "status": "held",
        "error": "This screen's pairing was over when this was tapped or sent.",
        "holds": "The desk has it, and it stays on this screen.",
        "do": "A lead at the desk takes it into the record or refuses it.",
    }


def as_tap(held: Held) -> Tap:
    """The tap as its station sent it."""
    return Tap(**held.tap)  # type: ignore[arg-type]


async def accept(live: Live, taps: Sequence[Held]) -> tuple[list[str], list[tuple[Held, DoorsideError]]]:
    """Stores held taps under the ids and stations they came with, in the order of each station.

    Gives the ids that are in the record now, and those that the journal did not take with its reason.
    """
    outcomes = await live.store([as_tap(one) for one in taps]) if taps else []
    stored = [outcome.id for outcome in outcomes if outcome.error is None]
    failed = [(one, outcome.error) for one, outcome in zip(taps, outcomes, strict=True) if outcome.error is not None]
    return stored, failed
