"""The first set-up: whoever holds the code that the server printed becomes its first administrator at this desk."""

from __future__ import annotations

import asyncio
from datetime import datetime

from fastapi import Request, Response
from fastapi.responses import RedirectResponse
from sqlalchemy import Engine

from app.base.errors import DoorsideError, NotPermitted, NotValid, Unknown
from app.base.ids import new_id
from app.people import store as people
from app.people.sign_in import pins, store
from app.people.sign_in.values import ALL_RIGHTS
from app.people.tables import Person
from app.stations import store as stations
from app.web import sessions
from app.web.deps import live_of, proofs_of, sessions_of, setup_of
from app.web.forms import form_of
from app.web.pages import pair
from app.web.pages.frame import show

NAME_MOST = 80
FIELDS = ("name", "job")
GIVEN_BACK = (*FIELDS, "code")


async def page(request: Request) -> Response:
    """GET: the form. The printed link has the code in its fragment, which no server sees; a script fills it in."""
    return show(request, "setup.html", page="signing", error=None, given=dict.fromkeys(GIVEN_BACK, ""))


async def make(request: Request) -> Response:
    """POST: the first administrator, signed in at this browser, which is a desk from now on."""
    form, live, now = await form_of(request), live_of(request), sessions_of(request).now()
    try:
        if not setup_of(request).fits(form.get("code", "")):
            raise NotPermitted(
                "That is not the set-up code.", do="It stands on the console where the server was started."
            )
        cookie, secret = await asyncio.to_thread(_make, live.engine, form, now, request.app.state.pin_key)
    except DoorsideError as error:
        given = {name: form.get(name, "") for name in GIVEN_BACK}
        return show(request, "setup.html", page="signing", status_code=error.status, error=error, given=given)
    live.registers.read()
    proofs_of(request).forget()
    response = RedirectResponse("/desk", status_code=303)
    pair.set_cookie(response, request, "desk", cookie)
    sessions.set_cookie(response, secret, request.url.scheme == "https")
    return response


def _make(engine: Engine, form: dict[str, str], now: datetime, secret: bytes) -> tuple[str, str]:
    """Person, rights, PIN, desk, session; gives the cookies of the desk and of the session."""
    name, job = (form.get(field, "") for field in FIELDS)
    if not name or max(len(name), len(job)) > NAME_MOST:
        raise NotValid("Your name is missing, or too long.", holds="Nothing was made.", do="Type it as others know it.")
    if form.get("pin", "") != form.get("again", ""):
        raise NotValid("The two PINs differ.", holds="Nothing was made.", do="Type it twice.")
    pin_hash = pins.hashed(pins.check(form.get("pin", "")), secret)
    if store.has_administrator(engine):  # two browsers, one code: the first wins
        raise Unknown("There is an administrator already.", holds="Nothing was made.", do="Sign in at the desk.")
    person = new_id()
    short = "".join(word[0] for word in name.split()).upper()[:4]
    people.add(engine, Person(id=person, name=name, initials=short, job=job))
    store.set_rights(engine, person, ALL_RIGHTS, now=now, how="set-up")
    store.set_pin(engine, person, pin_hash, first=False, now=now, how="set-up")
    cookie = stations.pair(engine, kind="desk", label="First desk", now=now)
    return cookie, store.begin(engine, person, cookie.partition(".")[0], now)
