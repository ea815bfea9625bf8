"""From a scenario to entries as stations would have made them, in posts as they reached the server.

Lines of one second happen in file order although their stations differ, so each entry of a second gets one microsecond
more than the one before it: far below what intervals (milliseconds) and rules (whole seconds) look at. The same file
makes the same ids, so that playing it twice into one database stores it once.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from app.base.ids import derived_id
from app.base.kinds import IN_ROOM_ROLES
from app.base.moments import moment_text
from app.drill.scenario import SYSTEM
from app.drill.values import Act, Scenario
from app.journal.entry import Tap

_MICROSECOND = timedelta(microseconds=1)
_AT_THE_DOOR = frozenset({"DR", "OR", "SO", "PO"})
_ABOUT_ROOM = frozenset({"case.open", "room.ready", "room.in", "room.out", "agp.end", "patient.out", "room.turned"})
SERVER = "server"
DESK = "desk"


@dataclass(frozen=True, slots=True)
class Made:
    """One entry before the server has it: `at` is the corrected moment of happening."""

    tap: Tap
    facts: Mapping[str, Any]
    at: datetime


@dataclass(frozen=True, slots=True)
class Post:
    """What reaches the server at once: all that shares a second of arrival, by its own time or by `recv=`."""

    received: datetime
    made: tuple[Made, ...]


def case_id(scenario: Scenario, case: str) -> str:
    """The id of a case of the file."""
    return derived_id(scenario.cases[case].t0, scenario.digest, "case", case)


def case_ids(scenario: Scenario) -> dict[str, str]:
    """Handle -> id, in file order."""
    return {case: case_id(scenario, case) for case in scenario.cases}


def station_of(act: Act) -> str:
    """The station on which a role taps: inside or at the door of its case, the desk, or the server itself."""
    if act.who == SYSTEM:
        return SERVER
    if act.who in IN_ROOM_ROLES:
        return f"{act.case}-inside"
    return f"{act.case}-outside" if act.who in _AT_THE_DOOR else DESK


def posts(scenario: Scenario) -> tuple[Post, ...]:
    """All entries of a scenario, in order of arrival."""
    made = _made(scenario)
    groups: dict[datetime, list[Act]] = defaultdict(list)
    for act in scenario.acts:
        # A line's `check.start` arrived when it was tapped, not with the line that mentions it. Lines of one second
        # share a `received_at`, so they are judged together (`judging.md`, Notices 1), with or without `recv=`.
        groups[act.at if act.received is None else act.received].append(act)
    return tuple(
        Post(arrived, tuple(one for act in acts for one in made[act.index])) for arrived, acts in sorted(groups.items())
    )


def _made(scenario: Scenario) -> dict[int, tuple[Made, ...]]:
    places = _places(scenario)
    ids = case_ids(scenario)
    counters: dict[str, int] = defaultdict(int)
    found: dict[int, tuple[Made, ...]] = {}
    for act in sorted(scenario.acts, key=lambda act: places[act.at, act.index]):
        bodies = _bodies(scenario, act, places)
        entries = []
        for nth, body in enumerate(bodies):
            station = station_of(act)
            counters[station] += 1
            at = places[act.at, act.index]
            tap = Tap(
                id=_entry_id(scenario, act, nth),
                case=ids[act.case],
                kind=act.kind,
                body=body,
                station=station,
                counter=counters[station],
                device_at=moment_text(at),
                role=None if act.who == SYSTEM else act.who,
                offset_ms=0,
                error_ms=0,
            )
            entries.append(Made(tap, _facts(scenario, act), at))
        found[act.index] = tuple(entries)
    return found


def _entry_id(scenario: Scenario, act: Act, nth: int = 0) -> str:
    return derived_id(act.at, scenario.digest, act.line, act.index, nth)


def _places(scenario: Scenario) -> dict[tuple[datetime, int], datetime]:
    """(second, index of an act) -> its moment in that second, in file order; where a fix puts an act, too."""
    seconds: dict[datetime, set[int]] = defaultdict(set)
    for act in scenario.acts:
        seconds[act.at].add(act.index)
    for correction in scenario.corrections.values():
        if correction.at is not None:
            seconds[correction.at].update(correction.targets)
    return {
        (second, index): second + nth * _MICROSECOND
        for second, indices in seconds.items()
        for nth, index in enumerate(sorted(indices))
    }


def _bodies(scenario: Scenario, act: Act, places: Mapping[tuple[datetime, int], datetime]) -> list[Mapping[str, Any]]:
    """The body as stored. A correction of a list (`p=P1,P2` under one `id=`) is one entry for each of it."""
    correction = scenario.corrections.get(act.index)
    if correction is None:
        return [act.body]
    bodies: list[Mapping[str, Any]] = []
    for target in correction.targets:
        body = {**act.body, "ref": _entry_id(scenario, scenario.acts[target])}
        if correction.at is not None:
            body["at"] = moment_text(places[correction.at, target])
        bodies.append(body)
    return bodies


def _facts(scenario: Scenario, act: Act) -> dict[str, Any]:
    """What the registers say about what an entry names: its people, and the room where it is about that."""
    named: dict[str, Any] = {}
    for value in act.body.values():
        for word in value if isinstance(value, list | tuple) else (value,):
            if isinstance(word, str) and word in scenario.staff:
                named[word] = dict(scenario.staff[word].facts)
    facts: dict[str, Any] = {"people": named} if named else {}
    setup = scenario.cases[act.case]
    if act.kind in _ABOUT_ROOM:
        facts["room"] = {**setup.room, "tz": setup.zone.key}
    return facts
