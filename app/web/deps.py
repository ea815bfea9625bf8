"""What handlers are given: the live process, and the stations that a browser has proven to be."""

from __future__ import annotations

import time
from collections.abc import Mapping
from typing import cast

from starlette.datastructures import State
from starlette.requests import HTTPConnection

from app.base.errors import NotPermitted
from app.base.settings import Settings
from app.live.live import Live
from app.stations import store
from app.stations.values import KINDS, Station
from app.web.permissions import Permission

PROOF_KEPT_S = 5.0
"""How long a proven cookie is believed without asking the database again: a revoke elsewhere takes so long to bite."""


_STATIONS = "doorside.stations"


class Proofs:
    """Cookies that were proven a moment ago."""

    def __init__(self) -> None:
        self._known: dict[tuple[str, str], tuple[float, Station]] = {}

    def forget(self) -> None:
        """A station was paired or revoked here: everything is asked anew."""
        self._known.clear()

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
    if (known := request.scope.get(_STATIONS)) is not None:
        return cast(Mapping[str, Station], known)
    found = {}
    for kind in KINDS:
        if cookie_name(kind) in request.cookies:
            try:
                station = station_of(request, kind)
            except NotPermitted:
                continue
            found[station.id] = station
    request.scope[_STATIONS] = found
    return found


def hold(request: HTTPConnection, permission: Permission) -> None:
    """Raises NotPermitted unless the caller is what the route asks for."""
    if permission is Permission.DEMO and getattr(_state(request), "demo", None) is None:
        raise NotPermitted("This works in the demo only.")
    if permission is Permission.STATION and not stations_of(request):
        raise NotPermitted(
            "This screen is not paired.", holds="What it has not sent yet stays on it.", do="Pair it at the desk."
        )
    if permission.kind is not None:
        station_of(request, permission.kind)
