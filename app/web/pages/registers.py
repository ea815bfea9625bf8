"""The registers at the desk: the index with what needs attention, a register's list, a row with its history."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote

from fastapi import Request, Response
from fastapi.responses import RedirectResponse

from app.base.errors import Conflict, Unknown
from app.base.register import cells
from app.base.register.spec import Names, Problem, Register, Row
from app.base.register.store import changing, history, reading, taking_back
from app.base.time import utc_now
from app.live import books
from app.live.attention import attention
from app.live.live import Live
from app.people.sign_in.values import Use
from app.web.deps import hold, live_of, person_of, station_of
from app.web.forms import form_of
from app.web.pages import registers_view as view
from app.web.pages.frame import show
from app.web.permissions import Permission

PATH = "/desk/registers"
PAGE = 50
_VERSION = "version"


def may_edit(request: Request) -> bool:
    """Whether whoever is signed in may change registers."""
    signed = person_of(request)
    return signed is not None and signed.may(Use.EDITOR)


def who(request: Request) -> str:
    """The id under which a change is kept."""
    signed = person_of(request)
    return "desk" if signed is None else signed.id


def opened(request: Request, name: str) -> Register:
    """A register that the caller may look at. Raises Unknown, or NotPermitted for one that is confined."""
    register = books.book(name)
    if register.confined:
        hold(request, Permission.EDITOR)
    return register


async def changed(request: Request) -> None:
    """A register was changed: from now on entries take their facts from what it says now."""
    await live_of(request).registers_changed()


async def index(request: Request) -> Response:
    """GET: what needs attention first, then every register."""
    live, editor = live_of(request), may_edit(request)
    needs, counts = await asyncio.gather(
        asyncio.to_thread(attention, live.engine, utc_now(), live.zone, live.registers.usage),
        asyncio.to_thread(_counts, live, editor),
    )
    return _show(request, "registers.html", needs=needs, groups=counts, begin=_begin(counts) if editor else ())


def _begin(groups: list[tuple[str, list[tuple[Register, int]]]]) -> list[Register]:
    """What a new department enters first, as far as it is not there: one person alone is whoever set it up."""
    counts = {one.name: (one, count) for _, found in groups for one, count in found}
    return [one for one, count in (counts[name] for name in books.FIRST) if count <= (one.name == "people")]


def _counts(live: Live, editor: bool) -> list[tuple[str, list[tuple[Register, int]]]]:
    return [
        (title, [(one, reading.count(one, live.engine)) for one in found if editor or not one.confined])
        for title, found in books.GROUPS
    ]


async def rows(request: Request, register: str, q: str = "", page: int = 1) -> Response:
    """GET: the list of a register, or of what holds a text; with htmx the rows alone."""
    book, live = opened(request, register), live_of(request)
    found, total, page, names = await asyncio.to_thread(_found, book, live, q[:80], page)
    shown = view.lines(book, found, names, live.zone)
    template = "parts/_register_rows.html" if request.headers.get("hx-request") else "register.html"
    more: dict[str, Any] = {}
    if template == "register.html":
        starters, gone = await asyncio.gather(
            asyncio.to_thread(_offered, live, book, bool(found)), asyncio.to_thread(history.gone, book, live.engine)
        )
        more = {"starters": starters, "gone": view.history(book, gone, names, {}, live.zone, all_of=may_edit(request))}
    return _show(
        request, template, book=book, lines=shown, q=q[:80], at=page, last=max(1, -(-total // PAGE)), count=total,
        encoded=quote(q[:80]), **more,
    )  # fmt: skip


def _found(book: Register, live: Live, q: str, page: int) -> tuple[list[Row], int, int, Names]:
    names = books.names_for(live.engine, book)
    return *reading.find_page(book, live.engine, q, names, page=page, size=PAGE), names


def _offered(live: Live, book: Register, some: bool) -> int:
    return 0 if some else len(books.starters(live.engine, book))


async def new(request: Request, register: str) -> Response:
    """GET: the empty form; what the address says stands in it already (`?room_id=…`)."""
    book, live = opened(request, register), live_of(request)
    names = await asyncio.to_thread(books.names_for, live.engine, book)
    given = view.texts(book, book.empty(), live.zone)
    now = utc_now().astimezone(live.zone).strftime("%Y-%m-%dT%H:%M")
    given |= {one.name: now for one in book.fields if one.kind == "moment" and one.name.endswith(("ed_at", "read_at"))}
    given |= {name: text for name, text in request.query_params.items() if name in book.names}
    signed = person_of(request)
    if signed is not None and "checked_by" in book.names:
        given["checked_by"] = signed.name
    return _form(request, book, None, given, names)


async def row(request: Request, register: str, row: str) -> Response:
    """GET: one row, its form for those who may change it, and its history."""
    book, live = opened(request, register), live_of(request)
    kept, version, names = await asyncio.to_thread(_row, book, live, row)
    return await _page(request, book, kept, version, view.texts(book, kept, live.zone), names)


def _row(book: Register, live: Live, row_id: str) -> tuple[Row, int, Names]:
    kept = reading.get(book, live.engine, row_id)
    return kept, history.version(book, live.engine, row_id), books.names_for(live.engine, book)


async def _page(
    request: Request, book: Register, kept: Row, version: int, given: Mapping[str, str], names: Names,
    problems: Sequence[Problem] = (), status: int = 200,
) -> Response:  # fmt: skip
    live = live_of(request)
    changes = await asyncio.to_thread(history.of_row, book, live.engine, str(kept["id"]))
    people = {p: str(facts["name"]) for p, facts in live.registers.people.items()}
    told = view.history(book, changes, names, people, live.zone, all_of=may_edit(request))
    (line,) = view.lines(book, [kept], names, live.zone)
    return _form(request, book, kept, given, names, problems, status, version=version, history=told, line=line)


def _form(
    request: Request, book: Register, kept: Row | None, given: Mapping[str, str], names: Names,
    problems: Sequence[Problem] = (), status: int = 200, **more: Any,
) -> Response:  # fmt: skip
    told = {"version": 0, "history": (), "line": None, **more}
    fields = view.asked(book, given, names, problems)
    return _show(
        request, "register_row.html", status_code=status, book=book, row=kept, fields=fields, problems=problems, **told
    )


async def make(request: Request, register: str) -> Response:
    """POST: a new row."""
    return await _save(request, register, None)


async def change(request: Request, register: str, row: str) -> Response:
    """POST: a row as the form has it."""
    return await _save(request, register, row)


async def _save(request: Request, register: str, row_id: str | None) -> Response:
    book, live = opened(request, register), live_of(request)
    form = await form_of(request)
    given = _given(book, form)
    names = await asyncio.to_thread(books.names_for, live.engine, book)
    values, problems = cells.read_row(book.fields, given, names, live.zone)
    seen = int(form[_VERSION]) if form.get(_VERSION, "").isdecimal() and len(form[_VERSION]) < 9 else None
    if not problems:
        try:
            row_id = await asyncio.to_thread(_keep, request, book, row_id, values, seen, names)
        except changing.Wrong as error:
            problems = list(error.problems)
        else:
            await changed(request)
            back = form.get("back", "")
            return RedirectResponse(back if back.startswith(f"{PATH}/") else f"{PATH}/{register}", status_code=303)
    if row_id is None:
        return _form(request, book, None, given, names, problems, 422)
    kept, version, _ = await asyncio.to_thread(_row, book, live, row_id)
    return await _page(request, book, kept, version, given, names, problems, 422)


def _keep(request: Request, book: Register, row_id: str | None, values: Row, seen: int | None, names: Names) -> str:
    engine, now = live_of(request).engine, utc_now()
    if row_id is None and book.only:
        if reading.count(book, engine):
            raise Conflict("This register has one row, which is there.", do="Change that one.")
        values = {"id": book.only, **values}
    return changing.save(book, engine, row_id, values, who=who(request), now=now, refs=names, seen=seen)


def _given(book: Register, form: Mapping[str, str]) -> dict[str, str]:
    """The texts of a form, ticked boxes (`people:P1`) gathered into one."""
    found = {}
    for one in book.fields:
        if one.kind in ("words", "refs"):
            ticked = [name.partition(":")[2] for name in form if name.startswith(f"{one.name}:")]
            found[one.name] = ("; " if one.kind == "refs" else " ").join(ticked)
        elif one.name in form:
            found[one.name] = form[one.name]
    return found


async def undo(request: Request, register: str, change: str) -> Response:
    """POST: takes one change back."""
    book, engine = opened(request, register), live_of(request).engine
    row_id = await asyncio.to_thread(taking_back.undo, book, engine, change, who=who(request), now=utc_now())
    await changed(request)
    try:
        await asyncio.to_thread(reading.get, book, engine, row_id)
    except Unknown:  # what was taken back is that it was entered
        return RedirectResponse(f"{PATH}/{register}", status_code=303)
    return RedirectResponse(f"{PATH}/{register}/row/{row_id}", status_code=303)


async def remove(request: Request, register: str, row: str) -> Response:
    """POST: takes a row out; its history stays and can be taken back."""
    book, engine = opened(request, register), live_of(request).engine
    await asyncio.to_thread(changing.remove, book, engine, row, who=who(request), now=utc_now())
    await changed(request)
    return RedirectResponse(f"{PATH}/{register}", status_code=303)


def _show(request: Request, template: str, **context: Any) -> Response:
    context.setdefault("editor", may_edit(request))
    return show(request, template, page="registers", station=station_of(request, "desk"), path=PATH, **context)
