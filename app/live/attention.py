"""What in the registers needs somebody's attention, the most pressing first: each a sentence and where to go."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import Engine

from app.base.messages import N_
from app.kit import store as kit
from app.live.supply import supply
from app.live.used import Usage
from app.people import store as people
from app.people.fit import last_passed
from app.protocol.library import protocols
from app.rooms import store as rooms
from app.rooms.ready import ready

SOON_D = 30
"""What runs out within so many days is told [days]."""
NAMED = 4
"""How many names a sentence carries."""
SUPPLY_D = 28


@dataclass(frozen=True, slots=True)
class Need:
    """One sentence. message % params; `names` are of the register and stand after it; `path` below /desk/registers."""

    message: str
    params: Mapping[str, object]
    names: tuple[str, ...]
    more: int
    path: str
    now: bool

    @classmethod
    def of(cls, message: str, names: list[str], path: str, *, now: bool, **params: object) -> Need:
        return cls(
            message, {"count": len(names), **params}, tuple(names[:NAMED]), max(0, len(names) - NAMED), path, now
        )


def rule_days(rule: str, threshold: str) -> int:
    """How long something is valid by a rule of the built-in protocols [days]: R05 fit tests, R06 drills."""
    return int(protocols()[0].rules[rule].thresholds[threshold])


def attention(engine: Engine, now: datetime, zone: ZoneInfo, usage: Usage | None = None) -> list[Need]:
    """Everything, what holds now before what comes soon."""
    today = now.astimezone(zone)
    found = [*_people(engine, today), *_rooms(engine, now, zone), *_kit(engine, now, zone, usage or Usage(engine))]
    return sorted(found, key=lambda need: not need.now)


def _people(engine: Engine, today: datetime) -> Iterator[Need]:
    day, days = today.date(), rule_days("R05", "fit_valid_days")
    passed = last_passed(people.fit_tests(engine), people.practice(engine).fit_reading)
    without, ending, undrilled = [], [], []
    for person in people.people(engine):
        model = person.resp.removeprefix("tight:") if person.resp.startswith("tight:") else None
        if model is not None:
            test = passed.get(person.id, {}).get(model)
            left = -1 if test is None else days - (day - test.on).days
            if left < 0:
                without.append(person.name)
            elif left <= SOON_D:
                ending.append(person.name)
        if person.drill is None or (day - person.drill).days > rule_days("R06", "drill_valid_days"):
            undrilled.append(person.name)
    if without:
        yield Need.of(
            N_("Without a valid fit test in the model that they wear: %(count)s"), without, "fit-tests", now=True
        )
    if ending:
        told = N_("Fit test ends within %(days)s days: %(count)s")
        yield Need.of(told, ending, "fit-tests", now=False, days=SOON_D)
    if undrilled:
        yield Need.of(N_("Without a team drill in date: %(count)s"), undrilled, "people", now=False)


def _rooms(engine: Engine, now: datetime, zone: ZoneInfo) -> Iterator[Need]:
    limits, day = people.practice(engine), now.astimezone(zone).date()
    checks = rooms.checks(engine, now)  # of each room its last one
    unproven, stale, closed = [], [], []
    for room in rooms.rooms(engine):
        one = ready(
            room, checks.get(room.id, ()), now, day, check_h=limits.room_check_h, ach_days=limits.ach_days
        )  # fmt: skip
        if room.state == "out of order":
            closed.append(room.name)
        elif one.verdict != "proven":
            unproven.append(room.name)
        if one.ach_stale:
            stale.append(room.name)
    if unproven:
        yield Need.of(N_("Rooms not proven by a check in date: %(count)s"), unproven, "ready/rooms", now=True)
    if stale:
        yield Need.of(N_("Air changes to be measured again: %(count)s"), stale, "ready/rooms", now=False)
    if closed:
        yield Need.of(N_("Rooms out of order: %(count)s"), closed, "ready/rooms", now=True)


def _kit(engine: Engine, now: datetime, zone: ZoneInfo, usage: Usage) -> Iterator[Need]:
    limits, day = people.practice(engine), now.astimezone(zone).date()
    since = now - timedelta(days=SUPPLY_D)
    oxygen = kit.cylinders(
        engine, now, day, check_h=limits.kit_check_h, least_percent=limits.cylinder_percent
    )  # fmt: skip
    found = kit.kits(engine, now, day, check_h=limits.kit_check_h, used=usage.kits(since), cylinders=oxygen)
    lacking = [one.kit.name for one in found if any(lack.mandatory for lack in one.lacks)]
    expired = [one.kit.name for one in found if one.expired]
    due = [one.kit.name for one in found if one.check_due]
    soon = [one.kit.name for one in found if one.soon[0][1]]
    if lacking:
        yield Need.of(N_("Kits that lack something mandatory: %(count)s"), lacking, "ready/kits", now=True)
    if expired:
        yield Need.of(N_("Kits that hold something past its date: %(count)s"), expired, "ready/kits", now=True)
    if low := [one.cylinder.label for one in oxygen if one.lacking]:
        yield Need.of(N_("Oxygen cylinders under-filled or past their date: %(count)s"), low, "ready/kits", now=True)
    if unread := [one.cylinder.label for one in oxygen if one.needs_look and not one.lacking]:
        yield Need.of(N_("Oxygen cylinders whose gauge is to be read: %(count)s"), unread, "ready/kits", now=False)
    if due:
        yield Need.of(N_("Kits to be checked: %(count)s"), due, "ready/kits", now=True)
    if soon:
        told = N_("Kits that hold something which expires within %(days)s days: %(count)s")
        yield Need.of(told, soon, "ready/kits", now=False, days=SOON_D)
    worn = [worn for case in usage.since(since) for worn in case.worn]
    left = supply(kit.stock(engine), worn, people.fit_sizes(engine), now)
    if short := [f"{one.model} {one.size}".strip() for one in left if one.short]:
        yield Need.of(N_("Respirators at or under the count to order again: %(count)s"), short, "ready/stock", now=True)
