"""The people of a case: what each wears, where each is, and the tap that comes next for them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.base.kinds import OUTSIDE_ROLES
from app.case.state import Life, Person
from app.live.now import CaseNow
from app.live.views.taps import Offer


@dataclass(frozen=True, slots=True)
class Member:
    """One person: since when they are in their stage, since when they wear equipment, and what can be tapped."""

    name: str
    roles: tuple[str, ...]
    stage: str
    since: datetime | None
    worn_since: datetime | None
    taps: tuple[Offer, ...]


def between(case: CaseNow) -> tuple[tuple[Person, ...], tuple[Person, ...]]:
    """People between two stages (dressing, checked, out, undressing), and those of the room who have still to dress."""
    early = case.life in (Life.PLANNED, Life.READY)
    moving, named = [], []
    for person in case.crew:
        undresses = person.doff_start is not None and person.doff_done is None
        out = person.stage == "out" and person.dressed and not _on_the_way(case, person)
        if undresses or out or person.stage in ("donning", "checked"):
            moving.append(person)
        elif person.stage == "named" and early and not set(case.roles_of(person.id)) <= OUTSIDE_ROLES - {"SO"}:
            named.append(person)
    return tuple(moving), tuple(named)


def _on_the_way(case: CaseNow, person: Person) -> bool:
    """Whether somebody walks with a patient who is moved, in equipment until the patient is taken over (R25)."""
    left = [h for h in case.state.all("room.out") if getattr(h.body, "p", None) == person.id]
    walks = bool(left) and (getattr(left[-1].body, "tx", None) or "").casefold() == "yes"
    return walks and not case.state.all("tx.accept")


def since_of(person: Person) -> datetime | None:
    """Since when somebody is at their stage; None where no entry says so."""
    last = person.stays[-1] if person.stays else None
    return {
        "inside": last.entered if last else None,
        "out": last.left if last else None,
        "donning": person.don_start,
        "checked": person.checked_at,
        "doffing": person.doff_start,
        "clean": person.doff_done,
    }.get(person.stage)


def member(case: CaseNow, person: Person) -> Member:
    """One person as a line with taps."""
    worn = person.don_start if person.dressed else None
    return Member(person.name, case.roles_of(person.id), person.stage, since_of(person), worn, _taps(case, person))


def _taps(case: CaseNow, person: Person) -> tuple[Offer, ...]:
    """The taps that bring a person one stage on. Nothing is withheld: going in unchecked can be tapped too."""
    p, level = person.id, case.state.setup.precaution
    checker = case.holder("PO", "DR") or case.holder("OR")
    enters = Offer("room.in", "Goes in", case.id, {"p": p})
    dresses = Offer("don.start", "Starts dressing", case.id, {"p": p} | ({"ens": level} if level else {}))
    breach = Offer("breach", "Breach", case.id, {"p": p}, tone="fault")
    match person.stage:
        case "named":
            return (dresses, enters)
        case "clean":
            return (dresses,)
        case "donning":
            return (*_checks(case, person, checker), enters)
        case "checked":
            return (enters,)
        case "inside":
            return (Offer("room.out", "Comes out", case.id, {"p": p}), breach)
        case "out":
            body = {"p": p} | ({"checker": checker.id} if checker else {})
            return (Offer("doff.start", "Starts undressing", case.id, body), enters, breach)
        case _:
            body = {"p": p} | ({"checker": checker.id} if checker else {})
            return (Offer("doff.done", "Clean", case.id, body), breach)


def _checks(case: CaseNow, person: Person, checker: Person | None) -> tuple[Offer, ...]:
    seal = (
        ()
        if person.seal_ok is not None or person.respirator in (None, "hood", "none")
        else (
            Offer("seal.check", "Seal holds", case.id, {"p": person.id, "result": "pass"}),
            Offer("seal.check", "Seal leaks", case.id, {"p": person.id, "result": "fail"}, tone="fault"),
        )
    )
    if checker is None or checker.id == person.id:
        return seal
    body = {"phase": "don", "checker": checker.id, "subject": person.id}
    looking = [h for h in case.state.all("check.start") if getattr(h.body, "subject", None) == person.id]
    if not looking or (person.don_start is not None and looking[-1].at < person.don_start):
        return (*seal, Offer("check.start", "Partner looks over", case.id, body))
    return (
        *seal,
        Offer("check.done", "Checked: right", case.id, {**body, "result": "pass"}),
        Offer("check.done", "Fault found", case.id, {**body, "result": "fail"}, tone="fault"),
    )
