"""What follows in the room, for a page that has lost its line: every next step with what may come in its place.

Sent hidden, and seldom: nothing in it depends on what has happened but opening, plan and crew. While own taps wait,
`static/js/fold.js` shows from it the step that follows them. What the server draws afterwards replaces that.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from app.case.state import Attempt, State
from app.live.now import CaseNow
from app.live.views.details import Details, details
from app.live.views.next import BESIDE_MOST, PERSONAL
from app.live.views.taps import Offer, offer, one_tap
from app.protocol.values import Milestone, Protocol

KEPT = 128
"""Of so many cases the steps are kept: to work them out costs a hundred times as much as to compare them."""
RESCUE = ("rescue.declare", "sga.in", "mask.vent")


@dataclass(frozen=True, slots=True)
class Ahead:
    """One next step: what may be said along with it or come instead, what is aimed at, and which step it follows.

    match  preset values by which a tap of its kind is known to be this step, as JSON
    """

    step: Offer
    details: Details
    instead: tuple[Offer, ...]
    aim: str
    last: str
    match: str


@dataclass(frozen=True, slots=True)
class AheadView:
    """The room's steps in order. again: another attempt, offered after one that brought no tube."""

    steps: tuple[Ahead, ...]
    again: Ahead | None

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> AheadView:
        case, state = cases[0], cases[0].state
        of = (case.protocol, state.setup, state.plan, state.roles, state.inside)
        known = _MADE.get(case.id)
        if known is None or any(one is not now and one != now for one, now in zip(known[0], of, strict=True)):
            if len(_MADE) >= KEPT:
                _MADE.clear()
            bare = State(case.id, setup=state.setup, plan=state.plan, roles=state.roles, people=state.people)
            known = _MADE[case.id] = (of, _made(CaseNow(case.id, bare, (), 0), case.protocol))
        return known[1]


_MADE: dict[str, tuple[tuple[object, ...], AheadView]] = {}


def _made(case: CaseNow, protocol: Protocol) -> AheadView:
    stages = [m for stage in protocol.phases for m in stage.milestones]
    inside = [m for m in (*stages, *protocol.anytime) if m.side == "inside" and m.kind not in PERSONAL]
    spine = [m for m in stages if m.spine and m in inside]
    beside = [m for m in inside if m not in spine]
    steps = tuple(_walk(case, spine, beside))
    first = next((one for one in steps if one.step.kind == "scope.start"), None)
    return AheadView(steps, first and _again(case, next(m for m in spine if m.kind == "scope.start"), beside, first))


def _again(case: CaseNow, start: Milestone, beside: Sequence[Milestone], first: Ahead) -> Ahead:
    """Another attempt, as it would be offered after one by the first operator."""
    tried = Attempt(1, datetime.min.replace(tzinfo=UTC), next(iter(case.state.roles.get("AO", ())), None))
    after = replace(case, state=replace(case.state, attempts=(tried,)))
    return Ahead(_plain(after, start), details(after, start), _offers(case, beside, RESCUE), first.aim, "", first.match)


def _walk(case: CaseNow, spine: Iterable[Milestone], beside: Sequence[Milestone]) -> Iterator[Ahead]:
    attempt, last = False, ""
    for m in spine:
        kinds: tuple[str, ...] = ()
        if attempt:
            kinds = ("scope.end",)
        elif m.kind == "co2.yes":
            kinds = ("co2.no", "tube.out")
        elif m.kind in ("drug.given", "scope.start"):
            kinds = ("drug.given",)
        aim = m.target.text if m.target else ""
        match = json.dumps(dict(m.body))
        yield Ahead(_plain(case, m), details(case, m), _offers(case, beside, kinds), aim, last, match)
        attempt = m.kind == "scope.start" or (attempt and m.kind != "scope.end")
        last = m.label


def _plain(case: CaseNow, milestone: Milestone) -> Offer:
    """A button without what the course of the case would fill in: the page counts attempts itself."""
    made = offer(case.id, State(case.id), milestone)
    body = {name: value for name, value in {**made.body, **details(case, milestone).given}.items() if name != "n"}
    return Offer(made.kind, made.label, case.id, body, tone=made.tone)


def _offers(case: CaseNow, beside: Sequence[Milestone], kinds: tuple[str, ...]) -> tuple[Offer, ...]:
    found = (_plain(case, m) for m in beside if m.kind in kinds)
    return tuple(one for one in found if one_tap(one))[:BESIDE_MOST]
