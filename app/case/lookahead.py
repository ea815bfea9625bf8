"""What is probably wanted next, where it is kept and who comes: shown at the door, never sent by itself.

The department's protocol says what follows which milestone (`look_ahead`); the newest milestone that it knows counts.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.base.errors import Unknown
from app.case.happening import Happening
from app.case.state import Request, State
from app.protocol.library import protocol_for
from app.protocol.values import LookAhead, Protocol


@dataclass(frozen=True, slots=True)
class Offer:
    """One thing that is likely next.

    item, kept   what, and where it is kept; kept is None when the protocol does not say
    comes        who comes with it, or None
    why          kind of the milestone that it follows, since when; source: of the advice, with its evidence mark
    one_tap      whether room and door may ask for it in one tap: it was not asked for yet
    asked        the request that asks for it already, by its handle
    """

    item: str
    kept: str | None
    comes: str | None
    why: str
    since: datetime
    source: str
    one_tap: bool = False
    asked: str | None = None


def likely_next(state: State, protocol: Protocol | None = None) -> tuple[Offer, ...]:
    """What is likely next in a case, what can be asked for in one tap first; nothing once it is closed or aborted.

    protocol  the version that the case is pinned to; without it the built-in one for its procedure and age
    """
    if state.closed_at is not None or state.aborted_at is not None:
        return ()
    protocol = protocol or _built_in(state)
    if protocol is None:
        return ()
    known = [(h, ahead) for h in _newest_of_each_kind(state, protocol) if (ahead := _after(protocol, h)) is not None]
    if not known:
        return ()
    h, ahead = max(known, key=lambda pair: pair[0].order)
    return _offers(state, protocol, h, ahead)


def _built_in(state: State) -> Protocol | None:
    age = state.setup.age
    try:
        return protocol_for(state.setup.procedure or "intubation", "" if age is None else str(age))
    except Unknown:
        return None


def _newest_of_each_kind(state: State, protocol: Protocol) -> tuple[Happening, ...]:
    """Only the newest of a kind counts: an attempt that ends with a tube takes back what a failed one made likely."""
    kinds = dict.fromkeys(ahead.when.kind for ahead in protocol.look_ahead)
    return tuple(h for kind in kinds if (h := state.last(kind)) is not None)


def _after(protocol: Protocol, h: Happening) -> LookAhead | None:
    """What the protocol says of a milestone, the most specific first; None when it says nothing."""
    body = {} if h.body is None else h.body.model_dump(by_alias=True)
    return next(iter(protocol.next_after(h.kind, body)), None)


def _offers(state: State, protocol: Protocol, h: Happening, ahead: LookAhead) -> tuple[Offer, ...]:
    offered = ahead.offer
    items: dict[str, str | None] = {one.item: one.kept for one in ahead.likely}
    if offered is not None and offered not in items:
        items = {offered: _kept(protocol, offered), **items}
    found = []
    for item, kept in items.items():
        asked = _asked_since(state, item, h.at)
        found.append(
            Offer(
                item,
                kept,
                ahead.comes,
                h.kind,
                h.at,
                ahead.source,
                one_tap=item == offered and asked is None,
                asked=None if asked is None else asked.q,
            )
        )
    return tuple(sorted(found, key=lambda offer: offer.item != offered))


def _kept(protocol: Protocol, item: str) -> str | None:
    """Where the protocol's own list of requests says that an item is kept."""
    choices = (choice for phase in protocol.phases for choice in phase.requests)
    return next((choice.kept for choice in choices if choice.item.casefold() == item.casefold()), None)


def _asked_since(state: State, item: str, since: datetime) -> Request | None:
    """A request for that item, not cancelled, asked for since the milestone."""
    for request in state.requests.values():
        same = (request.item or "").casefold() == item.casefold()
        if same and request.cancelled is None and request.asked is not None and request.asked >= since:
            return request
    return None
