"""Is everything ready: R08-R13 before the door shuts and the airway step begins, R50 before the case is closed."""

from __future__ import annotations

from datetime import datetime

from app.case.rules import ask
from app.case.rules.notice import Found, Sight, Table
from app.case.state import State

VITAL = frozenset({"capnography", "suction", "oxygen"})
_PASSED = frozenset({"ok", "pass", "passed"})


def no_brief(sight: Sight) -> Found:
    """R08: the first entry without a brief."""
    if ask.first_entry(sight.before, sight.h) and sight.before.plan.briefed_at is None:
        situation = "immediate" if ask.immediate(sight.after) else "other"
        yield sight.find("R08", situation, over=lambda s: s.plan.briefed_at is not None)


def _unplanned(state: State) -> tuple[str, ...]:
    return tuple(step for step in "ABCD" if step not in state.plan.steps)


def incomplete_plan(sight: Sight) -> Found:
    """R09: the airway step while one of plans A to D has not been said."""
    if ask.is_airway_step(sight.before, sight.h) and (lacking := _unplanned(sight.before)):
        yield sight.find("R09", "incomplete", over=lambda s: not _unplanned(s), steps=lacking)


def _lacking(state: State) -> tuple[str, ...] | None:
    """What the clean tray lacks or has past its date; None when it was never staged."""
    tray = state.trays.get("clean")
    return None if tray is None else tuple(dict.fromkeys((*tray.missing, *tray.expired)))


def clean_tray(sight: Sight) -> Found:
    """R10: the first entry with a clean tray that is not staged, or not complete and in date."""
    if not ask.first_entry(sight.before, sight.h):
        return
    lacking = _lacking(sight.before)
    if lacking is None:
        yield sight.find("R10", "item", say="not_staged", over=lambda s: _lacking(s) == (), items=())
    elif lacking:
        vital = tuple(item for item in lacking if item.casefold() in VITAL)
        situation = "vital" if vital else "item"
        yield sight.find("R10", situation, over=lambda s: not _lacking(s), items=vital or lacking, all_items=lacking)


def room_not_proven(sight: Sight) -> Found:
    """R11: the first entry on airborne precautions into a room that was not proven negative."""
    if not ask.first_entry(sight.before, sight.h) or not ask.airborne(sight.after):
        return
    below = sight.limit("R11", "pressure_below_pa")
    pressure = _proven_pressure(sight.before)
    if pressure is None or pressure >= below:
        yield sight.find("R11", "unproven", over=lambda s: _is_below(_proven_pressure(s), below), pressure_pa=pressure)


def _proven_pressure(state: State) -> float | None:
    """The pressure that was read last, room minus lobby [Pa]."""
    read = (ask.body(h).pressure for h in reversed(state.all("room.ready")))
    return next((pressure for pressure in read if pressure is not None), None)


def _is_below(pressure: float | None, limit: float) -> bool:
    return pressure is not None and pressure < limit


def link_not_tested(sight: Sight) -> Found:
    """R12: the first entry with a door link whose last test failed or that was never tested."""
    if ask.first_entry(sight.before, sight.h) and not _link_tested(sight.before):
        yield sight.find("R12", "untested", over=_link_tested)


def _link_tested(state: State) -> bool:
    test = state.last("comms.test")
    result = None if test is None else ask.body(test).result
    return test is not None and (result is None or result.casefold() in _PASSED)


def shift_change_near(sight: Sight) -> Found:
    """R13: the airway step close to the change of shift, before or after it."""
    if not ask.is_airway_step(sight.before, sight.h):
        return
    change = _shift_change(sight.after, sight.second)
    if change is None:
        return
    seconds = (change - sight.second).total_seconds()
    if abs(seconds) <= sight.limit("R13", "within_min") * 60:
        say = "near" if seconds >= 0 else "after"
        yield sight.find("R13", "near", say=say, minutes=int(abs(seconds) // 60))


def _shift_change(state: State, at: datetime) -> datetime | None:
    """The change of shift nearest to a moment: as the call said it, otherwise as the register of shifts had it."""
    if state.setup.shift_end:
        return ask.local_time_nearest(state, state.setup.shift_end, at)
    return min(state.setup.shift_changes, key=lambda change: abs(change - at), default=None)


def no_debrief(sight: Sight) -> Found:
    """R50: the case is closed without a debrief."""
    if sight.before.closed_at is None and not sight.before.all("debrief.done"):
        yield sight.find("R50", "absent", over=lambda s: bool(s.all("debrief.done")))


RULES: Table = (
    (no_brief, ("room.in",)),
    (incomplete_plan, ask.STEP_KINDS),
    (clean_tray, ("room.in",)),
    (room_not_proven, ("room.in",)),
    (link_not_tested, ("room.in",)),
    (shift_change_near, ask.STEP_KINDS),
    (no_debrief, ("case.close",)),
)
