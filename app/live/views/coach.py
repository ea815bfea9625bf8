"""The partner's page: each person between two stages, with the step that is read aloud now and the taps that answer it.

Steps come from the ensemble of the department's procedure. Undressing steps are entries of their own (`doff.step`);
dressing steps that were right are kept as milestones of the house (`local.done`), the verdict is `check.done`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.base.messages import N_
from app.case.rules.ask import tight_model
from app.case.state import Life, Person
from app.live.now import CaseNow
from app.live.views.coach_taps import Taps, taps_for
from app.live.views.crew import between
from app.live.views.partners import Partner, check_of, helper, reader, undressing
from app.live.views.taps import RIGHT, Offer
from app.protocol.equipment import DressStep, Ensemble

PLACES = {"inside": N_("inside the room"), "anteroom": N_("in the anteroom"), "outside": N_("outside, door shut")}
STAGES = ("out", "doffing", "donning", "checked", "named")
"""Who needs somebody most comes first."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step. look: the partner reads it aloud and looks; done: it was said to be right, or happened out of turn."""

    code: str
    text: str
    place: str
    look: bool
    done: bool
    respirator: bool = False


@dataclass(frozen=True, slots=True)
class Coaching:
    """One person between two stages.

    reads, helps   who reads the steps aloud, and who has their hands on it (undressing); waits_for: whom they are
                   with at the moment, one check at a time
    others         who undresses in the same place already
    now, place     the step that is read now, and which of `steps` it is, counted from 1; None when all are done
    fault          what the last check found wrong, until the next begins
    """

    id: str
    p: str
    room: str
    name: str
    roles: tuple[str, ...]
    stage: str
    since: datetime | None
    worn_since: datetime | None
    ensemble: str
    observer: bool
    reads: Partner | None
    helps: Partner | None
    others: tuple[str, ...]
    steps: tuple[Step, ...]
    now: Step | None
    place: int
    fault: str
    taps: Taps

    @property
    def waits_for(self) -> tuple[str, ...]:
        """Whom the partner is with; nobody once the partner is here."""
        partner = self.helps if self.stage in ("out", "doffing") else self.reads
        return partner.busy_with if partner is not None and not self.taps.begun else ()

    @property
    def answer(self) -> Offer | None:
        """The one large tap while it is read aloud: the step was right, or what must come before it can be."""
        taps = self.taps
        if taps.right is not None and (taps.begun or self.stage == "doffing"):
            return taps.right
        return taps.next[0] if taps.next else None

    @property
    def beside(self) -> tuple[Offer, ...]:
        """What else brings the person on, while it is read aloud."""
        shown = (self.answer, *self.taps.wrong)
        return tuple(offer for offer in self.taps.next if offer not in shown)


@dataclass(frozen=True, slots=True)
class CoachView:
    """people: those between two stages, the most pressing first. undressed: (room, taps) of those who still dress."""

    people: tuple[Coaching, ...]
    waiting: tuple[tuple[str, tuple[Offer, ...]], ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> CoachView:
        found: list[Coaching] = []
        waiting = []
        for case in cases:
            if case.life in (Life.CLOSED, Life.ABORTED) and not any(person.dressed for person in case.crew):
                continue
            moving, named = between(case)
            found += [_coaching(case, person, cases) for person in moving]
            if named:
                waiting.append((case.room, tuple(_dresses(case, person) for person in named)))
        found.sort(key=lambda one: (STAGES.index(one.stage), one.since is None, one.since))
        return cls(tuple(found), tuple(waiting))


def _dresses(case: CaseNow, person: Person) -> Offer:
    level = case.state.setup.precaution
    return Offer("don.start", person.name, case.id, {"p": person.id} | ({"ens": level} if level else {}))


def _coaching(case: CaseNow, person: Person, cases: Sequence[CaseNow]) -> Coaching:
    ensemble = case.protocol.ensemble(person.ensemble or case.state.setup.precaution or "")
    off = person.doff_start is not None and person.doff_done is None
    stage = "doffing" if off else person.stage
    doffs = stage in ("out", "doffing")
    steps = _steps(case, person, ensemble, doffs)
    left = [step for step in steps if not step.done and stage != "checked"]
    reads, helps = reader(case, person.id, cases), helper(case, person.id, cases) if doffs else None
    check = check_of(case, person.id, "doff" if doffs else "don")
    if check is not None and not doffs:
        reads = _partner(case, check.checker, reads)
    if person.doff_partner is not None and stage == "doffing":
        helps = _partner(case, person.doff_partner, helps)
    since = {"out": person.stays[-1].left if person.stays else None, "doffing": person.doff_start,
             "donning": person.don_start, "checked": person.checked_at}.get(stage)  # fmt: skip
    return Coaching(
        id=f"{case.id}-{person.id}".replace(" ", "_"),
        p=person.id,
        room=case.room,
        name=person.name,
        roles=case.roles_of(person.id),
        stage=stage,
        since=since,
        worn_since=person.don_start if person.dressed else None,
        ensemble=ensemble.title if ensemble else "",
        observer=ensemble is not None and ensemble.observer,
        reads=reads,
        helps=helps,
        others=undressing(case, cases, person.id) if stage == "out" else (),
        steps=steps,
        now=left[0] if left else None,
        place=len(steps) - len(left) + 1,
        fault=_fault(case, person) if stage == "donning" and check is None else "",
        taps=taps_for(case, person, stage, left, helps or reads, check is not None),
    )


def _partner(case: CaseNow, p: str, planned: Partner | None) -> Partner:
    """Who is at it, as told: perhaps somebody else than planned."""
    if planned is not None and planned.id == p:
        return planned
    return Partner(p, case.person(p).name, ", ".join(case.roles_of(p)))


def _steps(case: CaseNow, person: Person, ensemble: Ensemble | None, doffs: bool) -> tuple[Step, ...]:
    if ensemble is None:
        return ()
    done = _taken_off(case, person) if doffs else _put_on(case, person)
    sealed = not doffs and person.seal_ok is True and tight_model(person.respirator) is not None
    wanted: Sequence[DressStep] = ensemble.doffing if doffs else ensemble.donning
    return tuple(
        Step(s.code, s.text, PLACES.get(s.place, s.place), s.partner, s.code in done or (s.respirator and sealed),
             s.respirator)
        for s in wanted
    )  # fmt: skip


def _taken_off(case: CaseNow, person: Person) -> frozenset[str]:
    """Steps of undressing since it began, in turn or not."""
    since = person.doff_start
    said = (h for h in case.state.all("doff.step") if since is not None and h.at >= since)
    return frozenset(getattr(h.body, "step", "") for h in said if getattr(h.body, "p", None) == person.id)


def _put_on(case: CaseNow, person: Person) -> frozenset[str]:
    """Steps of dressing that a partner called right since it began."""
    since = person.don_start
    said = (h for h in case.state.all("local.done") if since is not None and h.at >= since)
    names = (getattr(h.body, "name", "") for h in said if getattr(h.body, "value", None) == person.id)
    return frozenset(name.removeprefix(RIGHT) for name in names if name.startswith(RIGHT))


def _fault(case: CaseNow, person: Person) -> str:
    """What the last look at this dressing found wrong."""
    for h in reversed(case.state.all("check.done")):
        mine = getattr(h.body, "subject", None) == person.id and getattr(h.body, "phase", None) == "don"
        if mine and (person.don_start is None or h.at >= person.don_start):
            return (getattr(h.body, "fault", None) or N_("a fault")) if person.check_ok is False else ""
    return ""
