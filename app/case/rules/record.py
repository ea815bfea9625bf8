"""Out of order, or twice: R58. A note for the record only, one an entry."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from app.case.happening import Happening
from app.case.rules import ask
from app.case.rules.notice import Found, Sight, Table
from app.case.state import State

_ONCE_A_CASE = [
    "case.open",
    "brief.done",
    "comms.test",
    "preox.start",
    "monitor.on",
    "tube.passed",
    "cuff.up",
    "vent.first",
    "co2.yes",
    "co2.no",
    "tube.secured",
    "agp.end",
    "count.done",
    "help.call",
    "fona.start",
    "fona.in",
    "ext.out",
    "tx.depart",
    "tx.arrive",
    "tx.accept",
    "tr.incise",
    "tr.open",
    "tr.tube_in",
    "br.in",
    "br.out",
    "patient.out",
    "clean.start",
    "room.turned",
    "handover.start",
    "handover.done",
    "debrief.start",
    "debrief.done",
    "room.ready",
]
MILESTONE_KEYS: Mapping[str, tuple[str, ...]] = {
    **dict.fromkeys(_ONCE_A_CASE, ()),
    **dict.fromkeys(("don.start", "room.in", "room.out", "doff.start", "doff.done", "help.arrive"), ("p",)),
    **dict.fromkeys(("req.new", "req.ack", "req.in", "req.got", "req.cancel"), ("q",)),
    **dict.fromkeys(("scope.start", "scope.end", "sga.in", "sga.out"), ("n",)),
    **dict.fromkeys(("check.start", "check.done"), ("phase", "checker", "subject")),
    "breach": ("p", "type"),
    "doff.step": ("p", "step"),
    "drug.given": ("class_", "drug"),
    "kit.staged": ("tray",),
    "rescue.declare": ("plan",),
    "role.handover": ("role", "to"),
    "tube.out": ("what",),
}  # fmt: skip
"""Kinds that two sides may tap for one and the same moment, with the fields that make it the same.

Left out: what may truly come twice within seconds (readings, clamps, doors, movements) and what only one side says.
"""
ORDERED = ("scope.start", "tube.passed", "cuff.up", "cuff.check", "vent.first", "co2.yes")


def _key(h: Happening) -> tuple[Any, ...]:
    return tuple(getattr(h.body, field) for field in MILESTONE_KEYS[h.kind])


def _on_both_sides(sight: Sight) -> Happening | None:
    """The same milestone from another station shortly before."""
    if sight.h.kind not in MILESTONE_KEYS:
        return None
    limit_s, key = sight.limit("R58", "both_sides_s"), _key(sight.h)
    for earlier in reversed(sight.before.all(sight.h.kind)):
        if (sight.h.at - earlier.at).total_seconds() > limit_s:
            return None
        if earlier.station != sight.h.station and _key(earlier) == key:
            return earlier
    return None


def _airway_in_place(state: State) -> bool:
    """Whether there is an airway to be cuffed, breathed through or proven.

    Only an intubation begins without one: elsewhere the patient may come with a tube, until that one is out.
    """
    came_with_one = state.setup.procedure not in (None, "intubation")
    taken_out = state.all("ext.out") or state.all("tube.out")
    return state.airway.device is not None or (came_with_one and not taken_out)


def _out_of_order(sight: Sight) -> tuple[str, dict[str, Any]] | None:
    """Which sentence of R58 fits this happening, if any, and its params."""
    before, body, kind = sight.before, sight.body, sight.h.kind
    if kind == "scope.start":
        if body.n is not None and any(attempt.n == int(body.n) for attempt in before.attempts):
            return "attempt_twice", {"n": int(body.n)}
        return None if ask.inductions(before) else ("attempt_before_induction", {})
    if kind == "tube.passed":
        return None if before.attempts else ("tube_before_attempt", {})
    if kind not in ORDERED:
        return None
    if not _airway_in_place(before):
        return "no_airway", {}
    airway = before.airway
    early = kind == "co2.yes" and airway.device not in (None, "sga") and airway.breath_at is None
    return ("co2_before_breath", {}) if early else None


def order(sight: Sight) -> Found:
    """R58: recorded out of order, started twice, or tapped on both sides of the door."""
    if (wrong := _out_of_order(sight)) is not None:
        say, params = wrong
        yield sight.find("R58", "order", say=say, kind=sight.h.kind, **params)
    elif (first := _on_both_sides(sight)) is not None:
        yield sight.find("R58", "order", say="both_sides", kind=sight.h.kind, first=first.id)


RULES: Table = ((order, (*ORDERED, *(kind for kind in MILESTONE_KEYS if kind not in ORDERED))),)
