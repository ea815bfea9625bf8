"""The state of a case: what the fold makes of the journal. Plain frozen data; how it changes is in `folds/`.

Unknown is None. Times are corrected times of happening. Collections are never changed in place.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from datetime import datetime
from enum import StrEnum
from operator import attrgetter
from typing import Any

from app.case.growing import Grown
from app.case.happening import Happening
from app.case.mappings import EMPTY, with_item, without
from app.case.parts import (
    Airway,
    Attempt,
    Circuit,
    Person,
    Plan,
    Request,
    RequestState,
    Room,
    Setup,
    Stay,
    Tray,
)
from app.protocol.values import RuleSetting

__all__ = [
    "EMPTY",
    "INSIDE_KINDS",
    "Airway",
    "Attempt",
    "Circuit",
    "Life",
    "Person",
    "Plan",
    "Request",
    "RequestState",
    "Room",
    "Setup",
    "State",
    "Stay",
    "Tray",
    "with_item",
    "without",
]

INSIDE_KINDS = frozenset({None, "staff"})


class Life(StrEnum):
    """The stages of a case's life (`judging.md`)."""

    PLANNED = "planned"
    READY = "ready"
    INSIDE = "inside"
    AIRWAY = "airway"
    SETTLED = "settled"
    LEAVING = "leaving"
    CLOSED = "closed"
    ABORTED = "aborted"


@dataclass(frozen=True, slots=True)
class State:
    """Everything a page, a rule or an interval may ask of a case.

    protocol what `case.open` was pinned to, as the registers said it; rules: its rule settings, empty when unsaid
    by_kind  every standing happening by kind, in order of happening
    doors    door name to since when it is open
    places   place to item to quantity
    acks     (rule, subject) to when it was last acknowledged
    linked   by kind, what another station had recorded already and so changed nothing (`both_sides`)
    """

    case: str
    setup: Setup = field(default=Setup())
    opened_at: datetime | None = None
    room: Room = field(default=Room())
    protocol: Mapping[str, Any] = EMPTY
    rules: Mapping[str, RuleSetting] = EMPTY
    plan: Plan = field(default=Plan())
    roles: Mapping[str, tuple[str, ...]] = EMPTY
    people: Mapping[str, Person] = EMPTY
    trays: Mapping[str, Tray] = EMPTY
    places: Mapping[str, Mapping[str, float]] = EMPTY
    requests: Mapping[str, Request] = EMPTY
    attempts: tuple[Attempt, ...] = ()
    airway: Airway = field(default=Airway())
    circuit: Circuit = field(default=Circuit())
    doors: Mapping[str, datetime] = EMPTY
    rescues: tuple[tuple[str, datetime], ...] = ()
    exposures: tuple[str, ...] = ()
    link_lost: Mapping[str, datetime] = EMPTY
    acks: Mapping[tuple[str, str | None], datetime] = EMPTY
    linked: Mapping[str, tuple[Happening, ...]] = EMPTY
    aborted_at: datetime | None = None
    closed_at: datetime | None = None
    signed_at: datetime | None = None
    last_at: datetime | None = None
    by_kind: Mapping[str, Grown[Happening]] = field(default=EMPTY)

    def after(self, last_at: datetime, by_kind: Mapping[str, Grown[Happening]]) -> State:
        """The state with what every happening changes: as `dataclasses.replace` gives it, in half the time."""
        values: tuple[Any, ...] = (*_BEFORE(self), last_at, by_kind)
        return State(*values)

    def all(self, kind: str) -> Sequence[Happening]:
        return self.by_kind.get(kind, ())

    def first(self, kind: str) -> Happening | None:
        return found[0] if (found := self.by_kind.get(kind)) else None

    def last(self, kind: str) -> Happening | None:
        return found[-1] if (found := self.by_kind.get(kind)) else None

    @property
    def inside(self) -> tuple[str, ...]:
        """Who is in the room, in order of entry."""
        here = [person for person in self.people.values() if person.inside]
        return tuple(person.id for person in sorted(here, key=lambda person: person.stays[-1].entered))

    @property
    def open_requests(self) -> tuple[Request, ...]:
        """Requests not yet received: "now" before "soon", oldest first."""
        waiting = [request for request in self.requests.values() if request.open]
        return tuple(sorted(waiting, key=lambda r: (r.urgency != "now", r.asked is None, r.asked, r.q)))


_BEFORE = attrgetter(*(one.name for one in fields(State)[:-2]))
"""All fields but the last two."""
