"""Opening, planning, roles, closing, corrections, the link."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace
from datetime import datetime

from app.base.kinds import IN_ROOM_ROLES
from app.base.moments import parse_moment
from app.case.folds.handler import Handler, recorded
from app.case.happening import Happening
from app.case.state import EMPTY, Setup, State, with_item, without
from app.case.vocabulary import course as v
from app.protocol.pinned import rules_of

_SETUP = (
    "ref", "procedure", "pathogen", "precaution", "urgency", "age", "sex", "weight_kg", "height_cm", "difficult",
    "immune_needed", "shift_end", "tx_min", "o2_lpm",
)  # fmt: skip


def case_open(state: State, h: Happening, body: v.CaseOpen) -> State:
    if state.opened_at is not None:
        return state
    said = {name: value for name in _SETUP if (value := getattr(body, name)) is not None}
    # a plan or a weight that was said before a late `case.open` stands where that says nothing of it: the later wins
    kept = {name: value for name in ("difficult", "weight_kg") if (value := getattr(state.setup, name)) is not None}
    setup = replace(Setup(pbw_kg=body.pbw), **{**kept, **said}, shift_changes=_moments(h.facts.get("shift_changes")))
    protocol = h.facts.get("protocol") or EMPTY
    return replace(state, setup=setup, opened_at=h.at, protocol=protocol, rules=rules_of(protocol))


def _moments(told: object) -> tuple[datetime, ...]:
    """Moments of a register as its facts have them; what is no moment is left out."""
    found = []
    for one in told if isinstance(told, list | tuple) else ():
        with suppress(ValueError):
            found.append(parse_moment(str(one)))
    return tuple(found)


def case_abort(state: State, h: Happening, body: v.CaseAbort) -> State:
    return replace(state, aborted_at=state.aborted_at or h.at)


def case_close(state: State, h: Happening, body: v.CaseClose) -> State:
    return replace(state, closed_at=state.closed_at or h.at)


def case_sign(state: State, h: Happening, body: v.CaseSign) -> State:
    return replace(state, signed_at=h.at)


def plan_set(state: State, h: Happening, body: v.PlanSet) -> State:
    plan, setup = state.plan, state.setup
    words = {**plan.words, **{step: text for step in "ABCD" if (text := getattr(body, step)) is not None}}
    steps = plan.steps | frozenset(words) | frozenset(letter for letter in body.steps or "" if letter in "ABCD")
    if body.difficult is not None:
        setup = replace(setup, difficult=body.difficult)
    plan = replace(
        plan,
        steps=steps,
        words=words,
        tube=plan.tube if body.tube is None else body.tube,
        sga=plan.sga if body.sga is None else body.sga,
        ventilation=body.ventilation or plan.ventilation,
        set_at=h.at,
    )
    return replace(state, plan=plan, setup=setup)


def brief_done(state: State, h: Happening, body: v.BriefDone) -> State:
    return replace(state, plan=replace(state.plan, briefed_at=h.at))


def weight_set(state: State, h: Happening, body: v.WeightSet) -> State:
    return replace(state, setup=replace(state.setup, weight_kg=body.kg))


def _taken(roles: Mapping[str, tuple[str, ...]], role: str, person: str) -> Mapping[str, tuple[str, ...]]:
    """A role passes to a person. Taking a role in the room ends standing by or fetching outside (job-map R04)."""
    if role in IN_ROOM_ROLES:
        for waiting in ("SO", "OR"):
            rest = tuple(p for p in roles.get(waiting, ()) if p != person)
            roles = with_item(roles, waiting, rest) if rest else without(roles, waiting)
    return with_item(roles, role, (person,))


def role_assign(state: State, h: Happening, body: v.RoleAssign) -> State:
    given, roles = body.roles(), state.roles
    for role in sorted(given, key=lambda role: role not in IN_ROOM_ROLES):
        roles = _taken(roles, role, given[role])
    return replace(state, roles=roles)


def role_release(state: State, h: Happening, body: v.RoleRelease) -> State:
    rest = tuple(p for p in state.roles.get(body.role, ()) if body.p is not None and p != body.p)
    roles = with_item(state.roles, body.role, rest) if rest else without(state.roles, body.role)
    return replace(state, roles=roles)


def role_handover(state: State, h: Happening, body: v.RoleHandover) -> State:
    return replace(state, roles=_taken(state.roles, body.role, body.to))


def notice_ack(state: State, h: Happening, body: v.NoticeAck) -> State:
    return replace(state, acks=with_item(state.acks, (body.rule, body.subject), h.at))


def net_down(state: State, h: Happening, body: v.NetDown) -> State:
    return replace(state, link_lost=with_item(state.link_lost, body.device or "", h.at))


def net_up(state: State, h: Happening, body: v.NetUp) -> State:
    return replace(state, link_lost=without(state.link_lost, body.device or ""))


HANDLERS: dict[str, Handler] = {
    "case.open": case_open,
    "case.abort": case_abort,
    "case.close": case_close,
    "case.sign": case_sign,
    "plan.set": plan_set,
    "brief.done": brief_done,
    "weight.set": weight_set,
    "comms.test": recorded,
    "comms.fallback": recorded,
    "route.clear": recorded,
    "role.assign": role_assign,
    "role.release": role_release,
    "role.handover": role_handover,
    "handover.start": recorded,
    "handover.done": recorded,
    "tap.fix": recorded,
    "tap.void": recorded,
    "notice.ack": notice_ack,
    "net.down": net_down,
    "net.up": net_up,
    "local.done": recorded,
}
