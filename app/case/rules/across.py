"""What only several cases, or several people, show together: R20, both doors of R46, R45.

Pure functions of the states: each says what is so at a moment. A notice is dated by the happening that made it so, and
stands under the case of that happening.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import combinations
from typing import Any

from app.base.moments import whole_second
from app.case.happening import Happening
from app.case.rules import ask
from app.case.rules.notice import Finding
from app.case.state import Request, State

KINDS = frozenset({"doff.start", "door.open", "req.new", "role.assign", "role.handover"})
"""Only these can make something so that was not."""
ENDING = frozenset({"doff.done", "don.start", "door.shut", "req.in", "req.got", "req.cancel", "case.close", *KINDS})
"""Only these can end it."""


@dataclass(frozen=True, slots=True)
class Together:
    """A finding that several cases share: the case of its entry, and when that happened."""

    case: str
    at: datetime
    finding: Finding


def notices_across(states: Mapping[str, State], now: datetime) -> tuple[Together, ...]:
    """Everything that is so across these cases at a moment. Closed cases take no part any more."""
    open_cases = {case: state for case, state in states.items() if state.closed_at is None or state.closed_at > now}
    return (*_undressing(open_cases), *_runners(open_cases), *_doors(open_cases))


def still(found: Together, states: Mapping[str, State], now: datetime) -> bool:
    """Whether what was found is still so: the same rule with the same people, doors or requests."""
    key = found.finding.once or found.finding.subject
    return any(
        one.finding.rule == found.finding.rule and (one.finding.once or one.finding.subject) == key
        for one in notices_across(states, now)
    )


def _together(
    case: str, h: Happening, rule: str, situation: str, subject: str, *, once: str | None = None, **params: Any
) -> Together:
    found = Finding(rule, situation, h.id, h.id, subject, situation, params, once=once)
    return Together(case, whole_second(h.at), found)


def _one_area(a: tuple[str, State], b: tuple[str, State]) -> bool:
    """The same case, or a shared anteroom."""
    return a[0] == b[0] or (a[1].room.anteroom is not None and a[1].room.anteroom == b[1].room.anteroom)


def _began_undressing(state: State, p: str) -> Happening | None:
    """How somebody's newest undressing began."""
    return next((h for h in reversed(state.all("doff.start")) if ask.body(h).p == p), None)


def _undressing(states: Mapping[str, State]) -> Iterator[Together]:
    """R20: somebody begins to undress while others are at it in the same area."""
    at_it: list[tuple[Happening, str, str]] = []
    for case, state in states.items():
        for p, person in state.people.items():
            undressing = person.doff_start is not None and person.doff_done is None
            if undressing and (begun := _began_undressing(state, p)) is not None:
                at_it.append((begun, case, p))
    at_it.sort(key=lambda one: one[0].order)
    for place, (begun, case, p) in enumerate(at_it):
        here = (case, states[case])
        before = [other for _, there, other in at_it[:place] if other != p and _one_area(here, (there, states[there]))]
        if before:
            people = (*before, p)
            cases = tuple(dict.fromkeys((*(there for _, there, other in at_it[:place] if other in before), case)))
            yield _together(case, begun, "R20", "two", ", ".join(people), people=people, cases=cases)


def _doors(states: Mapping[str, State]) -> Iterator[Together]:
    """R46: doors of two cases that share an anteroom are open together."""
    opened = []
    for case, state in states.items():
        if state.doors and state.room.anteroom is not None:
            door, _ = min(state.doors.items(), key=lambda item: item[1])
            since = [h for h in state.all("door.open") if h.at == state.doors[door]]
            opened.append((since[0], case))
    opened.sort(key=lambda one: one[0].order)
    for place, (h, case) in enumerate(opened):
        here = (case, states[case])
        before = [there for _, there in opened[:place] if _one_area(here, (there, states[there]))]
        if before:
            cases = (*before, case)
            yield _together(case, h, "R46", "both", ", ".join(cases), cases=cases)


def _urgent(state: State) -> tuple[Request, ...]:
    """Urgent requests that are not delivered."""
    return tuple(
        request
        for request in state.requests.values()
        if request.asked is not None and request.urgency == "now" and request.open and request.handed_in is None
    )


def _became_runner(state: State, p: str) -> Happening | None:
    """How the holder of the door came by it."""
    given = [h for kind in ("role.assign", "role.handover") for h in state.all(kind) if _gives_door(h, p)]
    return max(given, key=lambda h: h.order, default=None)


def _gives_door(h: Happening, p: str) -> bool:
    body: Any = h.body
    if h.kind == "role.assign":
        return bool(body.roles().get("DR") == p)
    return bool(body.role == "DR" and body.to == p)


def _runners(states: Mapping[str, State]) -> Iterator[Together]:
    """R45: one runner holds undelivered urgent requests of two rooms. Once for each pair of requests."""
    held: dict[str, list[tuple[str, Request]]] = {}
    for case, state in states.items():
        for p in state.roles.get("DR", ()):
            held.setdefault(p, []).extend((case, request) for request in _urgent(state))
    for runner, requests in held.items():
        in_order = sorted(requests, key=lambda one: (one[1].asked, one[0], one[1].q))
        for one, other in combinations(in_order, 2):
            if one[0] != other[0]:
                yield from _pair(states, runner, one, other)


def _pair(
    states: Mapping[str, State], runner: str, one: tuple[str, Request], other: tuple[str, Request]
) -> Iterable[Together]:
    causes: list[tuple[Happening, str]] = []
    for case, request in (one, other):
        asked = next((h for h in states[case].all("req.new") if ask.body(h).q == request.q), None)
        became = _became_runner(states[case], runner)
        causes.extend((h, case) for h in (asked, became) if h is not None)
    h, case = max(causes, key=lambda cause: cause[0].order)
    pair = (one[1].q, other[1].q)
    once = "/".join(sorted(f"{there} {request.q}" for there, request in (one, other)))
    yield _together(
        case, h, "R45", "two_rooms", ", ".join((runner, *pair)),
        once=once, runner=runner, requests=pair, cases=(one[0], other[0]),
    )  # fmt: skip
