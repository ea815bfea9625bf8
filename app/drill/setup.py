"""The `case` and `staff` lines of a scenario file: what stands in a real hospital's registers."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from app.base.checks import did_you_mean
from app.base.errors import NotValid
from app.case.vocabulary.registry import fields_of, read_body
from app.case.vocabulary.words import body_of, figure
from app.drill.grammar import ScenarioMistake, columns, only, words
from app.drill.values import CaseSetup, Member

_MOMENT = frozenset({"date", "t0", "tz"})
_ROOM = frozenset({"room", "ach", "clear", "anteroom", "mixing"})
_ROOM_FIGURES = ("ach", "clear", "mixing")
_OPENING = fields_of("case.open")
_STAFF = frozenset({"name", "job", "resp", "fit", "drill", "immune", "no_entry"})
_HANDLE = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}")
_CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)")


def handle(text: str, what: str, line: int) -> str:
    """The file's own short name for a case, a person or an entry."""
    if not _HANDLE.fullmatch(text):
        raise ScenarioMistake(
            f"{text[:60]!r} cannot name {what}.", line=line, do="Use letters, digits, - and _, 40 at most."
        )
    return text


def case_setup(text: str, line: int) -> CaseSetup:
    """A `case` line without its first column. Raises ScenarioMistake."""
    name, *rest = columns(text, 2)
    name = handle(name, "a case", line)
    given = words(rest[0] if rest else "", line)
    only(given, _MOMENT | _ROOM | _OPENING, "a case", line)
    zone = _zone(given.get("tz", "UTC"), line)
    t0 = _t0(given, zone, line)
    said = {key: value for key, value in given.items() if key in _OPENING}
    said = {key: value for key, value in said.items() if value != "na"}
    opening = body_of("case.open", said)
    try:
        read_body("case.open", opening)
    except NotValid as error:
        raise ScenarioMistake(error.what, line=line, do=error.do) from None
    return CaseSetup(name, t0, zone, opening, _room(given, line), line)


def _t0(given: dict[str, str], zone: ZoneInfo, line: int) -> datetime:
    for key in ("date", "t0"):
        if key not in given:
            raise ScenarioMistake(f"a case needs {key}=.", line=line, do="For example date=2026-11-03; t0=14:10.")
    day = _date(given["date"], "date", line)
    clock = _CLOCK.fullmatch(given["t0"])
    if clock is None:
        raise ScenarioMistake(f"t0={given['t0'][:60]} is no time of day.", line=line, do="Write it as hh:mm.")
    if not 2000 <= day.year <= 2099:
        raise ScenarioMistake(f"date={given['date']} is too far off.", line=line, do="Use a date from 2000 to 2099.")
    local = datetime(day.year, day.month, day.day, int(clock[1]), int(clock[2]), tzinfo=zone)
    moment = local.astimezone(UTC)
    if moment.astimezone(zone).replace(tzinfo=None) != local.replace(tzinfo=None):
        raise ScenarioMistake(
            f"there is no {given['t0']} on {given['date']} in {zone.key}: clocks were put forward over it.", line=line
        )
    return moment


def _zone(text: str, line: int) -> ZoneInfo:
    try:
        return ZoneInfo(text)
    except (OSError, ValueError, LookupError):
        near = did_you_mean(text, tuple(sorted(available_timezones())))
        raise ScenarioMistake(
            f"tz={text[:60]} is no time zone.", line=line, do=near or "Use an IANA name, like Europe/Vienna."
        ) from None


def _date(text: str, key: str, line: int) -> date:
    try:
        if not re.fullmatch(r"\d{4}-\d\d-\d\d", text):
            raise ValueError
        return date.fromisoformat(text)
    except ValueError:
        raise ScenarioMistake(f"{key}={text[:60]} is no date.", line=line, do="Write it as YYYY-MM-DD.") from None


def _room(given: dict[str, str], line: int) -> dict[str, Any]:
    """Room facts; mixing is 1 when absent, in files only (`judging.md`)."""
    room: dict[str, Any] = {"mixing": 1}
    for key in _ROOM & given.keys():
        value: Any = given[key]
        if value == "na":
            room.pop(key, None)
            continue
        if key in _ROOM_FIGURES:
            value = figure(value)
            if isinstance(value, str):
                raise ScenarioMistake(f"{key}={value[:60]} is no figure.", line=line)
        room["name" if key == "room" else key] = value
    if "name" in room:
        room["id"] = slug(room["name"])
    return room


def slug(name: str) -> str:
    """A name as an id in the register of rooms.

    >>> slug("Room 4")
    'room-4'
    """
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")


def member(text: str, line: int) -> Member:
    """A `staff` line without its first column. Raises ScenarioMistake."""
    name, *rest = columns(text, 2)
    name = handle(name, "a person", line)
    given = words(rest[0] if rest else "", line)
    only(given, _STAFF, "staff", line)
    facts: dict[str, Any] = {"name": given.get("name", name)}
    if (job := given.get("job", "na")) != "na":
        facts["job"] = job
    if (worn := given.get("resp", "na")) != "na":
        facts["resp"] = worn
    if (fit := given.get("fit", "na")) not in ("na", "none"):
        facts["fit"] = dict(_fit(part.strip(), line) for part in fit.split(","))
    if (drill := given.get("drill", "na")) != "na":
        facts["drill"] = _date(drill, "drill", line).isoformat()
    immune = given.get("immune", "na")
    if immune not in ("yes", "no", "na"):
        raise ScenarioMistake(f"immune={immune[:60]} is not known.", line=line, do="Write yes, no or na.")
    if immune != "na":
        facts["immune"] = immune
    if (barred := given.get("no_entry", "no")) not in ("yes", "no"):
        raise ScenarioMistake(f"no_entry={barred[:60]} is not known.", line=line, do="Write yes or no.")
    if barred == "yes":
        facts["no_entry"] = True
    return Member(name, facts, line)


def _fit(text: str, line: int) -> tuple[str, str]:
    model, colon, day = text.partition(":")
    if not colon or not model:
        raise ScenarioMistake(f"fit={text[:60]} is no fit test.", line=line, do="Write model:date, like K2:2026-02-10.")
    return model.strip(), _date(day.strip(), "fit", line).isoformat()
