"""Rescue kit, plan D, help, and the kit for putting the tube back: R40-R42, R56."""

from __future__ import annotations

from app.case.rules import ask
from app.case.rules.notice import Found, Sight, Table
from app.case.state import State


def no_rescue_set(sight: Sight) -> Found:
    """R40: the airway step without a front-of-neck set at the door or inside."""
    if ask.is_airway_step(sight.before, sight.h) and not ask.front_of_neck_at_hand(sight.before):
        yield sight.find("R40", "absent", over=ask.front_of_neck_at_hand)


def _begun(state: State) -> bool:
    return bool(state.all("fona.start") or state.all("fona.in"))


def plan_d_not_begun(sight: Sight) -> Found:
    """R41: plan D was declared and the front-of-neck airway not begun, with no other airway proven since."""
    declared = sight.h
    again = any(plan.casefold() == "d" for plan, _ in sight.before.rescues)
    if sight.body.plan.casefold() != "d" or again or _begun(sight.after):
        return

    def waiting(state: State) -> bool:
        return not _begun(state) and not ask.happened_since(state, "co2.yes", declared)

    found = sight.find("R41", "late", over=lambda s: not waiting(s))
    yield sight.watch(sight.limit("R41", "wait_s"), found, waiting)


def help_not_here(sight: Sight) -> Found:
    """R42: help was called and has not come."""
    called = sight.h

    def waiting(state: State) -> bool:
        return not ask.happened_since(state, "help.arrive", called)

    who = sight.body.who or ""
    found = sight.find("R42", "late", who, over=lambda s: not waiting(s), who=who)
    yield sight.watch(sight.limit("R42", "wait_s"), found, waiting)


def no_reintubation_kit(sight: Sight) -> Found:
    """R56: the first entry, and then the tube's coming out, without the kit for putting it back."""
    if sight.after.setup.procedure != "extubation" or ask.reintubation_at_hand(sight.before):
        return
    if sight.h.kind == "ext.out":
        if not sight.before.all("ext.out"):
            yield sight.find("R56", "out", over=ask.reintubation_at_hand)
    elif ask.first_entry(sight.before, sight.h):
        yield sight.find("R56", "entry", over=ask.reintubation_at_hand)


RULES: Table = (
    (no_rescue_set, ask.STEP_KINDS),
    (plan_d_not_begun, ("rescue.declare",)),
    (help_not_here, ("help.call",)),
    (no_reintubation_kit, ("room.in", "ext.out")),
)
