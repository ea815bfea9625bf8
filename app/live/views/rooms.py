"""Each room as the door sees it: stage, airway, who is inside, how old the news is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.base.kinds import ROLES
from app.base.messages import N_
from app.case.clear_air import clear_due
from app.case.folds.protection import ROOM_DOOR
from app.case.life import latest_vital, running_clock
from app.case.state import Person
from app.live.now import CaseNow
from app.live.views.coach_taps import breach_form
from app.live.views.crew import Member, between, member
from app.live.views.fields import Ask
from app.live.views.partners import Partner, Wear, helper, wear
from app.live.views.taps import Offer

VISITORS = (("visitor", N_("visitor")), ("porter", N_("porter")), ("cleaner", N_("cleaner")))
HANDED_MOST = 3
"""So many names stand beside a room; anybody else is chosen from the register."""


@dataclass(frozen=True, slots=True)
class RoomLine:
    """last_at: the last thing known of it; lost_at: since when its screen has no link."""

    room: str
    ref: str
    stage: str
    airway: str
    attempt: int | None
    spo2: float | None
    spo2_at: datetime | None
    inside: tuple[str, ...]
    last_at: datetime | None
    lost_at: datetime | None


@dataclass(frozen=True, slots=True)
class Inside:
    """Somebody in the room: since when in equipment, until when by the department's limit, when the relief dresses."""

    name: str
    roles: tuple[str, ...]
    worn_since: datetime | None
    wear: Wear | None
    taps: tuple[Offer, ...]


@dataclass(frozen=True, slots=True)
class Room:
    """One room at the door.

    inside     in the order in which they have to come out; the first comes out next, `partner` is with them then
    runner     who holds the door, and of how many rooms; hands_over: the door passes to somebody else in one tap
    second     whether the first of those is this room's own second runner
    said       the last message between the sides, and since when
    clear      when the air counts as clear; doors: taps of the room's door, opened_at since when it is open
    others     everybody else of the case, with their taps; dresses: anybody of the register starts dressing for it
    passes_on  any role to anybody of the register; forms: visitors who go in, a breach with what happened
    """

    line: RoomLine
    rescue: str | None
    clock_label: str
    clock_since: datetime | None
    inside: tuple[Inside, ...]
    partner: Partner | None
    runner: str
    runner_rooms: int
    hands_over: tuple[Offer, ...]
    second: bool
    passes: Offer
    said: str
    said_at: datetime | None
    clear: datetime | None
    door: Offer
    opened_at: datetime | None
    others: tuple[Member, ...]
    dresses: Offer
    passes_on: Offer
    forms: tuple[Offer, ...]


@dataclass(frozen=True, slots=True)
class RoomsView:
    """Rooms in the order of their names."""

    rooms: tuple[Room, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> RoomsView:
        return cls(tuple(_room(case, cases) for case in cases))


def _room(case: CaseNow, cases: Sequence[CaseNow]) -> Room:
    state = case.state
    people = sorted((case.person(p) for p in state.inside), key=lambda one: (one.don_start is None, one.don_start))
    moving, named = between(case)
    elsewhere = {person.id for person in (*people, *moving, *named)}
    clock = running_clock(state)
    said = state.last("message")
    runner = case.holder("DR")
    opened = state.doors.get(ROOM_DOOR)
    return Room(
        line=room_line(case),
        rescue=None if state.airway.proven_at is not None else state.airway.rescue,
        clock_label=clock.message if clock else "",
        clock_since=clock.since if clock else None,
        inside=tuple(_inside(case, person) for person in people),
        partner=helper(case, people[0].id, cases) if people else None,
        runner=runner.name if runner else "",
        runner_rooms=sum(runner.id in one.state.roles.get("DR", ()) for one in cases) if runner else 0,
        hands_over=_hands_over(case, cases, runner),
        second=bool(case.state.roles.get("OR")),
        passes=Offer("role.handover", N_("Door passes"), case.id, _from(runner)),
        said=getattr(said.body, "text", "") if said else "",
        said_at=said.at if said else None,
        clear=clear_due(state) if not state.all("room.turned") else None,
        door=Offer("door.shut" if opened else "door.open", N_("Door shut") if opened else N_("Door opens"), case.id),
        opened_at=opened,
        others=tuple(member(case, person) for person in case.crew if person.id not in elsewhere),
        dresses=_dresses(case),
        passes_on=_passes_on(case),
        forms=(_visits(case), breach_form(case)),
    )


def _dresses(case: CaseNow) -> Offer:
    """Somebody who has no role yet, or who dresses otherwise than the case asks for."""
    ensembles = tuple((one.code, one.title) for one in case.protocol.ensembles)
    asks = (Ask("ens", N_("ensemble"), "", False, False, ensembles), Ask("resp", N_("respirator"), "", False, False))
    return Offer("don.start", N_("Starts dressing"), case.id, {}, asks)


def _passes_on(case: CaseNow) -> Offer:
    """Any role, from somebody of the case to anybody of the register: a replacement takes over."""
    people = tuple((person.id, person.name) for person in case.crew)
    asks = (
        Ask("role", N_("role"), "", False, False, tuple(ROLES.items())),
        Ask("from", N_("from"), "", False, False, people),
    )
    return Offer("role.handover", N_("Role handed over"), case.id, {}, asks)


def _visits(case: CaseNow) -> Offer:
    """Somebody who is not of the team: under a label of the case, for they are in no register."""
    asks = (
        Ask("p", N_("label"), "", False, False),
        Ask("kind", N_("who"), "", False, False, VISITORS),
        Ask("resp", N_("respirator"), "", False, False),
    )
    return Offer("room.in", N_("Visitor, porter or cleaner goes in"), case.id, {}, asks)


def _from(runner: Person | None) -> dict[str, str]:
    return {"role": "DR"} | ({"from": runner.id} if runner else {})


def _hands_over(case: CaseNow, cases: Sequence[CaseNow], runner: Person | None) -> tuple[Offer, ...]:
    """The door in one tap to whoever fetches for this room, or to another room's runner."""
    second = dict.fromkeys(case.state.roles.get("OR", ()))
    second |= dict.fromkeys(p for one in cases for role in ("OR", "DR") for p in one.state.roles.get(role, ()))
    names = {p: one.person(p).name for one in reversed(cases) for p in one.state.people}
    return tuple(
        Offer("role.handover", N_("takes the door"), case.id, {**_from(runner), "to": p}, who=names.get(p, p))
        for p in second
        if runner is None or p != runner.id
    )[:HANDED_MOST]


def _inside(case: CaseNow, person: Person) -> Inside:
    comes = Offer("room.out", N_("Comes out"), case.id, {"p": person.id})
    undresses = Offer("doff.start", N_("Starts undressing"), case.id, {"p": person.id})
    ensemble = case.protocol.ensemble(person.ensemble or "")
    begins_inside = ensemble is not None and ensemble.doffing and ensemble.doffing[0].place == "inside"
    starts = (undresses,) if begins_inside and person.doff_start is None and person.dressed else ()
    taps = (*starts, comes, Offer("breach", N_("Breach"), case.id, {"p": person.id}, tone="fault"))
    worn = person.don_start if person.dressed else None
    return Inside(person.name, case.roles_of(person.id), worn, wear(case, person), taps)


def room_line(case: CaseNow) -> RoomLine:
    """One room's line."""
    state = case.state
    spo2 = latest_vital(state, "spo2")
    return RoomLine(
        case.room,
        state.setup.ref or "",
        case.phase.title,
        state.airway.stage,
        state.attempts[-1].n if state.attempts else None,
        spo2[0] if spo2 else None,
        spo2[1] if spo2 else None,
        tuple(case.person(p).name for p in state.inside),
        state.last_at,
        min(state.link_lost.values(), default=None),
    )
