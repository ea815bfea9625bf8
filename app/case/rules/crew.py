"""Who does what, and may they: R01-R07."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from app.base.kinds import IN_ROOM_ROLES, OUTSIDE_ROLES
from app.case.rules import ask
from app.case.rules.notice import Finding, Found, Sight, Table
from app.case.state import Person, State

NEEDED = ("TL", "AO", "AA", "DOC", "DR")
_SEPARATE = frozenset({"AO", "AA", "DR", "PO"})
_GIVING = ("role.assign", "role.handover")
_DOES_NOT_NEED = frozenset({"no", "none", "na", ""})


def unfilled_roles(sight: Sight) -> Found:
    """R01: at the first entry a needed role has nobody."""
    if not ask.first_entry(sight.before, sight.h):
        return
    if open_roles := _open(sight.after):
        yield sight.find("R01", "unfilled", ", ".join(open_roles), over=lambda s: not _open(s), roles=open_roles)


def _open(state: State) -> tuple[str, ...]:
    return tuple(role for role in NEEDED if not state.roles.get(role))


def no_observer(sight: Sight) -> Found:
    """R02: the first dressing to the highest level, without a trained observer."""
    before, p = sight.before, sight.body.p
    if not ask.enhanced(sight.after, sight.person(p)) or sight.after.roles.get("PO"):
        return
    if any(ask.enhanced(before, person) for person in before.people.values() if person.don_start is not None):
        return
    yield sight.find("R02", "absent", over=lambda s: bool(s.roles.get("PO")))


def no_second_operator(sight: Sight) -> Found:
    """R03: the airway step with difficulty predicted, and no second operator."""
    state = sight.after
    if ask.is_airway_step(sight.before, sight.h) and state.setup.difficult == "yes" and not state.roles.get("SO"):
        yield sight.find("R03", "absent", over=lambda s: bool(s.roles.get("SO")))


def _held(state: State, p: str) -> frozenset[str]:
    return frozenset(role for role, people in state.roles.items() if p in people)


def _clashing(state: State, p: str) -> frozenset[str]:
    """The roles of a person that one person cannot hold together."""
    held = _held(state, p)
    separate, inside, outside = held & _SEPARATE, held & IN_ROOM_ROLES, held & OUTSIDE_ROLES
    clash = separate if len(separate) > 1 else frozenset()
    return clash | inside | outside if inside and outside else clash


def _given(sight: Sight) -> dict[str, tuple[str, ...]]:
    """Person to the roles that this happening gave them."""
    body: Any = sight.body
    roles = body.roles() if sight.h.kind == "role.assign" else {body.role: body.to}
    people: dict[str, tuple[str, ...]] = {}
    for role, p in roles.items():
        people[p] = (*people.get(p, ()), role)
    return people


def clashing_roles(sight: Sight) -> Found:
    """R04: one person holds two roles that exclude each other."""
    for p in _given(sight):
        clash = _clashing(sight.after, p)
        if clash - _clashing(sight.before, p):
            over = _no_clash(p)
            yield sight.find("R04", "clash", p, over=over, p=p, roles=tuple(sorted(clash)))


def _no_clash(p: str) -> Any:
    return lambda state: not _clashing(state, p)


def _for_the_room(sight: Sight) -> Iterator[Person]:
    """People who were given a role in the room, or stand by to go in."""
    for p, roles in _given(sight).items():
        if any(role in IN_ROOM_ROLES or role == "SO" for role in roles):
            yield sight.person(p)


def _released(p: str) -> Any:
    return lambda state: not any(role in IN_ROOM_ROLES or role == "SO" for role in _held(state, p))


def _out(p: str) -> Any:
    return lambda state: not (person := state.people.get(p)) or not person.inside


def _unfitted_model(sight: Sight, person: Person) -> str | None:
    """The tight-fitting model that a person wears without a fit test of it in date; None when all is well."""
    model = ask.tight_model(ask.worn_respirator(person))
    if model is None:
        return None
    tests = person.facts.get("fit")
    tested = ask.day_of(tests.get(model)) if isinstance(tests, dict) else None
    if tested is None:
        return model
    age_days = (ask.local_day(sight.after, sight.h.at) - tested).days
    return None if 0 <= age_days <= sight.limit("R05", "fit_valid_days") else model


def fit_test_at_assignment(sight: Sight) -> Found:
    """R05: a role in the room, or standing by, for somebody not fit-tested for what they wear."""
    for person in _for_the_room(sight):
        if (model := _unfitted_model(sight, person)) is not None:
            yield sight.find("R05", "assigned", person.id, over=_released(person.id), p=person.id, model=model)


def drill_at_assignment(sight: Sight) -> Found:
    """R06: any role for somebody whose last drill is long ago. A drill that nobody recorded says nothing."""
    for p in _given(sight):
        drilled = ask.day_of(sight.person(p).facts.get("drill"))
        if drilled is None:
            continue
        days = (ask.local_day(sight.after, sight.h.at) - drilled).days
        if days > sight.limit("R06", "drill_valid_days"):
            yield sight.find("R06", "assigned", p, over=_without_role(p), p=p, days=days)


def _without_role(p: str) -> Any:
    return lambda state: not _held(state, p)


def _condition_not_met(state: State, person: Person) -> bool:
    """Not recorded immune where that is needed, or may not enter at all: which of the two is nobody's business here."""
    if person.facts.get("no_entry") is True:
        return True
    needed = str(state.setup.immune_needed or "").casefold()
    return needed not in _DOES_NOT_NEED and person.facts.get("immune") != "yes"


def condition_at_assignment(sight: Sight) -> Found:
    """R07: a role in the room, or standing by, for somebody who does not meet the condition of entry."""
    for person in _for_the_room(sight):
        if _condition_not_met(sight.after, person):
            yield sight.find("R07", "assigned", person.id, over=_released(person.id), p=person.id)


def allowed_in(sight: Sight) -> Found:
    """R05, R07 at the door: somebody goes in who is not fit-tested, or must not enter. Visitors aside."""
    person = sight.person(sight.body.p)
    if not ask.staff_entry(sight.h) or _was_inside(sight.before, person.id):
        return
    if (model := _unfitted_model(sight, person)) is not None:
        yield _entry(sight, "R05", person.id, model=model)
    if _condition_not_met(sight.after, person):
        yield _entry(sight, "R07", person.id)


def _was_inside(state: State, p: str) -> bool:
    person = state.people.get(p)
    return person is not None and person.inside


def _entry(sight: Sight, rule: str, p: str, **params: Any) -> Finding:
    return sight.find(rule, "entry", p, over=_out(p), p=p, **params)


RULES: Table = (
    (unfilled_roles, ("room.in",)),
    (no_observer, ("don.start",)),
    (no_second_operator, ask.STEP_KINDS),
    (clashing_roles, _GIVING),
    (fit_test_at_assignment, _GIVING),
    (drill_at_assignment, _GIVING),
    (condition_at_assignment, _GIVING),
    (allowed_in, ("room.in",)),
)
