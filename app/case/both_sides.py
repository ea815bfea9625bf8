"""One moment that two sides of the door recorded: the earlier is kept, the later is linked to it (job map 5; R58).

Two stations may tap the same milestone within seconds of each other. What happened is then one thing: the second tap
changes nothing, and no rule but R58 and no interval looks at it. It stays in the journal and in the history.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from app.case.happening import Happening
from app.case.state import State

BOTH_SIDES_S = 30
"""Where the case's protocol says nothing else (R58)."""

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

_KEEP_THE_EARLIER_THEMSELVES = frozenset(
    {"case.open", "room.in", "scope.start", "scope.end"} | {"req.new", "req.ack", "req.in", "req.got", "req.cancel"}
)
"""Kinds whose fold keeps the earlier and may learn something from the later, such as who fetches."""

_SAYS_HOW_IT_IS = frozenset(
    {"kit.staged", "comms.test", "monitor.on", "room.ready", "count.done", "cuff.up", "check.done", "help.call"}
)
"""Kinds that say how, or who: where the two differ in that, the later one is a new word, not the same moment."""

_UNDONE_BY: Mapping[str, tuple[str, ...]] = {
    "room.out": ("room.in",),
    "don.start": ("doff.start", "doff.done"),
    "doff.start": ("doff.done", "don.start"),
    "doff.done": ("don.start",),
    "check.start": ("check.done",),
    "help.call": ("help.arrive",),
    "preox.start": ("preox.stop",),
    "tube.passed": ("tube.out",),
    "tube.out": ("tube.passed",),
    "sga.in": ("sga.out",),
    "sga.out": ("sga.in",),
    "cuff.up": ("cuff.down", "tube.passed", "fona.in", "tr.tube_in"),
    "vent.first": ("tube.passed", "sga.in", "fona.in", "tr.tube_in"),
    "co2.yes": ("co2.no", "tube.out", "sga.out", "tube.passed", "sga.in", "fona.in", "tr.tube_in"),
    "co2.no": ("co2.yes", "tube.out", "sga.out", "tube.passed", "sga.in", "fona.in", "tr.tube_in"),
}
"""What between the two makes the later one a new moment: somebody came out and went in again, say."""


def same_moment(before: State, h: Happening, within_s: float) -> Happening | None:
    """The same milestone from another station shortly before; None when there is none."""
    keys = MILESTONE_KEYS.get(h.kind)
    if keys is None:
        return None
    for found in (before.all(h.kind), before.linked.get(h.kind, ())):
        for earlier in reversed(found):
            if (h.at - earlier.at).total_seconds() > within_s:
                break
            if earlier.station != h.station and all(_said(earlier, key) == _said(h, key) for key in keys):
                return earlier
    return None


def kept_instead(before: State, h: Happening) -> Happening | None:
    """The earlier happening that stands for this one too; None for one that counts by itself."""
    if h.kind not in MILESTONE_KEYS or h.kind in _KEEP_THE_EARLIER_THEMSELVES or not before.all(h.kind):
        return None
    setting = before.rules.get("R58")
    within_s = BOTH_SIDES_S if setting is None else setting.thresholds.get("both_sides_s", BOTH_SIDES_S)
    earlier = same_moment(before, h, within_s)
    if earlier is None or _undone(before, earlier) or (h.kind in _SAYS_HOW_IT_IS and _says_otherwise(earlier, h)):
        return None
    return earlier


def _said(h: Happening, field: str) -> Any:
    return getattr(h.body, field, None)


def _undone(state: State, earlier: Happening) -> bool:
    """Whether something between the two ended what the earlier one began, for the same person where it names one."""
    p = _said(earlier, "p")
    return any(
        later.order > earlier.order and (p is None or _said(later, "p") in (None, p))
        for kind in _UNDONE_BY.get(earlier.kind, ())
        for later in reversed(state.all(kind)[-4:])
    )


def _says_otherwise(earlier: Happening, h: Happening) -> bool:
    """Whether both say something of the same and it differs."""
    fields = type(h.body).model_fields if h.body is not None else {}
    pairs = ((_said(earlier, name), _said(h, name)) for name in fields if name != "note")
    return any(one is not None and other is not None and one != other for one, other in pairs)
