"""A happening: one entry as the record stands now, corrected and dated."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from app.case.vocabulary.body import Body


class Mark(StrEnum):
    """What a reader must know about an entry's time or place in the case."""

    FIXED_TIME = "time corrected"
    FIXED_VALUE = "value corrected"
    BAD_FIX = "a correction did not fit and was left out"
    NO_CLOCK = "clock never synchronised: time of arrival"
    REDATED = "clock synchronised later: time reckoned back"
    AHEAD = "clock ahead of the server: time of arrival"
    UNREADABLE = "of a kind that this version does not know"
    BEFORE_OPEN = "before the case was opened"
    AFTER_CLOSE = "after the case was closed"
    AFTER_SIGN = "after the record was signed"


@dataclass(frozen=True, slots=True)
class Happening:
    """What happened, when, said by whom. Carries nothing of arrival: the same set of entries gives the same happenings.

    at      corrected time of happening
    body    the body with corrections applied; None when this version cannot read it
    stands  False when voided
    """

    id: str
    kind: str
    at: datetime
    body: Body | None
    station: str
    counter: int
    role: str | None
    person: str | None
    facts: Mapping[str, Any]
    marks: frozenset[Mark] = frozenset()
    stands: bool = True

    @property
    def order(self) -> tuple[datetime, str, int, str]:
        """Order of happening: corrected time, then station, then the station's own counter."""
        return (self.at, self.station, self.counter, self.id)
