"""The people of the room by name: who goes in or out, whose protection failed, who made the attempt. One tap each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.base.kinds import IN_ROOM_ROLES
from app.base.messages import N_
from app.case.state import Person
from app.live.now import CaseNow
from app.live.views.crew import since_of
from app.live.views.taps import Offer

PEOPLE_MOST = 8
STAYS = "stays as bedside nurse"
"""Said with a role that is laid down by somebody who does not leave the room."""


@dataclass(frozen=True, slots=True)
class Tile:
    """One person: name, roles, stage and since when, since when they wear equipment, and their taps."""

    name: str
    roles: tuple[str, ...]
    stage: str
    since: datetime | None
    worn_since: datetime | None
    breached: datetime | None
    taps: tuple[Offer, ...]


@dataclass(frozen=True, slots=True)
class PeopleView:
    """Those inside first, then those who may come in."""

    tiles: tuple[Tile, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> PeopleView:
        case = cases[0]
        found = sorted(case.crew, key=lambda person: (not person.inside, person.stage != "checked"))
        return cls(tuple(_tile(case, person) for person in found if _of_the_room(case, person))[:PEOPLE_MOST])


def _of_the_room(case: CaseNow, person: Person) -> bool:
    roles = case.roles_of(person.id)
    return person.inside or person.dressed or any(role in IN_ROOM_ROLES | {"SO"} for role in roles)


def _tile(case: CaseNow, person: Person) -> Tile:
    worn = person.don_start if person.dressed else None
    breach = person.breached_at
    return Tile(
        person.name, case.roles_of(person.id), person.stage, since_of(person), worn, breach, _taps(case, person)
    )


def _taps(case: CaseNow, person: Person) -> tuple[Offer, ...]:
    """Nothing is withheld: going in unchecked can be tapped too, and a notice says so."""
    p = person.id
    if not person.inside:
        return (Offer("room.in", N_("Goes in"), case.id, {"p": p}),)
    taps = [Offer("room.out", N_("Comes out"), case.id, {"p": p}), *_breach(case, person)]
    attempts = case.state.attempts
    if attempts and attempts[-1].operator != p and (start := case.state.last("scope.start")) is not None:
        taps.append(Offer("tap.fix", N_("Made the attempt"), case.id, {"ref": start.id, "set_op": p}))
    if case.phase.id in ("leave", "after"):
        held = [role for role in case.roles_of(p) if role in IN_ROOM_ROLES]
        taps.extend(
            Offer(
                "role.release",
                N_("Stays, lays the role down"),
                case.id,
                {"role": role, "p": p, "note": STAYS},
                who=role,
            )
            for role in held[:1]
        )
    return tuple(taps)


def _breach(case: CaseNow, person: Person) -> list[Offer]:
    """A breach without a reason; afterwards, in the same place, that it was a major one."""
    p = person.id
    said = [h for h in case.state.all("breach") if getattr(h.body, "p", None) == p]
    taps = [Offer("breach", N_("Breach"), case.id, {"p": p}, tone="fault")]
    if said and getattr(said[-1].body, "grade", None) is None:
        taps.append(
            Offer("tap.fix", N_("It was major"), case.id, {"ref": said[-1].id, "set_grade": "major"}, tone="fault")
        )
    return taps
