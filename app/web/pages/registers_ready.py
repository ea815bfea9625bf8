"""Is everything ready, at the desk: rooms and kits today, respirators left, and a model that arrives."""

from __future__ import annotations

import asyncio
from datetime import datetime, timedelta
from typing import Any

from fastapi import Request, Response

from app.base.messages import N_
from app.base.time import utc_now
from app.kit import store as kit
from app.kit.cylinders import VERDICTS as CYLINDER_VERDICTS
from app.kit.cylinders import Judged
from app.live.attention import SUPPLY_D, rule_days
from app.live.cover import WORDS, Cover, cover
from app.live.live import Live
from app.live.now import CaseNow
from app.live.supply import WINDOWS_D, supply, unsized
from app.live.used import Took
from app.live.views.taps import Offer
from app.people import store as people
from app.rooms import store as rooms
from app.rooms.plot import plot
from app.rooms.ready import VERDICTS, Ready, ready
from app.rooms.registers import REFERENCES, STATES
from app.web.deps import live_of, station_of
from app.web.pages.frame import show
from app.web.pages.registers import PATH, may_edit

PLOT_D = 30


async def rooms_today(request: Request) -> Response:
    """GET: every room with its last check, its plot, its air changes and who released it."""
    live = live_of(request)
    found = await asyncio.to_thread(_rooms, live, utc_now())
    return _show(
        request, "ready_rooms.html", rooms=found, verdicts=VERDICTS, references=REFERENCES, states=STATES,
        days=PLOT_D,
    )  # fmt: skip


def _rooms(live: Live, now: datetime) -> list[dict[str, Any]]:
    limits, day = people.practice(live.engine), now.astimezone(live.zone).date()
    checks = rooms.checks(live.engine, now - timedelta(days=PLOT_D))
    found = [
        ready(room, checks.get(room.id, ()), now, day, check_h=limits.room_check_h, ach_days=limits.ach_days)
        for room in rooms.rooms(live.engine)
    ]
    found.sort(key=lambda one: not one.needs_look)
    cases = live.seen(live.cases.open_ids())
    return [
        {
            "one": one,
            "plot": plot(one.checks, one.room.limit_pa, now, PLOT_D),
            "offers": [_proven(one, case) for case in cases if case.state.room.id == one.room.id and _tells(one)],
        }
        for one in found
    ]


def _tells(one: Ready) -> bool:
    """Whether the last check says what `room.ready` records: the pressure of the room itself, in date."""
    last = one.last
    told = last is not None and last.pressure_pa is not None and last.reference in ("corridor", "lobby")
    return told and one.verdict in ("proven", "not proven")


def _proven(one: Ready, case: CaseNow) -> Offer:
    """R11 is fed by this: the reading of the register becomes an entry of the case."""
    assert one.last is not None
    body: dict[str, Any] = {"pressure": one.last.pressure_pa}
    if one.room.ach is not None and not one.ach_stale:
        body["ach"] = one.room.ach
    return Offer("room.ready", N_("Record this check for the case"), case.id, body, who=case.state.setup.ref or "")


async def kits_today(request: Request) -> Response:
    """GET: what is missing where, what expires when, what is to be looked at, and what to restock."""
    live = live_of(request)
    found, restock, oxygen = await asyncio.to_thread(_kits, live, utc_now())
    cases = live.seen(live.cases.open_ids())
    offers = {
        one.kit.id: [Offer("kit.staged", N_("Stage it for"), case.id, one.staged, who=case.room) for case in cases]
        for one in found
    }
    return _show(
        request, "ready_kits.html", kits=found, restock=restock, offers=offers, days=SUPPLY_D,
        cylinders=oxygen, verdicts=CYLINDER_VERDICTS,
    )  # fmt: skip


def _kits(live: Live, now: datetime) -> tuple[list[Any], list[tuple[str, float, datetime]], list[Judged]]:
    since = now - timedelta(days=SUPPLY_D)
    usage = live.registers.usage
    limits = people.practice(live.engine)
    day = now.astimezone(live.zone).date()
    check_h, least = limits.kit_check_h, limits.cylinder_percent
    oxygen = kit.cylinders(live.engine, now, day, check_h=check_h, least_percent=least)
    found = kit.kits(live.engine, now, day, check_h=check_h, used=usage.kits(since), cylinders=oxygen)
    took = [took for case in usage.since(since) for took in case.took]
    return found, restocked(took, now - timedelta(days=1)), oxygen


def restocked(took: list[Took], since: datetime) -> list[tuple[str, float, datetime]]:
    """What left the shelves since a moment, most first: item, how many, when last."""
    counts: dict[str, tuple[float, datetime]] = {}
    for one in took:
        if one.at > since:
            count, last = counts.get(one.item, (0, one.at))
            counts[one.item] = (count + one.quantity, max(last, one.at))
    return sorted(((item, count, last) for item, (count, last) in counts.items()), key=lambda one: (-one[1], one[0]))


async def stock_left(request: Request) -> Response:
    """GET: respirators left by model and size, by what cases really used."""
    live = live_of(request)
    found, unknown = await asyncio.to_thread(_stock, live, utc_now())
    return _show(request, "ready_stock.html", supplies=found, unknown=unknown, windows=WINDOWS_D)


def _stock(live: Live, now: datetime) -> tuple[list[Any], list[tuple[str, int]]]:
    counts = kit.stock(live.engine)
    since = min([now - timedelta(days=SUPPLY_D), *(count.counted_at for _, count in counts)])
    worn = [worn for case in live.registers.usage.since(since - timedelta(days=2)) for worn in case.worn]
    known = people.fit_sizes(live.engine)
    sized = {model.model for model, count in counts if count.size}
    lost = unsized(worn, known, now - timedelta(days=SUPPLY_D))
    return supply(counts, worn, known, now), sorted((m, n) for m, n in lost.items() if m in sized)


async def new_model(request: Request, model: str = "", who: str = "shift") -> Response:
    """GET: who on duty, or of everybody, is not covered by a model before it is handed out."""
    live, now = live_of(request), utc_now()
    told = await asyncio.to_thread(_cover, live, now, model, who)
    return _show(request, "ready_model.html", words=WORDS, **told)


def _cover(live: Live, now: datetime, model: str, who: str) -> dict[str, Any]:
    models, shift = kit.respirators(live.engine), people.shift_at(live.engine, now)
    chosen = next((one for one in models if one.id == model), None)
    everybody = people.people(live.engine)
    on = set(shift.people.split()) if shift is not None else set()
    asked = [one for one in everybody if who == "all" or one.id in on]
    found: tuple[Cover, ...] = ()
    if chosen is not None and chosen.face != "hood":
        by, days = people.practice(live.engine).fit_reading, rule_days("R05", "fit_valid_days")
        today = now.astimezone(live.zone).date()
        found = cover(asked, chosen.model, people.fit_tests(live.engine), by, today, days)
    return {"models": models, "chosen": chosen, "shift": shift, "who": who, "found": found, "asked": len(asked)}


def _show(request: Request, template: str, **context: Any) -> Response:
    return show(
        request, template, page="registers", station=station_of(request, "desk"), path=PATH,
        editor=may_edit(request), **context,
    )  # fmt: skip
