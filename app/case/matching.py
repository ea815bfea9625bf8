"""Handed in by voice, asked for on a screen that had no line: which of the two may be one and the same thing.

While the room's line is down it asks by voice. The door hands in what no request on its list asks for, under a name (q)
of its own. When the room's requests arrive, a hand-in and a request for the same item within MATCH_S are proposed as
one. Somebody confirms it (`tap.fix set_q` of the hand-in) or says that they are two; nothing is matched by itself.

They are two when somebody outside took the request in hand after the hand-in (they saw it, and fetch another), and when
the room has received both.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.case.state import Request, State
from app.case.vocabulary.kit import ReqIn

MATCH_S = 600.0
"""A hand-in and a request further apart than this are not taken for one (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """Two requests that may be one. given: the hand-in's own; asked: the room's; entry: id of the hand-in."""

    given: Request
    asked: Request
    entry: str


def proposals(state: State) -> tuple[Proposal, ...]:
    """What may be one, each hand-in and each request in at most one of them, the closest in time first."""
    unlisted = [r for r in state.requests.values() if r.asked is None and r.handed_in is not None]
    if not unlisted:
        return ()
    open_ones = [r for r in state.requests.values() if r.asked is not None and r.handed_in is None and not r.cancelled]
    entries = _entries(state)
    pairs = sorted(
        (
            (apart, given.q, asked.q)
            for given in unlisted
            for asked in open_ones
            if (apart := _apart(given, asked)) is not None
        ),
    )
    found: list[Proposal] = []
    taken: set[str] = set()
    for _, given, asked in pairs:
        if given in entries and not taken & {given, asked}:
            taken |= {given, asked}
            found.append(Proposal(state.requests[given], state.requests[asked], entries[given]))
    return tuple(found)


def proposed(state: State) -> frozenset[str]:
    """The names of all requests that stand in a proposal: they are not offered as new, nor as a thing of their own."""
    return frozenset(q for one in proposals(state) for q in (one.given.q, one.asked.q))


def _apart(given: Request, asked: Request) -> float | None:
    """How far a hand-in and a request lie apart [s]; None when they cannot be one."""
    if not given.item or not asked.item or _plain(given.item) != _plain(asked.item):
        return None
    assert given.handed_in is not None
    assert asked.asked is not None
    if asked.acknowledged is not None and asked.acknowledged > given.handed_in:
        return None
    if given.cancelled or (given.received is not None and asked.received is not None):
        return None
    apart = abs((given.handed_in - asked.asked).total_seconds())
    return apart if apart <= MATCH_S else None


def _plain(item: str) -> str:
    return " ".join(item.casefold().split())


def _entries(state: State) -> Mapping[str, str]:
    """Name of a request to the id of the entry that handed it in first."""
    found: dict[str, str] = {}
    for h in state.all("req.in"):
        if isinstance(h.body, ReqIn) and h.body.q is not None:
            found.setdefault(h.body.q, h.id)
    return found
