"""The intervals I01-I26 (`judging.md`, Readings of the intervals), from the corrected record.

Only intervals with both ends are given. Seconds are whole where they are whole; unknown is absent, never zero.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from itertools import pairwise
from typing import Any

from app.base.messages import N_
from app.base.moments import seconds_between
from app.case.clear_air import clear_due
from app.case.folds.protection import ROOM_DOOR
from app.case.happening import Happening
from app.case.state import INSIDE_KINDS, State
from app.case.steps import airway_step, first_at_or_else_last, induction, tube
from app.case.vocabulary.airway import Vitals

LOW_SPO2_PERCENT = 90

WORDS: dict[str, str] = {
    "I01": N_("call to first entry"),
    "I02": N_("donning, each person"),
    "I03": N_("pre-oxygenation before induction"),
    "I04": N_("each attempt"),
    "I05": N_("induction to tube"),
    "I06": N_("tube to cuff"),
    "I07": N_("cuff to first breath"),
    "I08": N_("first breath to CO2"),
    "I09": N_("induction to CO2"),
    "I10": N_("open window: induction or opened trachea to cuff"),
    "I11": N_("lowest SpO2 after the airway step"),
    "I12": N_("time below 90 %"),
    "I13": N_("first attempt succeeded"),
    "I14": N_("requests: to answer, to hand-in"),
    "I15": N_("in the room, each person"),
    "I16": N_("in equipment, each person"),
    "I17": N_("air clear, from the start of the case's clock"),
    "I18": N_("room empty to room ready"),
    "I19": N_("last person clean to debrief"),
    "I20": N_("debrief"),
    "I21": N_("door openings"),
    "I22": N_("circuit open"),
    "I23": N_("ventilation held"),
    "I24": N_("journey"),
    "I25": N_("oxygen for the journey"),
    "I26": N_("handover"),
}
"""What each interval measures, as message ids."""


def intervals(state: State, t0: datetime | None = None) -> dict[str, Any]:
    """Every interval that has both ends, in the JSON form of `judging.md`.

    t0  the moment from which I17 counts; the opening of the case when absent
    """
    start = t0 or state.opened_at
    found: dict[str, Any] = {**_airway(state), **_people(state), **_after(state), **_transport(state)}
    found["I14"] = {
        r.q: {
            "ack": None if r.asked is None or r.acknowledged is None else seconds_between(r.asked, r.acknowledged),
            "in": None if r.asked is None or r.handed_in is None else seconds_between(r.asked, r.handed_in),
        }
        for r in state.requests.values()
        if r.asked is not None
    }
    due = clear_due(state)
    found["I17"] = None if due is None or start is None else seconds_between(start, due)
    opening, total = _pairs(state, "door.open", ("door.shut",), key=_door)
    found["I21"] = {"openings": opening, "open": total or 0}
    found |= _known(
        I22=_pairs(state, "circuit.off", ("circuit.on",))[1],
        I23=_pairs(state, "vent.hold", ("vent.first", "vent.resume"))[1],
    )
    empty = {"I02", "I04", "I14", "I15", "I16"}
    return {
        code: value
        for code, value in sorted(found.items())
        if not (code in empty and not value) and not (code == "I21" and not value["openings"])
    }


def _door(h: Happening) -> str:
    return getattr(h.body, "which", None) or ROOM_DOOR


def _between(start: Happening | datetime | None, end: Happening | datetime | None) -> int | float | None:
    first = start.at if isinstance(start, Happening) else start
    last = end.at if isinstance(end, Happening) else end
    return None if first is None or last is None else seconds_between(first, last)


def _known(**values: Any) -> dict[str, Any]:
    return {code: value for code, value in values.items() if value is not None}


def _airway(state: State) -> dict[str, Any]:
    induced, placed, opened = induction(state), tube(state), state.first("tr.open")
    preox = None if induced is None else [h for h in state.all("preox.start") if h.at <= induced.at]
    cuff, breath, proof = (_of_the_airway(state.all(kind), placed) for kind in ("cuff.up", "vent.first", "co2.yes"))
    found = _known(
        I01=_between(state.opened_at, state.first("room.in")),
        I03=_between(preox[-1], induced) if preox else None,
        I05=_between(induced, placed),
        I06=_between(placed, cuff),
        I07=_between(cuff, breath),
        I08=_between(breath, proof),
        I09=_between(induced, proof),
        I10=_between(opened or induced, cuff),
    )
    found["I04"] = {f"n{a.n}": _between(a.started, a.ended) for a in state.attempts if a.ended is not None}
    found["I13"] = _first_succeeded(state)
    step = airway_step(state)
    if step is not None:
        found |= _saturation(state, step)
    return found


def _of_the_airway(found: Sequence[Happening], placed: Happening | None) -> Happening | None:
    """The one that belongs to the tube; with no tube recorded (a supraglottic airway, a tap left out) the first."""
    if placed is None:
        return found[0] if found else None
    return first_at_or_else_last(found, placed.at)


def _first_succeeded(state: State) -> bool | None:
    """Whether the first attempt put the tube in; None without one, and while nothing says how it went.

    Where its end was not tapped, a tube that passed before anything else was tried, or a next attempt, says it.
    """
    place = next((place for place, attempt in enumerate(state.attempts) if attempt.n == 1), None)
    if place is None:
        return None
    first, after = state.attempts[place], state.attempts[place + 1 :]
    if first.result is not None:
        return first.result.casefold() == "tube"
    until = min((at for at in (first.ended, *(attempt.started for attempt in after)) if at is not None), default=None)
    passed = (h.at for h in state.all("tube.passed"))
    if any(first.started <= at and (until is None or at <= until) for at in passed):
        return True
    return False if after else None


def _saturation(state: State, step: Happening) -> dict[str, Any]:
    """Lowest SpO2 [%] and seconds below 90 % after the airway step. A reading holds until the next."""
    read = [
        (h.at, h.body.spo2)
        for h in state.all("vitals")
        if isinstance(h.body, Vitals) and h.body.spo2 is not None and h.order > step.order
    ]
    if not read:
        return {}
    lowest = min(value for _, value in read)
    below = sum(seconds_between(at, after) for (at, value), (after, _) in pairwise(read) if value < LOW_SPO2_PERCENT)
    return {"I11": int(lowest) if lowest == int(lowest) else lowest, "I12": _whole(below)}


def _people(state: State) -> dict[str, Any]:
    don: dict[str, Any] = {}
    for h in state.all("check.done"):
        body: Any = h.body
        if body.phase == "don" and body.result == "pass":
            begun = [d for d in state.all("don.start") if getattr(d.body, "p", None) == body.subject and d.at <= h.at]
            if begun and not any(d.at < h.at for d in _passed_since(state, body.subject, begun[-1], h)):
                don[body.subject] = _between(begun[-1], h)
    stays: dict[str, Any] = {}
    wear: dict[str, Any] = {}
    for person in state.people.values():
        if person.stays:
            lasted = [_between(stay.entered, stay.left) for stay in person.stays]
            stays[person.id] = "open" if None in lasted else _whole(sum(part for part in lasted if part is not None))
        if person.don_start is not None and person.doff_done is not None:
            wear[person.id] = _between(person.don_start, person.doff_done)
    return {"I02": don, "I15": stays, "I16": wear}


def _passed_since(state: State, subject: str, begun: Happening, until: Happening) -> list[Happening]:
    """Passed checks of one donning before a given one: the first of them ended it."""
    return [
        h
        for h in state.all("check.done")
        if begun.order < h.order < until.order
        and getattr(h.body, "subject", None) == subject
        and getattr(h.body, "phase", None) == "don"
        and getattr(h.body, "result", None) == "pass"
    ]


def _after(state: State) -> dict[str, Any]:
    turned, begun = state.last("room.turned"), state.first("debrief.start")
    clean = state.last("doff.done")
    gone = [h.at for h in (state.last("patient.out"),) if h is not None]
    team = [person for person in state.people.values() if person.visit in INSIDE_KINDS]
    gone += [stay.left for person in team for stay in person.stays[-1:] if stay.left is not None]
    empty = max((at for at in gone if turned is not None and at <= turned.at), default=None)
    return _known(
        I18=_between(empty, turned),
        I19=_between(clean, begun),
        I20=_between(begun, state.last("debrief.done")),
        I26=_last_length(state, "handover.start", "handover.done"),
    )


def _last_length(state: State, start: str, end: str) -> int | float | None:
    """Seconds that the last of several of a kind took, from its first beginning to its last end."""
    begun: datetime | None = None
    length, over = None, True
    for h in sorted((*state.all(start), *state.all(end)), key=lambda h: h.order):
        if h.kind == end:
            length, over = length if begun is None else _between(begun, h), True
        elif over:
            begun, over = h.at, False
    return length


def _transport(state: State) -> dict[str, Any]:
    departed = state.first("tx.depart")
    found = _known(I24=_between(departed, state.last("tx.arrive")))
    setup = state.setup
    if setup.tx_min is not None and setup.o2_lpm is not None:
        checks = [h for h in state.all("o2.check") if departed is None or h.order < departed.order]
        carried = getattr(checks[-1].body, "litres", None) if checks else None
        found["I25"] = {
            "need_l": _whole(setup.o2_lpm * setup.tx_min),
            "minutes": _whole(setup.tx_min),
            "flow_l_min": _whole(setup.o2_lpm),
            "carried_l": None if carried is None else _whole(carried),
        }
    return found


def _pairs(
    state: State, start: str, ends: tuple[str, ...], key: Callable[[Happening], Any] = lambda h: None
) -> tuple[int, int | float | None]:
    """How often something began, and the seconds from each beginning to its end, added up; None when none has ended."""
    since: dict[Any, datetime] = {}
    count, lasted = 0, []
    for h in sorted((h for kind in (start, *ends) for h in state.all(kind)), key=lambda h: h.order):
        name = key(h)
        if h.kind == start:
            count += name not in since
            since.setdefault(name, h.at)
        elif name in since:
            lasted.append(seconds_between(since.pop(name), h.at))
    return count, _whole(sum(lasted)) if lasted else None


def _whole(value: float) -> int | float:
    rounded = round(value, 3)
    return int(rounded) if rounded == int(rounded) else rounded
