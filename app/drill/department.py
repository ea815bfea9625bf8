"""The invented hospital of the demo: its rooms and its night staff. Nobody and nothing here is real.

Five rooms are `scenarios/room-*.scenario`, written as if the demo began at NOW of their own night. Further staff, on
call and in no room, stand here, so that the form for a new case has somebody to choose.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

from app.drill.moving import moved
from app.drill.scenario import read_file
from app.drill.setup import member, slug
from app.drill.values import Member, Scenario

HOSPITAL = "Quillhaven Hospital (DRILL)"
NOW = datetime(2026, 9, 19, 3, 30, tzinfo=UTC)
"""The moment in the files at which the demo begins."""
YOURS = "Room 4"
"""The room that is left to whoever tries the demo: its crew is inside, and nothing is played after that."""
FILES = Path(__file__).parent / "scenarios"

_ON_CALL = (
    "N23 | name=Elin Moor; job=consultant anaesthetist; resp=hood; drill=2026-08-02; immune=yes",
    "N24 | name=Jory Adler; job=anaesthetic assistant; resp=tight:M1; fit=M1:2026-01-19; drill=2026-08-02; immune=yes",
    "N25 | name=Sanna Quill; job=senior trainee; resp=tight:K2; fit=K2:2025-09-30; drill=2026-03-28; immune=yes",
    "N26 | name=Dario Fenn; job=intensive care nurse; resp=tight:K2; fit=K2:2025-08-30; drill=2026-05-25; immune=no",
    "N27 | name=Hanne Voss; job=theatre practitioner; resp=tight:M1; fit=M1:2026-06-11; drill=2025-07-30; immune=na",
    "N28 | name=Idris Cole; job=theatre support worker; resp=none; drill=2026-04-14; immune=yes",
)
_SPARE_ROOMS: tuple[Mapping[str, Any], ...] = (
    {"name": "Room 6", "ach": 12, "clear": 99.9, "mixing": 1},
    {"name": "Room 7", "clear": 99},
)


@dataclass(frozen=True, slots=True)
class Staff:
    """A row of the register of people, before it is one. `facts` as in `values.Member`."""

    id: str
    facts: Mapping[str, Any]

    @property
    def name(self) -> str:
        return str(self.facts["name"])

    @property
    def initials(self) -> str:
        """First letters of the name."""
        return "".join(word[0] for word in self.name.split()).upper()


def rooms() -> tuple[Scenario, ...]:
    """The five rooms' scenarios as they stand in their files."""
    return tuple(read_file(path) for path in sorted(FILES.glob("room-*.scenario")))


def tonight(scenario: Scenario, now: datetime, zone: ZoneInfo) -> Scenario:
    """A room's scenario as if the demo's moment were now."""
    (setup,) = scenario.cases.values()
    return moved(scenario, now - (NOW - setup.t0), zone)


def staff(now: datetime, zone: ZoneInfo) -> tuple[Staff, ...]:
    """Everybody on the invented shift, fit tests and drills as old on that day as the files have them on theirs."""
    found: dict[str, Staff] = {}
    for scenario in rooms():
        for handle, one in tonight(scenario, now, zone).staff.items():
            found.setdefault(handle, Staff(handle, one.facts))
    setup = next(iter(rooms()[0].cases.values()))
    on_call = Scenario("", "", {setup.handle: setup}, {m.handle: m for m in _called()}, ())
    for handle, one in tonight(on_call, now, zone).staff.items():
        found.setdefault(handle, Staff(handle, one.facts))
    return tuple(found[handle] for handle in sorted(found))


def _called() -> tuple[Member, ...]:
    return tuple(member(line, number) for number, line in enumerate(_ON_CALL, start=1))


def wards() -> tuple[Mapping[str, Any], ...]:
    """The rooms as the register has them: id, name, ach [1/h], clear [%], anteroom, mixing."""
    found = [dict(next(iter(scenario.cases.values())).room) for scenario in rooms()]
    found += [{"id": slug(str(room["name"])), **room} for room in _SPARE_ROOMS]
    return tuple(MappingProxyType(room) for room in found)
