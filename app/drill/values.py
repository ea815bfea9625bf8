"""What a scenario file says, as frozen plain values. Lines are numbered from 1."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

from app.case.order import AHEAD_ALLOWED


def _nothing() -> Mapping[int, Correction]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True)
class CaseSetup:
    """A `case` line: what the call said and what the room is.

    handle   the file's name for the case (A, B)
    t0       offset 00:00, in UTC; zone: the hospital's, in which `shift_end` is read
    opening  body of `case.open` without what that line itself says
    room     facts about the room: id, name, ach [1/h], clear [%], anteroom, mixing
    """

    handle: str
    t0: datetime
    zone: ZoneInfo
    opening: Mapping[str, Any]
    room: Mapping[str, Any]
    line: int


@dataclass(frozen=True, slots=True)
class Member:
    """A `staff` line: a person as the register knows them.

    facts  name, job, resp, fit {model: ISO date}, drill (ISO date), immune, no_entry; what is unknown is left out
    """

    handle: str
    facts: Mapping[str, Any]
    line: int


@dataclass(frozen=True, slots=True)
class Act:
    """One entry that a line makes, lists and shorthand expanded.

    index     place in the file, from 0, over all entries: what decides between acts of one second
    case      handle of its case
    who       role that reports it, or SYS
    body      body as stored, except that `ref` and `at` of a correction are still the file's
    at        moment of happening, to the second
    received  moment of arrival when the line says one (`recv=`), otherwise None: at once
    name      the line's `id=`, on the entry that the line is about
    """

    index: int
    line: int
    case: str
    who: str
    kind: str
    body: Mapping[str, Any]
    at: datetime
    received: datetime | None = None
    name: str | None = None


@dataclass(frozen=True, slots=True)
class Correction:
    """What a `tap.fix` or `tap.void` line means: the entries it names, and the moment it sets, if it does."""

    targets: tuple[int, ...]
    at: datetime | None = None


@dataclass(frozen=True, slots=True)
class ExpectedNotice:
    """An `expect | live` or `expect | final` line: a notice and when [s from t0]."""

    at_s: int
    rule: str
    severity: str
    text: str
    line: int


@dataclass(frozen=True, slots=True)
class ExpectedInterval:
    """An `expect | interval` line: `value` in the form of `judging.md`, figures as written in the file."""

    case: str
    code: str
    name: str
    value: Any
    line: int


@dataclass(frozen=True, slots=True)
class Expected:
    """What the file says must come out; None where it says nothing."""

    live: tuple[ExpectedNotice, ...] | None = None
    final: tuple[ExpectedNotice, ...] | None = None
    intervals: tuple[ExpectedInterval, ...] = ()


@dataclass(frozen=True, slots=True)
class Scenario:
    """A whole file.

    name         title: the first comment line up to a colon, or the file's name
    digest       SHA-256 of the text in hex: the same file makes the same ids
    corrections  index of a correcting act -> what it corrects
    """

    name: str
    digest: str
    cases: Mapping[str, CaseSetup]
    staff: Mapping[str, Member]
    acts: tuple[Act, ...]
    corrections: Mapping[int, Correction] = field(default_factory=_nothing)
    expected: Expected = Expected()

    @property
    def end(self) -> datetime:
        """The last second of the file: of happening or of arrival, whichever is later.

        An entry that claims to be from the future counts by its arrival, for it will be taken to have happened then.
        """
        return max(act.at if act.received is None or _nearly(act) else act.received for act in self.acts)


def _nearly(act: Act) -> bool:
    """Whether an act lies after its own arrival, but by no more than a clock may be off (`case/order.py`)."""
    return act.received is not None and timedelta(0) < act.at - act.received <= AHEAD_ALLOWED
