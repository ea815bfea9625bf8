"""Dressing, checks, entry, exit, undressing, breaches, doors and the room."""

from __future__ import annotations

from dataclasses import replace

from app.case.folds.handler import Handler, recorded
from app.case.happening import Happening
from app.case.state import Person, State, Stay, with_item, without
from app.case.vocabulary import protection as v

ROOM_DOOR = "room"


def _person(state: State, p: str) -> Person:
    return state.people.get(p) or Person(p)


def _kept(state: State, person: Person) -> State:
    return replace(state, people=with_item(state.people, person.id, person))


def don_start(state: State, h: Happening, body: v.DonStart) -> State:
    """Dressing begins anew: what an earlier dressing proved does not count for this one."""
    known = _person(state, body.p)
    worn = body.resp or known.facts.get("resp")
    return _kept(
        state,
        replace(
            known,
            ensemble=body.ens or known.ensemble or state.setup.precaution,
            respirator=None if worn is None else str(worn),
            don_start=h.at,
            seal_ok=None,
            check_ok=None,
            checked_at=None,
            doff_start=None,
            doff_partner=None,
            doff_done=None,
        ),
    )


def seal_check(state: State, h: Happening, body: v.SealCheck) -> State:
    return _kept(state, replace(_person(state, body.p), seal_ok=body.result == "pass"))


def check_start(state: State, h: Happening, body: v.CheckStart) -> State:
    known = _person(state, body.subject)
    return _kept(state, replace(known, doff_partner=body.checker)) if body.phase == "doff" else state


def check_done(state: State, h: Happening, body: v.CheckDone) -> State:
    if body.phase != "don":
        return state
    return _kept(state, replace(_person(state, body.subject), check_ok=body.result == "pass", checked_at=h.at))


def doff_start(state: State, h: Happening, body: v.DoffStart) -> State:
    """Undressing begins. A partner who was there before it began is still there."""
    known = _person(state, body.p)
    partner = body.checker or (known.doff_partner if known.doff_done is None else None)
    return _kept(state, replace(known, doff_start=h.at, doff_partner=partner, doff_done=None))


def doff_done(state: State, h: Happening, body: v.DoffDone) -> State:
    known = _person(state, body.p)
    return _kept(state, replace(known, doff_done=h.at, doff_partner=body.checker or known.doff_partner))


def breach(state: State, h: Happening, body: v.Breach) -> State:
    return _kept(state, replace(_person(state, body.p), breached_at=h.at))


def room_ready(state: State, h: Happening, body: v.RoomReady) -> State:
    room = replace(
        state.room,
        pressure_pa=body.pressure,
        ach=state.room.ach if body.ach is None else body.ach,
        ready_at=h.at,
    )
    return replace(state, room=room)


def room_in(state: State, h: Happening, body: v.RoomIn) -> State:
    known = _person(state, body.p)
    if known.inside:
        return state
    return _kept(
        state,
        replace(known, stays=(*known.stays, Stay(h.at)), visit=body.visit, respirator=body.resp or known.respirator),
    )


def room_out(state: State, h: Happening, body: v.RoomOut) -> State:
    known = _person(state, body.p)
    if not known.inside:
        return state
    return _kept(state, replace(known, stays=(*known.stays[:-1], replace(known.stays[-1], left=h.at))))


def door_open(state: State, h: Happening, body: v.DoorOpen) -> State:
    door = body.which or ROOM_DOOR
    return state if door in state.doors else replace(state, doors=with_item(state.doors, door, h.at))


def door_shut(state: State, h: Happening, body: v.DoorShut) -> State:
    return replace(state, doors=without(state.doors, body.which or ROOM_DOOR))


HANDLERS: dict[str, Handler] = {
    "don.start": don_start,
    "seal.check": seal_check,
    "check.start": check_start,
    "check.done": check_done,
    "doff.start": doff_start,
    "doff.step": recorded,
    "doff.done": doff_done,
    "breach": breach,
    "room.ready": room_ready,
    "room.in": room_in,
    "room.out": room_out,
    "door.open": door_open,
    "door.shut": door_shut,
    "patient.out": recorded,
    "clean.start": recorded,
    "room.turned": recorded,
}
