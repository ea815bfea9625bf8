"""Plain values about stations."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

KINDS = ("inside", "outside", "board", "desk")
LANGUAGES = ("en", "de")
ALL_CASES = "*"
"""Stands in a pairing for every case."""
ERROR_BELIEVED = timedelta(seconds=60)
"""Most that a station's own word on its clock's error widens a pairing: a larger one would open every case to it."""


@dataclass(frozen=True, slots=True)
class Pairing:
    """A station's time with a case (or with all of them): from `since`, until `until` when that is over."""

    case: str
    since: datetime
    until: datetime | None = None


@dataclass(frozen=True, slots=True)
class Station:
    """A paired screen, as the pages need it.

    room     the room that it stands in or before: cases made there are paired to it by themselves; None for no room
    revoked  its pairing was ended at the desk: it sees nothing more, and what it still sends is held there
    """

    id: str
    kind: str
    label: str
    language: str
    pairings: tuple[Pairing, ...] = ()
    room: str | None = None
    revoked: bool = False

    @property
    def all_cases(self) -> bool:
        """Whether it shows every case."""
        return self.serves(ALL_CASES)

    def serves(self, case: str) -> bool:
        """Whether it shows a case now."""
        return not self.revoked and any(pair.case in (case, ALL_CASES) and pair.until is None for pair in self.pairings)

    def served(self, case: str) -> bool:
        """Whether it was paired to a case at some time."""
        return any(pair.case in (case, ALL_CASES) for pair in self.pairings)

    def wrote_in_time(self, case: str, moment: datetime, error: timedelta = timedelta()) -> bool:
        """Whether a tap of that moment, known to within an error (believed up to a minute), was made before a pairing
        with its case ended. When the pairing began says nothing: no screen shows a case before that.
        """
        slack = min(error, ERROR_BELIEVED)
        return any(
            pair.case in (case, ALL_CASES) and (pair.until is None or moment <= pair.until + slack)
            for pair in self.pairings
        )

    @property
    def cases(self) -> tuple[str, ...]:
        """The cases it is paired to now by their own ids, in order of pairing."""
        return tuple(pair.case for pair in self.pairings if pair.until is None and pair.case != ALL_CASES)


@dataclass(frozen=True, slots=True)
class Report:
    """What a station last said of itself; None is unknown.

    battery_percent  0 to 100; charging: whether it hangs on its charger
    offset_ms        correction from its clock to the server's [ms]; error_ms: bound on that [ms]
    waiting          taps that it has not got rid of; refused: taps that the server did not take
    version          of the page that it shows
    """

    at: datetime
    battery_percent: int | None = None
    charging: bool | None = None
    offset_ms: float | None = None
    error_ms: float | None = None
    waiting: int = 0
    refused: int = 0
    version: str = ""


@dataclass(frozen=True, slots=True)
class Listed:
    """A station in the desk's list: what it is, since when, when it was revoked, its newest report."""

    station: Station
    created_at: datetime
    revoked_at: datetime | None
    report: Report | None


@dataclass(frozen=True, slots=True)
class Plan:
    """What a code will pair: chosen at the desk, carried out when the code is used. No room and no cases: all cases."""

    kind: str
    label: str
    language: str = "en"
    cases: tuple[str, ...] = ()
    room: str | None = None


@dataclass(frozen=True, slots=True)
class Held:
    """A tap that waits at the desk for a lead's word, as its station sent it.

    decision  None, `accepted` or `refused`
    """

    id: str
    station: str
    label: str
    case: str
    tap: dict[str, object]
    held_at: datetime
    decision: str | None = None
