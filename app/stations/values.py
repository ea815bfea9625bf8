"""Plain values about stations."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

KINDS = ("inside", "outside", "board", "desk")


@dataclass(frozen=True, slots=True)
class Pairing:
    """A station's time with a case: from `since`, until `until` when that is over."""

    case: str
    since: datetime
    until: datetime | None = None


@dataclass(frozen=True, slots=True)
class Station:
    """A paired screen, as the pages need it."""

    id: str
    kind: str
    label: str
    language: str
    all_cases: bool
    pairings: tuple[Pairing, ...] = ()

    def serves(self, case: str) -> bool:
        """Whether it shows a case now."""
        return self.all_cases or any(pair.case == case and pair.until is None for pair in self.pairings)

    def served(self, case: str) -> bool:
        """Whether it may write to a case: it was paired to it at some time, so late taps are not lost."""
        return self.all_cases or any(pair.case == case for pair in self.pairings)

    @property
    def cases(self) -> tuple[str, ...]:
        """The cases it is paired to now, in order of pairing."""
        return tuple(pair.case for pair in self.pairings if pair.until is None)
