"""The one next step in the room, what can be said along with it, and what else may happen instead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.base.kinds import IN_ROOM_ROLES
from app.base.messages import N_
from app.case.happening import Happening
from app.case.state import Life
from app.live.now import CaseNow
from app.live.views.details import NO_DETAILS, Details, details
from app.live.views.situation import Step, situation
from app.live.views.taps import Offer, offer, stored_body, when_done
from app.protocol.values import Milestone

PERSONAL = frozenset(
    {
        "don.start",
        "seal.check",
        "check.start",
        "check.done",
        "room.in",
        "room.out",
        "doff.start",
        "doff.step",
        "doff.done",
    }
)
"""Milestones that each person has: they are tapped beside the person's name (`people` panel), not here."""
BESIDE_MOST = 4
MOVING_MOST = 5


@dataclass(frozen=True, slots=True)
class NextView:
    """step: the dominant next step, if any; details: what may be said along with it; instead: what may come in its
    place; moving: who may go in or come out now, by name; place: how many steps of the line lie behind, for a page that
    goes on without the server."""

    step: Offer | None
    instead: tuple[Offer, ...]
    aim: str
    last: str
    details: Details = NO_DETAILS
    moving: tuple[Offer, ...] = ()
    crowd: str = ""
    place: int = 0

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> NextView:
        case = cases[0]
        inside = inside_milestones(case)
        spine = [m for m in inside if m.spine]
        place = _place(case, spine)
        if case.life in (Life.PLANNED, Life.READY) and (waiting := _at_the_door(case)) is not None:
            return replace(waiting, place=place)
        step = situation(case, inside, spine)
        if step is None and place < len(spine):
            step = Step(spine[place], instead=_instead(case, spine[place]))
        moving = _moving(case)[:MOVING_MOST]
        if step is None:
            return cls(None, (), "", "", moving=moving, place=place)
        return replace(_view(case, step, _last(case, inside), moving), place=place)


def _view(case: CaseNow, step: Step, last: str, moving: tuple[Offer, ...]) -> NextView:
    with_it = details(case, step.milestone)
    tap = offer(case.id, case.state, step.milestone)
    target = step.milestone.target
    return NextView(
        Offer(tap.kind, tap.label, tap.case, {**tap.body, **with_it.given}, tap.asks),
        tuple(one for m in step.instead for one in _beside(case, m))[:BESIDE_MOST],
        step.aim or (target.text if target else ""),
        last,
        with_it,
        moving,
    )


def _last(case: CaseNow, inside: Sequence[Milestone]) -> str:
    """What was tapped last in the room."""
    steps = [*inside, *(m for m in case.protocol.anytime if m.side == "inside")]
    done = [(at, m.label) for m in steps if m.kind != "vitals" and (at := when_done(case.state, m)) is not None]
    return max(reversed(done), key=lambda pair: pair[0])[1] if done else ""  # of one moment the later in the protocol


def _beside(case: CaseNow, milestone: Milestone) -> list[Offer]:
    """What stands beside the next step, one tap each: how the mask goes is part of its tap."""
    tap = offer(case.id, case.state, milestone)
    if milestone.kind != "mask.vent":
        return [tap]
    return [replace(tap, body={**tap.body, "quality": word}, word=word) for word in (N_("poor"), N_("good"))]


def inside_milestones(case: CaseNow) -> list[Milestone]:
    """The room's own milestones in order, apart from those that each person has."""
    return [
        milestone
        for stage in case.protocol.phases
        for milestone in stage.milestones
        if milestone.side == "inside" and milestone.kind not in PERSONAL
    ]


def _place(case: CaseNow, spine: Sequence[Milestone]) -> int:
    """Of the first step not done after the furthest one done: a step left out is not asked for for ever.

    Of a step that stands twice on the line (a transport changes ventilators twice) a tap is the nearest one: told once
    more, or dated before the step that it followed because the station's clock was compared anew in between, it never
    leads past the journey.
    """
    place = 0
    told = (h for kind in {milestone.kind for milestone in spine} for h in case.state.all(kind))
    for h in sorted(told, key=lambda h: h.order):
        found = [n for n, milestone in enumerate(spine) if _is_step(milestone, h)]
        place = max(place, min(found, key=lambda n: abs(n - place), default=-1) + 1)
    return place


def _is_step(milestone: Milestone, h: Happening) -> bool:
    return milestone.kind == h.kind and (not milestone.body or milestone.fits(h.kind, stored_body(h)))


def _at_the_door(case: CaseNow) -> NextView | None:
    """Before anybody is inside: the link is tested, then all who were checked go in with one tap."""
    if case.state.inside:
        return None
    test = next((m for m in inside_milestones(case) if m.kind == "comms.test" and m.spine), None)
    checked = [person for person in case.crew if person.stage == "checked" and _works_inside(case, person.id)]
    entry = Offer("room.in", N_("Into the room"), case.id, {"p": [person.id for person in checked]})
    if test is not None and when_done(case.state, test) is None:
        also = (entry,) if checked else ()
        return _view(case, Step(test), "", also)
    if not checked:
        return NextView(None, (), N_("Whoever has been dressed and checked goes in from here."), "")
    return NextView(entry, (), "", "", moving=_goes_in(case) if len(checked) > 1 else (), crowd=_names(checked))


def _names(people: Sequence[object]) -> str:
    return ", ".join(str(getattr(person, "name", "")) for person in people)


def _works_inside(case: CaseNow, p: str) -> bool:
    return any(role in IN_ROOM_ROLES for role in case.roles_of(p))


def _goes_in(case: CaseNow) -> tuple[Offer, ...]:
    """Those who were checked and are not inside, by name."""
    return tuple(
        Offer("room.in", N_("goes in"), case.id, {"p": person.id}, who=person.name)
        for person in case.crew
        if person.stage == "checked"
    )


def _moving(case: CaseNow) -> tuple[Offer, ...]:
    """Who may go in now; once the count is done, who may come out, the documenter last."""
    state = case.state
    if case.phase.id not in ("leave", "after"):
        return _goes_in(case)
    documenter = state.roles.get("DOC", ())
    order = sorted((case.person(p) for p in state.inside), key=lambda person: person.id in documenter)
    out = tuple(Offer("room.out", N_("comes out"), case.id, {"p": person.id}, who=person.name) for person in order)
    return (*_goes_in(case), *out)


def _instead(case: CaseNow, step: Milestone) -> tuple[Milestone, ...]:
    """What can come instead of the next step: other endings of what is going on, and steps that answer it."""
    state = case.state
    beside = [m for m in inside_milestones(case) if not m.spine]
    kinds: tuple[str, ...] = ()
    if state.airway.stage == "unproven" and state.airway.breath_at is not None:
        kinds = ("co2.no", "tube.out")  # also where nobody has tapped that the attempt is over
    elif state.attempts and state.attempts[-1].ended is None:
        kinds = ("scope.end",)
    elif step.kind in ("drug.given", "scope.start"):
        kinds = ("drug.given",)
    elif case.phase.id == "settle":
        kinds = ("ext.step", "local.done")
    anytime = [m for m in case.protocol.anytime if m.kind in kinds]
    return tuple(m for m in [m for m in beside if m.kind in kinds] + anytime if m.name != step.name)
