"""What handlers are given: the live process, and the stations that a browser has proven to be."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import cast

from starlette.datastructures import State
from starlette.requests import HTTPConnection

from app.base.errors import NotPaired, NotPermitted, NotSignedIn, Unknown
from app.base.settings import Settings
from app.live.live import Live
from app.people.sign_in import store as sign_in
from app.people.sign_in.values import SignedIn, Use
from app.stations import store
from app.stations.values import KINDS, Station
from app.web.permissions import Permission
from app.web.sessions import COOKIE, Sessions
from app.web.setup_code import SetUp

PROOF_KEPT_S = 5.0
"""How long a proven cookie is believed without asking the database again: a revoke elsewhere takes so long to bite."""


BROWSER_KEPT_S = 1.0
"""How long it is remembered which stations a browser is: it says so with every tap."""

_BROWSER = "doorside.browser"
_PERSON = "doorside.person"
_HELD = "doorside.permission"


@dataclass(slots=True)
class Browser:
    """The stations, by id, that all cookies of a browser prove; known: those that it was, too, once that was asked."""

    at: float
    stations: Mapping[str, Station]
    known: Mapping[str, Station] | None = None


class Proofs:
    """Cookies that were proven a moment ago."""

    def __init__(self) -> None:
        self._known: dict[tuple[str, str], tuple[float, Station]] = {}
        self._browsers: dict[str, Browser] = {}

    def forget(self) -> None:
        """A station was paired or revoked here: everything is asked anew."""
        self._known.clear()
        self._browsers.clear()

    def browser(self, cookies: str) -> Browser | None:
        """What all cookies of a browser proved a moment ago; None when that must be found out."""
        known = self._browsers.get(cookies)
        return known if known is not None and time.monotonic() - known.at < BROWSER_KEPT_S else None

    def keep_browser(self, cookies: str, stations: Mapping[str, Station]) -> Browser:
        """Remembers what the cookies of a browser have just proved."""
        if len(self._browsers) > 500:
            self._browsers.clear()
        found = self._browsers[cookies] = Browser(time.monotonic(), stations)
        return found

    def station(self, live: Live, kind: str, cookie: str) -> Station:
        """The station that a cookie proves. Raises NotPermitted."""
        now = time.monotonic()
        known = self._known.get((kind, cookie))
        if known is not None and now - known[0] < PROOF_KEPT_S:
            return known[1]
        station = store.authenticate(live.engine, cookie, kind)
        if len(self._known) > 500:
            self._known.clear()
        self._known[kind, cookie] = (now, station)
        return station


def live_of(request: HTTPConnection) -> Live:
    """The live process behind a request."""
    return cast(Live, _state(request).live)


def settings_of(request: HTTPConnection) -> Settings:
    """The settings of this start."""
    return cast(Settings, _state(request).settings)


def _state(request: HTTPConnection) -> State:
    return cast(State, request.app.state)


def cookie_name(kind: str) -> str:
    """One cookie a kind of station: one browser can be all of them in different tabs."""
    return f"doorside_{kind}"


def station_of(request: HTTPConnection, kind: str) -> Station:
    """The station of a kind that this browser is paired as. Raises NotPermitted."""
    cookie = request.cookies.get(cookie_name(kind), "")
    proofs = cast(Proofs, _state(request).proofs)
    return proofs.station(live_of(request), kind, cookie)


def stations_of(request: HTTPConnection) -> Mapping[str, Station]:
    """Every station that this browser is paired as, by id. Found out once a request."""
    return _browser(request).stations


def _browser(request: HTTPConnection) -> Browser:
    if (found := request.scope.get(_BROWSER)) is not None:
        return cast(Browser, found)
    proofs, cookies = proofs_of(request), request.headers.get("cookie", "")
    known = proofs.browser(cookies) or proofs.keep_browser(cookies, _proven(request))
    request.scope[_BROWSER] = known
    return known


def _proven(request: HTTPConnection) -> Mapping[str, Station]:
    found = {}
    for kind in KINDS:
        if cookie_name(kind) in request.cookies:
            try:
                station = station_of(request, kind)
            except NotPermitted:
                continue
            found[station.id] = station
    return found


def known_stations_of(request: HTTPConnection) -> Mapping[str, Station]:
    """Every station that this browser is or was paired as, also revoked ones, by id: what they send may be held."""
    browser = _browser(request)
    if browser.known is None:
        browser.known = _known(request, browser.stations)
    return browser.known


def _known(request: HTTPConnection, stations: Mapping[str, Station]) -> Mapping[str, Station]:
    found = dict(stations)
    paired = {station.kind for station in found.values()}
    for kind in KINDS:
        if kind not in paired and (cookie := request.cookies.get(cookie_name(kind))):
            try:
                station = store.known(live_of(request).engine, cookie, kind)
            except NotPermitted:
                continue
            found[station.id] = station
    return found


def proofs_of(request: HTTPConnection) -> Proofs:
    """The proven cookies of this server process."""
    return cast(Proofs, _state(request).proofs)


def setup_of(request: HTTPConnection) -> SetUp:
    """The set-up code of this start."""
    return cast(SetUp, _state(request).setup)


def sessions_of(request: HTTPConnection) -> Sessions:
    """The sessions of this server process."""
    return cast(Sessions, _state(request).sessions)


def person_of(request: HTTPConnection) -> SignedIn | None:
    """Who is signed in at this browser's desk; None for nobody, and on every other kind of screen. Once a request."""
    if _PERSON in request.scope:
        return cast(SignedIn | None, request.scope[_PERSON])
    found, secret = None, request.cookies.get(COOKIE, "")
    desk = next((station for station in stations_of(request).values() if station.kind == "desk"), None)
    if secret and desk is not None:
        idle = timedelta(minutes=settings_of(request).desk_idle_min)
        found = sessions_of(request).find(live_of(request).engine, secret, desk.id, idle)
    request.scope[_PERSON] = found
    return found


def held_at_desk(request: HTTPConnection) -> bool:
    """Whether the page that is being answered is one of a desk: it then shows who is signed in."""
    held = request.scope.get(_HELD)
    return held is not None and cast(Permission, held).kind == "desk"


def hold(request: HTTPConnection, permission: Permission) -> None:
    """Raises NotPermitted unless the caller is what the route asks for; NotPaired where no secret proves anything."""
    request.scope[_HELD] = permission
    if permission is Permission.DEMO and getattr(_state(request), "demo", None) is None:
        raise NotPermitted("This works in the demo only.")
    if permission is Permission.SETUP and sign_in.has_administrator(live_of(request).engine):
        raise Unknown("There is no such page.", do="Go back to the start page.")
    if permission is Permission.KNOWN and not known_stations_of(request):
        raise NotPaired(
            "This screen is not paired.", holds="What it has not sent yet stays on it.", do="Pair it at the desk."
        )
    if permission is Permission.STATION and not stations_of(request):
        if known_stations_of(request):
            raise store.revoked()
        raise NotPermitted(
            "This screen is not paired.", holds="What it has not sent yet stays on it.", do="Pair it at the desk."
        )
    if permission.kind is not None:
        station_of(request, permission.kind)
    if permission.use is not None:
        _hold_person(request, permission.use)


def _hold_person(request: HTTPConnection, use: Use) -> None:
    person = person_of(request)
    if person is None:
        raise NotSignedIn(
            "Nobody is signed in at this desk.",
            holds="What was tapped stays here until it is sent.",
            do="Choose your name and type your PIN.",
        )
    if not person.may(use):
        raise NotPermitted(f"{person.name} may not do this.", do="Ask somebody who may, or an administrator.")
