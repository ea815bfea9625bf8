"""Who may sign in at a desk, and as what: for administrators. A first PIN is shown once, to be handed over."""

from __future__ import annotations

import asyncio

from fastapi import Request, Response
from fastapi.responses import RedirectResponse

from app.base.errors import NotPermitted, NotValid, Unknown
from app.people.sign_in import pins, store
from app.people.sign_in.values import LEVELS, Rights, Use
from app.web.deps import live_of, person_of, sessions_of, station_of
from app.web.forms import form_of
from app.web.pages.frame import show

PATH = "/desk/people-rights"


async def page(request: Request, person: str = "") -> Response:
    """GET: everybody in the register with their rights, and the history of changes."""
    return await _page(request, person)


async def change(request: Request, person: str) -> Response:
    """POST: somebody's rights as the form has them."""
    form = await form_of(request)
    level = form.get("level", "")
    if level and level not in LEVELS:
        raise NotValid("There is no such right.", do="Choose one of the list.")
    rights = Rights(Use(level) if level else None, "editor" in form, "admin" in form)
    await asyncio.to_thread(
        store.set_rights, live_of(request).engine, person, rights, now=sessions_of(request).now(), by=_by(request)
    )
    if person == _by(request):  # own rights: the session has ended with the change
        return RedirectResponse(f"/sign-in?next={PATH}", status_code=303)
    return RedirectResponse(f"{PATH}?person={person}#person-{person}", status_code=303)


async def new_pin(request: Request, person: str) -> Response:
    """POST: a random first PIN, shown on the page that answers and nowhere else."""
    live = live_of(request)
    if person == _by(request):
        raise NotPermitted("An own PIN is changed with the old one.", do="Choose “Change my PIN” where you sign in.")
    pin = pins.first_pin()
    pin_hash = await asyncio.to_thread(pins.hashed, pin, request.app.state.pin_key)
    await asyncio.to_thread(
        store.set_pin, live.engine, person, pin_hash, first=True, now=sessions_of(request).now(), by=_by(request)
    )
    return await _page(request, person, pin)


def _by(request: Request) -> str:
    signed = person_of(request)
    assert signed is not None  # the row of the route has looked
    return signed.id


async def _page(request: Request, person: str, pin: str = "") -> Response:
    engine = live_of(request).engine
    members, changes = await asyncio.gather(
        asyncio.to_thread(store.members, engine), asyncio.to_thread(store.history, engine)
    )
    chosen = next((one for one in members if one.id == person), None)
    if person and chosen is None:
        raise Unknown("Nobody of that name is in the register.", do="Go back to the list.")
    return show(
        request, "people_rights.html", page="rights", station=station_of(request, "desk"), people=members,
        chosen=chosen, pin=pin, changes=changes, levels=LEVELS,
    )  # fmt: skip
