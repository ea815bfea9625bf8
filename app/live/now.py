"""A case as panels see it: state, protocol, stage, and how to name its people."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

from app.base.errors import Unknown
from app.base.kinds import ROLES
from app.base.messages import N_
from app.case.happening import Happening
from app.case.life import life, phase
from app.case.rules.day import Life
from app.case.state import Life as Stage
from app.case.state import Person, State
from app.journal.entry import Entry
from app.live.cases import LiveCase
from app.protocol.in_use import pinned
from app.protocol.library import protocol_for
from app.protocol.values import Phase, Protocol


@dataclass(frozen=True)
class CaseNow:
    """One case at one revision. touched: how often something that it shows has changed without an entry."""

    id: str
    state: State
    history: Sequence[Happening]
    revision: int
    notices: tuple[Life, ...] = ()
    entries: Sequence[Entry] = ()
    touched: int = 0

    @classmethod
    def of(cls, case: str, live: LiveCase, notices: tuple[Life, ...] = ()) -> CaseNow:
        record = live.record
        return cls(case, live.state, record.history, live.revision, notices, record.entries, live.touched)

    @property
    def room(self) -> str:
        """The room's name, always the first word on pages that show several."""
        return self.state.room.name or self.state.setup.ref or N_("Room not said")

    @cached_property
    def life(self) -> Stage:
        return life(self.state)

    @cached_property
    def protocol(self) -> Protocol:
        own = pinned(self.state.protocol)
        return own or _protocol(self.state.setup.procedure or "intubation", self.state.setup.age)

    @cached_property
    def phase(self) -> Phase:
        """The protocol's stage that the case is in."""
        stages = self.protocol.phases
        return next((stage for stage in stages if stage.id == phase(self.state)), stages[0])

    @property
    def crew(self) -> tuple[Person, ...]:
        """Everybody who has a role or equipment, in the order of the roles."""
        order = {role: place for place, role in enumerate(ROLES)}
        ranks = {p: order.get(role, 99) for role, people in reversed(list(self.state.roles.items())) for p in people}
        known = {**{p: self.person(p) for p in ranks}, **self.state.people}
        return tuple(sorted(known.values(), key=lambda person: (ranks.get(person.id, 99), person.name)))

    def person(self, p: str) -> Person:
        return self.state.people.get(p) or Person(p)

    def roles_of(self, p: str) -> tuple[str, ...]:
        """Codes of the roles that a person holds."""
        return tuple(role for role in ROLES if p in self.state.roles.get(role, ()))

    def holder(self, *roles: str) -> Person | None:
        """Who holds the first of these roles that is filled."""
        return next((self.person(p) for role in roles for p in self.state.roles.get(role, ())), None)


@lru_cache(maxsize=64)
def _protocol(procedure: str, age: str | float | None) -> Protocol:
    said = "" if age is None else str(age)
    try:
        return protocol_for(procedure, said)
    except Unknown:  # a word of the station's own: the case keeps its buttons, and no page is lost over it
        return protocol_for("intubation", said)


def by_room(cases: Iterable[CaseNow]) -> tuple[CaseNow, ...]:
    """Cases in the order of their rooms' names."""
    return tuple(sorted(cases, key=lambda case: (case.room, case.id)))
