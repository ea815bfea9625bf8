"""Out and clean: R21-R25. Two who undress together (R20) may be of two cases: `across`."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from app.base.moments import whole_second
from app.case.happening import Happening
from app.case.rules import ask
from app.case.rules.notice import Found, Sight, Table, Watch
from app.case.state import Person, State


def out_of_order(sight: Sight) -> Found:
    """R21: a step out of its turn; respirator or hood off inside the room."""
    body = sight.body
    if sight.person(body.p).inside and ask.names(body.step, "respirator", "hood"):
        yield sight.find("R21", "respirator", body.p, p=body.p, step=body.step)
    elif body.order is not None and body.order.casefold() == "wrong":
        yield sight.find("R21", "order", body.p, p=body.p, step=body.step)


def no_partner(sight: Sight) -> Found:
    """R22: undressing for a while without a partner."""
    person = sight.person(sight.body.p)
    p, since = person.id, person.doff_start

    def alone(state: State) -> bool:
        now = state.people[p]
        return now.doff_start == since and now.doff_done is None and now.doff_partner in (None, p)

    situation = "enhanced" if ask.enhanced(sight.after, person) else "other"
    found = sight.find("R22", situation, p, over=lambda s: not alone(s), p=p)
    yield sight.watch(sight.limit("R22", "wait_s"), found, alone)


def _followed(state: State, breach: Happening) -> bool:
    """Whether an exposure was opened for the person of a breach since it happened."""
    p = ask.body(breach).p
    return any(ask.body(opened).p == p and opened.at >= breach.at for opened in state.all("exposure.open"))


def _unfollowed(sight: Sight, breach: Happening, due: Any) -> Watch:
    p = ask.body(breach).p
    found = sight.find("R23", "open", p, over=lambda s: _followed(s, breach), cause=breach.id, p=p)
    return Watch(due, found, lambda state: not _followed(state, breach))


def breach(sight: Sight) -> Found:
    """R23: no exposure record an hour after a breach. R24: a major breach."""
    body = sight.body
    if (body.grade or "").casefold() == "major":
        yield sight.find("R24", "major", body.p, p=body.p, type=body.type)
    yield _unfollowed(sight, sight.h, _exposure_due(sight, sight.h))


def _exposure_due(sight: Sight, breach: Happening) -> Any:
    return whole_second(breach.at) + timedelta(minutes=sight.limit("R23", "wait_min"))


def breach_at_close(sight: Sight) -> Found:
    """R23: the case is closed before that hour is over."""
    if sight.before.closed_at is not None:
        return
    for one in sight.before.all("breach"):
        if _exposure_due(sight, one) > sight.second:
            yield _unfollowed(sight, one, sight.second)


def not_undressing(sight: Sight) -> Found:
    """R25: somebody in equipment is out for a while and has not begun to undress. A transport's crew goes on in it."""
    body = sight.body
    person = sight.person(body.p)
    if (body.tx or "").casefold() == "yes" or not person.stays or not person.dressed:
        return
    p, stay, since = person.id, person.stays[-1], person.don_start

    def waits(state: State) -> bool:
        now: Person = state.people[p]
        begun = now.doff_start is not None or now.doff_done is not None
        return now.stays[-1] == stay and now.don_start == since and not begun

    found = sight.find("R25", "late", p, over=lambda s: not waits(s), p=p)
    yield sight.watch(sight.limit("R25", "wait_s"), found, waits)


RULES: Table = (
    (out_of_order, ("doff.step",)),
    (no_partner, ("doff.start",)),
    (breach, ("breach",)),
    (breach_at_close, ("case.close",)),
    (not_undressing, ("room.out",)),
)
