"""Dressed, checked and sealed before going in: R14-R19, R49."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from app.case.clear_air import clear_due
from app.case.happening import Happening
from app.case.rules import ask
from app.case.rules.notice import Found, Sight, Table
from app.case.state import INSIDE_KINDS, Person, State

LIMITED = ("airborne", "enhanced")


@dataclass(frozen=True, slots=True)
class Check:
    """A look at somebody's equipment that has begun and not ended."""

    checker: str
    subject: str
    phase: str


def open_checks(state: State) -> tuple[Check, ...]:
    """Checks under way. A partner at undressing stays until it is done; entering ends a check of the dressing."""
    found: dict[tuple[str, str], Check] = {}
    kinds = ("check.start", "check.done", "doff.start", "doff.done", "room.in")
    for h in sorted((h for kind in kinds for h in state.all(kind)), key=lambda h: h.order):
        body: Any = h.body
        if h.kind == "check.start":
            found[body.subject, body.phase] = Check(body.checker, body.subject, body.phase)
        elif h.kind == "check.done":
            found.pop((body.subject, body.phase), None)
        elif h.kind == "doff.start" and body.checker is not None:
            found[body.p, "doff"] = Check(body.checker, body.p, "doff")
        elif h.kind == "doff.done":
            found.pop((body.p, "doff"), None)
        elif h.kind == "room.in":
            found.pop((body.p, "don"), None)
    return tuple(found.values())


def _check_of(h: Happening) -> Check | None:
    """The check that a happening begins or ends; None for undressing without a partner."""
    body: Any = h.body
    if h.kind.startswith("check."):
        return Check(body.checker, body.subject, body.phase)
    return None if body.checker is None else Check(body.checker, body.p, "doff")


def self_check(sight: Sight) -> Found:
    """R15: somebody checks themselves. Said once a check, at its first entry."""
    check = _check_of(sight.h)
    if check is not None and check.checker == check.subject and check not in open_checks(sight.before):
        yield sight.find("R15", "same", check.subject, p=check.subject)


def overlapping_checks(sight: Sight) -> Found:
    """R16: a check opens while its checker has another open, or is being checked by its subject."""
    check = _check_of(sight.h)
    if check is None or check.checker == check.subject:
        return
    for other in open_checks(sight.before):
        busy = other.checker == check.checker and other.subject != check.subject
        mutual = other.checker == check.subject and other.subject == check.checker
        if busy or mutual:
            people = tuple(dict.fromkeys((check.checker, other.subject, check.subject)))
            over = _one_left((other, check))
            yield sight.find("R16", "overlap", ", ".join(people), over=over, checker=check.checker, people=people)
            return


def _one_left(checks: tuple[Check, Check]) -> Any:
    return lambda state: not set(checks) <= set(open_checks(state))


def _checked(state: State, person: Person) -> bool:
    """Whether somebody else has passed this dressing. What was taken off since counts no more."""
    if person.doff_done is not None:
        return False
    dressed = [h for h in state.all("don.start") if ask.body(h).p == person.id]
    for h in reversed(state.all("check.done")):
        if dressed and h.order < dressed[-1].order:
            return False
        body: Any = h.body
        if body.phase == "don" and body.subject == person.id and body.result == "pass" and body.checker != person.id:
            return True
    return False


def _team_inside(state: State) -> bool:
    return any(person.inside and person.visit in INSIDE_KINDS for person in state.people.values())


def after_the_team(before: State) -> bool:
    """Whether the last aerosol is made and the team has left: then R49 stands for R14, R17 and R18."""
    return before.last("agp.end") is not None and not _team_inside(before)


def _entering(sight: Sight) -> Person | None:
    """Who goes in with this happening; None for somebody who is in already."""
    known = sight.before.people.get(sight.body.p)
    return None if known is not None and known.inside else sight.person(sight.body.p)


def entry(sight: Sight) -> Found:
    """R14, R17, R18: staff go in unchecked, without a passed seal check, or dressed below the level of the case."""
    person = _entering(sight)
    if person is None or not ask.staff_entry(sight.h) or after_the_team(sight.before):
        return
    p = person.id
    if not _checked(sight.after, person):
        yield sight.find("R14", "unchecked", p, over=lambda s: _out(s, p) or _checked(s, s.people[p]), p=p)
    tight = ask.tight_model(ask.worn_respirator(person)) is not None
    if ask.airborne(sight.after) and tight and not _sealed(person):
        yield sight.find("R17", "missing", p, over=lambda s: _out(s, p) or _sealed(s.people[p]), p=p)
    yield from _too_low(sight, person)


def _sealed(person: Person) -> bool:
    return person.seal_ok is True and person.doff_done is None


def _out(state: State, p: str) -> bool:
    return not state.people[p].inside


def _too_low(sight: Sight, person: Person) -> Found:
    worn = person.ensemble if person.dressed else "none"
    has, needs = ask.level(worn), ask.level(sight.after.setup.precaution)
    if has is not None and needs is not None and has < needs:
        p, level = person.id, sight.after.setup.precaution
        yield sight.find("R18", "below", p, over=lambda s: _out(s, p), p=p, worn=worn, level=level)


def before_the_air_is_clear(sight: Sight) -> Found:
    """R49: anybody enters without a respirator after the team has left, before the air is clear."""
    person = _entering(sight)
    if person is None or not after_the_team(sight.before) or ask.is_respirator(ask.worn_respirator(person)):
        return
    p, clear_at = person.id, clear_due(sight.before)
    if clear_at is None or sight.h.at < clear_at:
        yield sight.find("R49", "entry", p, over=lambda s: _out(s, p), p=p, clear_at=clear_at)


def wear(sight: Sight) -> Iterator[Any]:
    """R19: equipment worn for long, and longer still. From the start of dressing until clean."""
    person = sight.person(sight.body.p)
    known = ask.level(person.ensemble)
    kind = next((name for name in LIMITED if known == ask.LEVELS[name]), None)
    if kind is None:
        return
    p, since = person.id, person.don_start
    still = _wears_since(p, since)
    limit = sight.limit("R19", f"{kind}_min")
    for situation, minutes in (("limit", limit), ("over", limit + sight.limit("R19", "over_min"))):
        found = sight.find("R19", situation, p, over=lambda s: not still(s), p=p, minutes=int(minutes))
        yield sight.watch(minutes * 60, found, still)


def _wears_since(p: str, since: object) -> Any:
    return lambda state: (person := state.people[p]).don_start == since and person.doff_done is None


RULES: Table = (
    (self_check, ("check.start", "check.done", "doff.start", "doff.done")),
    (overlapping_checks, ("check.start", "doff.start")),
    (entry, ("room.in",)),
    (before_the_air_is_clear, ("room.in",)),
    (wear, ("don.start",)),
)
