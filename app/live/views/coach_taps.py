"""The taps of somebody between two stages: what answers the step, what begins and ends it, what went wrong."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from app.base.messages import N_
from app.case.rules.ask import tight_model
from app.case.state import Person
from app.live.now import CaseNow
from app.live.views.fields import Ask
from app.live.views.partners import Partner
from app.live.views.taps import RIGHT, Offer

GRADES = (("minor", N_("minor")), ("major", N_("major")))


class Shown(Protocol):
    """What of a step its taps name."""

    @property
    def code(self) -> str: ...
    @property
    def text(self) -> str: ...
    @property
    def place(self) -> str: ...
    @property
    def respirator(self) -> bool: ...


@dataclass(frozen=True, slots=True)
class Taps:
    """begun: a partner is at it. next: what brings the person on. right, wrong: answers to the step read now.

    early     steps that may have come before their turn, one tap each; other: lets somebody else be the partner
    breach    with what happened, where somebody wants to say it
    """

    begun: bool
    next: tuple[Offer, ...]
    right: Offer | None
    wrong: tuple[Offer, ...]
    early: tuple[Offer, ...]
    other: Offer | None
    breach: Offer


def taps_for(
    case: CaseNow, person: Person, stage: str, left: Sequence[Shown], partner: Partner | None, begun: bool
) -> Taps:
    """The taps of one person. left: steps not done yet, the one that is read now first."""
    if stage in ("out", "doffing"):
        return _undressing(case, person, stage, left, partner, begun)
    return _dressing(case, person, stage, left, partner, begun)


_TOLD = (Ask("type", N_("what happened"), "", False, False), Ask("grade", N_("grade"), "", False, False, GRADES))


def breach(case: CaseNow, person: Person) -> tuple[Offer, Offer]:
    """A breach in one tap, and the same with what happened and how bad it was."""
    body = {"p": person.id}
    return (
        Offer("breach", N_("Breach"), case.id, body, tone="fault"),
        Offer("breach", N_("Record the breach"), case.id, body, _TOLD, tone="fault"),
    )


def breach_form(case: CaseNow) -> Offer:
    """A breach of anybody of the case, with what happened and how bad it was."""
    people = tuple((person.id, person.name) for person in case.crew)
    who = Ask("p", N_("person"), "", False, False, people)
    return Offer("breach", N_("Record the breach"), case.id, {}, (who, *_TOLD), tone="fault")


def _dressing(
    case: CaseNow, person: Person, stage: str, left: Sequence[Shown], partner: Partner | None, begun: bool
) -> Taps:
    p, (torn, told) = person.id, breach(case, person)
    enters = Offer("room.in", N_("Goes in"), case.id, {"p": p})
    if stage == "checked":
        return Taps(True, (enters,), None, (torn,), (), None, told)
    body = {"phase": "don", "subject": p} | ({"checker": partner.id} if partner else {})
    step = left[0] if left else None
    sealing = _seal(case, person)
    right: Offer | None = None
    wrong: tuple[Offer, ...] = ()
    if step is not None and step.respirator and sealing:
        right, wrong = sealing[0], sealing[1:]
    elif step is not None:
        right = Offer("local.done", N_("Right"), case.id, {"name": RIGHT + step.code, "value": p})
    starts = Offer("check.start", N_("Begin the check"), case.id, body)
    other = None if begun else Offer("check.start", N_("Somebody else looks"), case.id, {"phase": "don", "subject": p})
    if partner is None:
        return Taps(False, (enters,), right, wrong, (), other, told)
    if not begun:
        return Taps(False, (starts, enters), None, wrong, (), other, told)
    passed = Offer("check.done", N_("Checked: right"), case.id, {**body, "result": "pass"})
    fault = {**body, "result": "fail"} | ({"fault": step.code} if step else {})
    failed = Offer("check.done", N_("Fault"), case.id, fault, tone="fault")
    seal = () if sealing is None else sealing[:1]
    return Taps(True, (*seal, passed, failed, enters), right, (*wrong, failed), (), other, told)


def _seal(case: CaseNow, person: Person) -> tuple[Offer, Offer] | None:
    """Whether the seal holds, while a tight respirator is worn and it was not tried yet."""
    worn = case.protocol.ensemble(person.ensemble or "")
    if person.seal_ok is True or tight_model(person.respirator) is None or (worn is not None and not worn.respirator):
        return None
    return (
        Offer("seal.check", N_("Seal holds"), case.id, {"p": person.id, "result": "pass"}),
        Offer("seal.check", N_("Seal leaks"), case.id, {"p": person.id, "result": "fail"}, tone="fault"),
    )


def _undressing(
    case: CaseNow, person: Person, stage: str, left: Sequence[Shown], partner: Partner | None, begun: bool
) -> Taps:
    p, (torn, told) = person.id, breach(case, person)
    with_whom = {"checker": partner.id} if partner else {}
    free = {} if partner is None or partner.busy_with else with_whom
    here = Offer("check.start", N_("Partner is here"), case.id, {"phase": "doff", "subject": p, **with_whom})
    other = Offer("check.start", N_("Somebody else helps"), case.id, {"phase": "doff", "subject": p})
    if stage == "out":
        starts = Offer("doff.start", N_("Starts undressing"), case.id, {"p": p, **free})
        return Taps(False, (starts,), None, (torn,), (), None, told)
    alone = person.doff_partner in (None, p)
    step = left[0] if left else None
    right = None if step is None else Offer("doff.step", N_("Done, right"), case.id, {"p": p, "step": step.code})
    early = tuple(
        Offer("doff.step", one.text, case.id, {"p": p, "step": one.code, "order": "wrong"}, tone="fault")
        for one in left[1:]
    )
    clean = Offer("doff.done", N_("Clean"), case.id, {"p": p} | ({} if alone else {"checker": person.doff_partner}))
    leaves = Offer("room.out", N_("Comes out"), case.id, {"p": p})
    after = (leaves,) if person.inside else (clean,)
    return Taps(
        not alone,
        (here, *after) if alone and partner is not None and not partner.busy_with else after,
        right,
        (torn,),
        early,
        other if alone else None,
        told,
    )
