"""The desk's page of stations: what each says of itself, pairing by a code, ending a pairing, and taps that wait."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import segno
from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse
from markupsafe import Markup

from app import __version__
from app.base.errors import NotValid
from app.base.moments import moment_text
from app.base.time import utc_now
from app.case.correction import first_taps
from app.case.sentences import Detail, details, sentence
from app.journal import store as journal
from app.journal.entry import Entry
from app.live.live import Live
from app.people.sign_in.values import Use
from app.stations import codes, store
from app.stations import held as held_store
from app.stations.values import KINDS, LANGUAGES, Held, Listed, Plan, Report, Station
from app.web.api import held
from app.web.deps import live_of, person_of, station_of
from app.web.forms import form_of
from app.web.lines import Lines, lines_of
from app.web.pages.frame import show

LABEL_MOST = 40
LANGUAGE_NAMES = {"en": "English", "de": "Deutsch"}
OLD_S = 150
"""A station that reports each minute and was not heard for so long [s] is not there."""


@dataclass(frozen=True, slots=True)
class Row:
    """One station in the list: what it serves in words, whether it is heard, and what it last said."""

    station: Station
    serves: tuple[str, ...]
    lines: int
    heard: bool
    report: Report | None
    revoked_at: datetime | None
    old_page: bool


@dataclass(frozen=True, slots=True)
class Waiting:
    """A held tap in words: when it was tapped, what it says, of which case."""

    id: str
    at: datetime
    case: str
    message: str
    params: dict[str, Any]
    details: tuple[Detail, ...]


async def stations(request: Request) -> HTMLResponse:
    """The page."""
    live = live_of(request)
    rows, waiting = await asyncio.gather(asyncio.to_thread(_rows, live, lines_of(request)), _held(live))
    person = person_of(request)
    return show(
        request,
        "stations.html",
        page="stations",
        station=station_of(request, "desk"),
        rows=rows,
        here_id=station_of(request, "desk").id,
        again=False,
        version=__version__,
        **waiting,
        lead=person is not None and person.may(Use.LEAD),
        kinds=KINDS,
        languages=[(code, LANGUAGE_NAMES[code]) for code in LANGUAGES],
        rooms=sorted(live.registers.rooms.items(), key=lambda room: str(room[1].get("name"))),
        cases=await asyncio.to_thread(_open_cases, live),
    )


async def station_list(request: Request, held: str = "") -> HTMLResponse:
    """The list alone, which the page asks for again and again. That is no sign of life of whoever is signed in.

    held  the mark of the taps that the page shows as waiting: when others do, it is told to ask for those too
    """
    live, here = live_of(request), station_of(request, "desk").id
    rows = await asyncio.to_thread(_rows, live, lines_of(request))
    found = show(
        request, "parts/_station_list.html", page="signing", rows=rows, version=__version__, here_id=here, again=True
    )
    if held != await asyncio.to_thread(held_store.mark, live.engine):
        found.headers["hx-trigger"] = "held"
    return found


async def held_list(request: Request, lead: bool = False) -> HTMLResponse:
    """The taps that wait, alone. `lead`: the page that asks was opened by one, so it offers what a lead may do."""
    waiting = await _held(live_of(request))
    return show(request, "parts/_held_list.html", page="signing", lead=lead, **waiting)


async def _held(live: Live) -> dict[str, Any]:
    """What `_held_list.html` shows. The mark is read first: what comes meanwhile is asked for once more."""
    mark = await asyncio.to_thread(held_store.mark, live.engine)
    return {"held_mark": mark, "waiting": await asyncio.to_thread(_waiting, live)}


async def new_code(request: Request) -> HTMLResponse:
    """A code for a screen, shown this once: typed, or scanned with the code behind the `#` that no server sees."""
    form, live, person = await form_of(request), live_of(request), person_of(request)
    plan = await asyncio.to_thread(_plan, live, form)
    code = await asyncio.to_thread(
        codes.make, live.engine, plan, request.app.state.code_key, utc_now(), person.id if person else None
    )
    address = f"{str(request.base_url).rstrip('/')}/pair"
    qr = segno.make(f"{address}#{code}", error="m").svg_inline(scale=6, border=4, dark="#000", light="#fff")
    return show(
        request,
        "parts/_code.html",
        code=f"{code[:4]} {code[4:]}",
        qr=Markup(qr),
        address=address,
        near=request.url.hostname in ("127.0.0.1", "localhost", "::1"),
        plan=plan,
        until=utc_now() + codes.LIFE,
    )


def _plan(live: Live, form: dict[str, str]) -> Plan:
    """What the form chose. `serves` is `all`, `room:ID` or `case:ID`; more cases are ticked as `case-ID`."""
    label = form.get("label", "")[:LABEL_MOST] or form.get("kind", "")
    chosen, _, name = form.get("serves", "all").partition(":")
    ticked = [field.removeprefix("case-") for field in form if field.startswith("case-")]
    cases = tuple(dict.fromkeys([*([name] if chosen == "case" else []), *ticked]))
    if chosen == "room" and name not in live.registers.rooms:
        raise NotValid("That room is not in the register.", holds="No code was made.", do="Pick one of the list.")
    if chosen in ("case", "cases") and not cases:
        raise NotValid("No case was chosen.", holds="No code was made.", do="Tick at least one, or take all cases.")
    if not all(journal.case_exists(live.engine, case) for case in cases):
        raise NotValid("There is no such case.", holds="No code was made.", do="Look at the list again.")
    room = name if chosen == "room" else None
    return Plan(form.get("kind", ""), label, form.get("language", "en"), () if room else cases, room)


async def revoke(request: Request, station: str) -> RedirectResponse:
    """Ends a pairing. The screen sees nothing more from now on; what it has not sent yet will wait at the desk."""
    await asyncio.to_thread(store.revoke, live_of(request).engine, station, utc_now())
    await lines_of(request).look()
    return RedirectResponse("/desk/stations", status_code=303)


async def decide(request: Request) -> RedirectResponse:
    """Takes held taps into the record, or refuses them: those that somebody has seen and named (`tap-ID`)."""
    form, live, person = await form_of(request), live_of(request), person_of(request)
    decision = form.get("do", "")
    if decision not in ("accepted", "refused"):
        raise NotValid("A held tap is accepted or refused.", holds="They wait as before.")
    waiting = await asyncio.to_thread(held_store.waiting, live.engine)
    chosen = [one for one in waiting if f"tap-{one.id}" in form]
    ids = [one.id for one in chosen]
    if decision == "accepted":
        ids, failed = await held.accept(live, chosen)
        never = [one.id for one, error in failed if error.status < 500]
        await asyncio.to_thread(_decide, live, never, "refused", person)
    await asyncio.to_thread(_decide, live, ids, decision, person)
    return RedirectResponse("/desk/stations#held", status_code=303)


def _decide(live: Live, ids: Sequence[str], decision: str, person: Any) -> None:
    if ids:
        held_store.decide(live.engine, ids, decision, utc_now(), person.id if person else None)


def _open_cases(live: Live) -> list[tuple[str, str]]:
    """Cases that have not ended, as the form offers them: id and words."""
    found = journal.heads(live.engine, journal.open_cases(live.engine))
    return [(head.case, f"{_room(live, head.room_id)} {head.ref or head.case[-6:]}".strip()) for head in found]


def _room(live: Live, room: str | None) -> str:
    return str(live.registers.rooms.get(room or "", {}).get("name", ""))


def _rows(live: Live, lines: Lines) -> list[Row]:
    found, now = store.listed(live.engine), utc_now()
    named = {head.case: head.ref or head.case[-6:] for head in journal.heads(live.engine, _cases(found))}
    rows = []
    for one in found:
        report, station = lines.report(one.station.id, one.report), one.station
        count = lines.count(station.id)
        rows.append(
            Row(
                station,
                tuple(named.get(case, case[-6:]) for case in station.cases),
                count,
                not station.revoked
                and (count > 0 or (report is not None and (now - report.at).total_seconds() < OLD_S)),
                report,
                one.revoked_at,
                report is not None and report.version not in ("", __version__),
            )
        )
    return rows


def _cases(found: Sequence[Listed]) -> list[str]:
    return list(dict.fromkeys(case for one in found for case in one.station.cases))


def _waiting(live: Live) -> list[tuple[str, str, list[Waiting]]]:
    """Held taps by station: its id, its label, and its taps in words. What got into the record since is let go."""
    groups: dict[str, tuple[str, str, list[Waiting]]] = {}
    there = []
    for one in held_store.waiting(live.engine):
        if journal.entry(live.engine, one.id) is not None:  # the screen was paired again and has sent it itself
            there.append(one.id)
            continue
        groups.setdefault(one.station, (one.station, one.label, []))[2].append(_words(live, one))
    _decide(live, there, "accepted", None)
    return list(groups.values())


def _words(live: Live, one: Held) -> Waiting:
    tap = held.as_tap(one)
    entry = Entry(tap, live.registers.facts(tap), 1, moment_text(one.held_at), "", "")
    (happening,) = first_taps([entry])
    said = sentence(happening)
    params = copy(said.params)
    for field in said.people:
        params[field] = live.registers.people.get(str(params[field]), {}).get("name", params[field])
    refs = {head.case: head for head in journal.heads(live.engine, [one.case])}
    head = refs.get(one.case)
    case = "" if head is None else f"{_room(live, head.room_id)} {head.ref or ''}".strip()
    more = tuple(one for one in details(happening) if one.field != "ref")
    return Waiting(one.id, happening.at, case, said.message, params, more)
