"""What was tapped last, newest first: a minute earlier, a minute later, or it did not happen. No typing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import islice
from typing import Any

from app.base.checks import plain
from app.base.messages import N_
from app.base.moments import moment_text
from app.case.happening import Happening, Mark
from app.case.sentences import details as said_details
from app.live.now import CaseNow
from app.live.views import told
from app.live.views.details import NO_DETAILS, Details, Stepper, details
from app.live.views.taps import Offer, stored_body

MOST = 8
KEPT = 4000
"""So many lines are kept: a few hundred cases' worth."""
NEWEST = 4
"""Of so many entries the newest that has figures can be told more of."""
MINUTE = timedelta(minutes=1)
WHY = "put right in the room"
_LEFT_OUT = frozenset(
    {"case.open", "role.assign", "tap.fix", "tap.void", "notice.ack", "net.down", "net.up", "req.ack", "req.in"}
)
_UNSAID = frozenset({"q", "from"})
"""A request's own name and what it came from say nothing to whoever puts it right."""


@dataclass(frozen=True, slots=True)
class Line:
    """One entry that stands: when, what in words, its figures, and the taps that put it right.

    figures_later, tell   what can still be said of it, for the newest entry that has something to say
    """

    id: str
    at: datetime
    message: str
    params: Mapping[str, Any]
    figures: tuple[tuple[Any, str], ...]
    moved: bool
    earlier: Offer
    later: Offer
    void: Offer
    figures_later: Details = NO_DETAILS
    tell: Offer | None = None


_MADE: dict[tuple[str, str], tuple[tuple[object, ...], Line]] = {}


@dataclass(frozen=True, slots=True)
class MendView:
    """The last entries of the case that a hand in the room may have to put right."""

    lines: tuple[Line, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> MendView:
        case = cases[0]
        found = (h for h in reversed(case.history) if h.stands and h.kind not in _LEFT_OUT)
        last = list(islice(found, MOST))
        lines = [_known_line(case, h) for h in last]
        for place, h in enumerate(last[:NEWEST]):
            said = _still_to_say(case, h)
            if said != NO_DETAILS:
                tell = Offer("tap.fix", N_("Add to it"), case.id, {"ref": h.id, "why": WHY})
                lines[place] = replace(lines[place], figures_later=said, tell=tell)
                lines = lines[: MOST - len(said.steppers) // 4]  # many take the room of a line
                break
        return cls(tuple(lines))


def _still_to_say(case: CaseNow, h: Happening) -> Details:
    """The figures and words that go along with an entry's milestone, named as a correction sets them."""
    body = stored_body(h)
    known = [m for _, m in case.protocol.milestones() if m.fits(h.kind, body)]
    if not known:
        return NO_DETAILS
    found = details(case, max(known, key=lambda m: len(m.body)))

    def start(one: Stepper) -> str:
        value = body.get(one.name)
        if not isinstance(value, int | float) or one.said_unit not in ("", body.get("unit", one.said_unit)):
            return one.start
        return plain(value)

    return Details(
        tuple(replace(one, name=f"set_{one.name}", start=start(one)) for one in found.steppers),
        tuple(replace(one, name=f"set_{one.name}", given=str(body.get(one.name, ""))) for one in found.choices),
    )


def _known_line(case: CaseNow, h: Happening) -> Line:
    """As `_line`, which is worked out once: of eight entries that are shown seven were shown before."""
    of = (h, case.state.people, case.state.setup, case.protocol)
    known = _MADE.get((case.id, h.id))
    if known is None or any(one is not now for one, now in zip(known[0], of, strict=True)):
        if len(_MADE) >= KEPT:
            _MADE.clear()
        known = _MADE[case.id, h.id] = (of, _line(case, h))
    return known[1]


def _line(case: CaseNow, h: Happening) -> Line:
    message, places = told.sentence(case, h)

    def moved(by: timedelta, label: str) -> Offer:
        return Offer("tap.fix", label, case.id, {"ref": h.id, "at": moment_text(h.at + by), "why": WHY})

    return Line(
        h.id,
        h.at,
        message,
        places,
        tuple((told.word(case, one), one.unit) for one in said_details(h) if one.field not in _UNSAID)[:4],
        bool(h.marks & {Mark.FIXED_TIME, Mark.FIXED_VALUE}),
        moved(-MINUTE, N_("1 min earlier")),
        moved(MINUTE, N_("1 min later")),
        Offer("tap.void", N_("Did not happen"), case.id, {"ref": h.id, "why": WHY}),
    )
