"""Trays, items and requests."""

from __future__ import annotations

from dataclasses import replace

from app.case.folds.handler import Handler, recorded
from app.case.happening import Happening
from app.case.state import EMPTY, Request, State, Tray, with_item
from app.case.vocabulary import kit as v


def _placed(state: State, item: str, place: str, quantity: float) -> State:
    there = state.places.get(place, EMPTY)
    left = there.get(item, 0) + quantity
    changed = {name: count for name, count in there.items() if name != item}
    if left > 0:
        changed[item] = int(left) if left == int(left) else left
    return replace(state, places=with_item(state.places, place, changed))


def kit_staged(state: State, h: Happening, body: v.KitStaged) -> State:
    """A tray is staged anew each time: what it has now, and lacks, replaces what was said before."""
    tray = Tray(body.has, body.missing, body.expired, h.at)
    there: dict[str, float] = {item: body.has.count(item) for item in dict.fromkeys(body.has) if item != "none"}
    state = replace(state, places=with_item(state.places, body.tray, there))
    return replace(state, trays=with_item(state.trays, body.tray, tray))


def item_move(state: State, h: Happening, body: v.ItemMove) -> State:
    quantity = 1 if body.quantity is None else body.quantity
    if body.from_ is not None:
        state = _placed(state, body.item, body.from_, -quantity)
    return _placed(state, body.item, body.to, quantity)


def _request(state: State, q: str) -> Request:
    return state.requests.get(q) or Request(q)


def _kept(state: State, request: Request) -> State:
    return replace(state, requests=with_item(state.requests, request.q, request))


def req_new(state: State, h: Happening, body: v.ReqNew) -> State:
    known = _request(state, body.q)
    if known.asked is not None:  # asked twice under one name: the first time counts
        return state
    return _kept(state, replace(known, item=body.item, urgency=body.urg, offered=body.from_, asked=h.at))


def req_ack(state: State, h: Happening, body: v.ReqAck) -> State:
    known = _request(state, body.q)
    if known.acknowledged is not None:
        return state if body.p is None else _kept(state, replace(known, runner=body.p))
    runner = body.p or next(iter(state.roles.get("DR", ())), None)
    return _kept(state, replace(known, acknowledged=h.at, runner=runner, via=body.via))


def req_in(state: State, h: Happening, body: v.ReqIn) -> State:
    if body.q is None:  # handed in unasked: kept under its kind, matched later by a correction that sets q
        return state
    known = _request(state, body.q)
    if known.handed_in is not None:
        return state
    return _kept(state, replace(known, item=known.item or body.item, handed_in=h.at, via=body.via or known.via))


def req_got(state: State, h: Happening, body: v.ReqGot) -> State:
    known = _request(state, body.q)
    return _kept(state, replace(known, received=known.received or h.at))


def req_cancel(state: State, h: Happening, body: v.ReqCancel) -> State:
    known = _request(state, body.q)
    return _kept(state, replace(known, cancelled=known.cancelled or h.at))


HANDLERS: dict[str, Handler] = {
    "kit.staged": kit_staged,
    "item.move": item_move,
    "count.done": recorded,
    "req.new": req_new,
    "req.ack": req_ack,
    "req.in": req_in,
    "req.got": req_got,
    "req.cancel": req_cancel,
    "message": recorded,
    "note": recorded,
    "help.call": recorded,
    "help.arrive": recorded,
    "hold": recorded,
}
