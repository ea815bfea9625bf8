"""A scenario moved to another day: the demo plays a file's night as if it were tonight. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta
from hashlib import sha256
from typing import Any
from zoneinfo import ZoneInfo

from app.drill.values import CaseSetup, Correction, Member, Scenario

_CLOCK = re.compile(r"(\d\d?):(\d\d)")


def moved(scenario: Scenario, t0: datetime, zone: ZoneInfo | None = None) -> Scenario:
    """The same scenario with offset 00:00 of its first case at t0, everything else as far from it as before.

    Fit tests and drills stay as many days old, the change of shift as far ahead. Ids differ with t0, so that the same
    file played twice is two cases.

    zone  the hospital's, if another than the file's
    """
    first = next(iter(scenario.cases.values()))
    by = t0.replace(microsecond=0) - first.t0
    days = (t0.astimezone(zone or first.zone).date() - first.t0.astimezone(first.zone).date()).days
    return replace(
        scenario,
        digest=sha256(f"{scenario.digest} {t0.isoformat()}".encode()).hexdigest(),
        cases={handle: _case(setup, by, zone or setup.zone) for handle, setup in scenario.cases.items()},
        staff={handle: _member(member, days) for handle, member in scenario.staff.items()},
        acts=tuple(
            replace(
                act,
                at=act.at + by,
                received=None if act.received is None else act.received + by,
                body=_opening(act.body, scenario.cases[act.case], by, zone) if act.kind == "case.open" else act.body,
            )
            for act in scenario.acts
        ),
        corrections={
            index: Correction(one.targets, None if one.at is None else one.at + by)
            for index, one in scenario.corrections.items()
        },
    )


def _case(setup: CaseSetup, by: timedelta, zone: ZoneInfo) -> CaseSetup:
    return replace(setup, t0=setup.t0 + by, zone=zone, opening=_opening(setup.opening, setup, by, zone))


def _opening(opening: Mapping[str, Any], setup: CaseSetup, by: timedelta, zone: ZoneInfo | None) -> Mapping[str, Any]:
    """The body of `case.open`, its change of shift as long after t0 as in the file."""
    match = _CLOCK.fullmatch(str(opening.get("shift_end", "")))
    if match is None:
        return opening
    local = setup.t0.astimezone(setup.zone)
    ahead = timedelta(hours=int(match[1]) - local.hour, minutes=int(match[2]) - local.minute)
    then = (setup.t0 + by).astimezone(zone or setup.zone) + ahead
    return {**opening, "shift_end": then.strftime("%H:%M")}


def _member(member: Member, days: int) -> Member:
    facts = dict(member.facts)
    if "drill" in facts:
        facts["drill"] = _later(facts["drill"], days)
    if "fit" in facts:
        facts["fit"] = {model: _later(day, days) for model, day in facts["fit"].items()}
    return replace(member, facts=facts)


def _later(day: str, days: int) -> str:
    return (date.fromisoformat(day) + timedelta(days=days)).isoformat()
