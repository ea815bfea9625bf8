"""Signing in and out at a desk, and choosing an own PIN. The person is chosen from a list; the PIN goes by a body."""

from __future__ import annotations

import asyncio
from typing import Any
from urllib.parse import urlsplit

from fastapi import Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from app.base.errors import DoorsideError, NotSignedIn
from app.people.sign_in import door, store
from app.people.sign_in.door import PinMustChange
from app.web.deps import live_of, person_of, sessions_of, station_of
from app.web.errors import answer
from app.web.forms import form_of
from app.web.pages.frame import show
from app.web.sessions import drop_cookie, set_cookie


def back_to(given: str) -> str:
    """A path of this server to return to; the desk for anything else, so that nobody is sent to another site."""
    parts = urlsplit(given)
    safe = given.startswith("/") and not given.startswith("//") and "\\" not in given and given.isprintable()
    return given if safe and not parts.scheme and not parts.netloc and len(given) < 500 else "/desk"


async def page(request: Request, next: str = "/desk", error: DoorsideError | None = None, person: str = "") -> Response:
    """The list of names and the PIN."""
    return await _page(request, "sign_in.html", next, error, person)


async def in_place(request: Request, error: Exception) -> Response:
    """What a page answers that needs somebody signed in: the way to do so, and then the same page again."""
    assert isinstance(error, NotSignedIn)
    if "text/html" not in request.headers.get("accept", ""):
        return answer(request, error)
    here = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    return await page(request, here if request.method == "GET" else "/desk", error)  # a form cannot come back


async def show_page(request: Request, next: str = "/desk") -> Response:
    """GET: the list of names and the PIN."""
    return await page(request, next)


async def show_pin_page(request: Request, next: str = "/desk", person: str = "") -> Response:
    """GET: choosing an own PIN."""
    signed = person_of(request)
    return await _page(request, "new_pin.html", next, None, person or (signed.id if signed else ""))


async def sign_in(request: Request) -> Response:
    """POST: looks at the PIN and goes back to where the person came from."""
    form = await form_of(request)
    person, pin, target = form.get("person", ""), form.get("pin", ""), form.get("next", "")
    station, live = station_of(request, "desk"), live_of(request)
    try:
        secret = await asyncio.to_thread(
            door.sign_in, live.engine, person, pin, station.id, sessions_of(request).now(), request.app.state.pin_key
        )
    except PinMustChange as error:
        return await _page(request, "new_pin.html", target, error, person, status=200)
    except DoorsideError as error:
        return await _page(request, "sign_in.html", target, error, person)
    return _there(request, target, secret)


async def change_pin(request: Request) -> Response:
    """POST: an own PIN for the one of before, and signs in."""
    form = await form_of(request)
    person, target = form.get("person", ""), form.get("next", "")
    station, live = station_of(request, "desk"), live_of(request)
    pins = (form.get("pin", ""), form.get("new", ""), form.get("again", ""))
    try:
        secret = await asyncio.to_thread(
            door.change_pin,
            live.engine,
            person,
            *pins,
            station.id,
            sessions_of(request).now(),
            request.app.state.pin_key,
        )
    except DoorsideError as error:
        return await _page(request, "new_pin.html", target, error, person)
    return _there(request, target, secret)


async def sign_out(request: Request) -> Response:
    """POST: ends the session. What waits in the browser to be sent stays there."""
    target = (await form_of(request)).get("next", "")
    response = RedirectResponse(back_to(target), status_code=303)
    if (signed := person_of(request)) is not None:
        await asyncio.to_thread(store.end, live_of(request).engine, signed.session, sessions_of(request).now())
    drop_cookie(response, request.url.scheme == "https")
    return response


async def still_here(request: Request) -> Response:
    """POST: a sign of life while somebody reads or types. The row's permission has looked at the session already."""
    return Response(status_code=204)


def _there(request: Request, target: str, secret: str) -> RedirectResponse:
    response = RedirectResponse(back_to(target), status_code=303)
    set_cookie(response, secret, request.url.scheme == "https")
    return response


async def _page(
    request: Request, template: str, target: str, error: DoorsideError | None, person: str, status: int | None = None
) -> HTMLResponse:
    live, station = live_of(request), station_of(request, "desk")
    members, last = await asyncio.gather(
        asyncio.to_thread(store.members, live.engine), asyncio.to_thread(store.last_here, live.engine, station.id)
    )
    listed = [one for one in members if one.rights.uses and one.has_pin]
    context: dict[str, Any] = {
        "station": station,
        "people": listed,
        "last": [one for id_ in last for one in listed if one.id == id_],
        "person": next((one for one in listed if one.id == person), None),
        "error": error,
        "next": back_to(target),
        "demo_pin": getattr(getattr(request.app.state, "demo", None), "pin", None),
    }
    code = status if status is not None else error.status if error is not None else 200
    return show(request, template, page="signing", status_code=code, **context)
