"""Out of order, or twice: R58. A note for the record only, one an entry."""

from __future__ import annotations

from typing import Any

from app.case.both_sides import MILESTONE_KEYS, same_moment
from app.case.rules import ask
from app.case.rules.notice import Found, Sight, Table
from app.case.state import State

ORDERED = ("scope.start", "tube.passed", "cuff.up", "cuff.check", "vent.first", "co2.yes")


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
    elif (first := same_moment(sight.before, sight.h, sight.limit("R58", "both_sides_s"))) is not None:
        yield sight.find("R58", "order", say="both_sides", kind=sight.h.kind, first=first.id)


RULES: Table = ((order, (*ORDERED, *(kind for kind in MILESTONE_KEYS if kind not in ORDERED))),)
