"""One entry of a journal: the envelope of `vocabulary.md`, and nothing that does I/O.

What a station sends is a `Tap`; the server adds `facts` and its place in the journal, which makes it an `Entry`.
Stored entries may be read by any later version, so fields are only ever added, at the end and with a default.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any

from app.base.moments import parse_moment

Body = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Tap:
    """What a station says happened.

    id          UUIDv7 made on the station; the same id is the same tap
    case        id of the case
    kind, body  a row of the vocabulary
    role        the role spoken for, if any; person: who is signed in at that station, if anyone
    station     id of the station; counter: its own running number, from 1
    device_at   RFC 3339 text as the station's clock had it, never changed
    offset_ms   correction from that clock to the server's [ms]; error_ms: bound on its error [ms];
                both None on a station that was never synchronised
    """

    id: str
    case: str
    kind: str
    body: Body
    station: str
    counter: int
    device_at: str
    role: str | None = None
    person: str | None = None
    offset_ms: float | None = None
    error_ms: float | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """A tap in its place: what the registers said, when it arrived, and the chain (`chain.py`).

    facts       what the registers said of what it names; `more`: its list did not hold all that its station had
    seq         1, 2, 3 … within the case, without gaps, in order of arrival
    received_at server time of arrival, `moments.moment_text`
    prev, hash  SHA-256 in hex; `prev` of the first is 64 zeros
    """

    tap: Tap
    facts: Body
    seq: int
    received_at: str
    prev: str
    hash: str

    @property
    def received(self) -> datetime:
        """Moment of arrival."""
        return parse_moment(self.received_at)


TAP_FIELDS = tuple(field.name for field in fields(Tap))
