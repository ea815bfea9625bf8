"""Requests through the door: R43, R44. One runner for two rooms (R45) is seen across cases: `across`."""

from __future__ import annotations

from app.case.rules.notice import Found, Holds, Sight, Table
from app.case.state import Request, State


def _waits(q: str, answered: str) -> Holds:
    """Whether a request is open and without that answer."""

    def waits(state: State) -> bool:
        request = state.requests.get(q)
        return request is not None and request.open and getattr(request, answered) is None

    return waits


def _request(sight: Sight, field: str) -> Request | None:
    """The request whose answer this happening is the first to give; None otherwise."""
    q = sight.body.q
    known = None if q is None else sight.before.requests.get(q)
    if q is None or (known is not None and getattr(known, field) is not None):
        return None
    return sight.after.requests[q]


def _thing(request: Request) -> str:
    """What was asked for; the request's own name where only its answers have arrived."""
    return request.item or request.q


def not_acknowledged(sight: Sight) -> Found:
    """R43: nobody outside has said that they have it. What is on its way or met by voice waits no more."""
    request = _request(sight, "asked")
    if request is None:
        return
    unanswered, on_its_way = _waits(request.q, "acknowledged"), _waits(request.q, "handed_in")
    situations = {"now": ("now", "now_critical")}.get(request.urgency, ("soon",))

    def waits(state: State) -> bool:
        return unanswered(state) and on_its_way(state)

    for situation in situations:
        found = sight.find("R43", situation, request.q, over=lambda s: not waits(s), q=request.q, item=_thing(request))
        yield sight.watch(sight.limit("R43", f"{situation}_s"), found, waits)


def not_handed_in(sight: Sight) -> Found:
    """R44: acknowledged and not handed in."""
    request = _request(sight, "acknowledged")
    if request is None:
        return
    waits = _waits(request.q, "handed_in")
    found = sight.find("R44", "handing_in", request.q, over=lambda s: not waits(s), q=request.q, item=_thing(request))
    yield sight.watch(sight.limit("R44", f"{request.urgency}_s"), found, waits)


def not_received(sight: Sight) -> Found:
    """R44: handed in and not received."""
    request = _request(sight, "handed_in")
    if request is None:
        return
    waits = _waits(request.q, "received")
    found = sight.find("R44", "receiving", request.q, over=lambda s: not waits(s), q=request.q, item=_thing(request))
    yield sight.watch(sight.limit("R44", "receiving_s"), found, waits)


RULES: Table = (
    (not_acknowledged, ("req.new",)),
    (not_handed_in, ("req.ack",)),
    (not_received, ("req.in",)),
)
