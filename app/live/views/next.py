"""The one next step in the room, and what else may happen instead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.case.state import State
from app.live.now import CaseNow
from app.live.views.taps import Offer, offer, when_done
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
"""Milestones that each person has: they are tapped beside the person's name (`crew` panel), not here."""
BESIDE_MOST = 4


@dataclass(frozen=True, slots=True)
class NextView:
    """step: the dominant next step, if any; instead: what may come in its place."""

    step: Offer | None
    instead: tuple[Offer, ...]
    aim: str
    last: str

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> NextView:
        case = cases[0]
        spine = [m for m in _inside(case) if m.spine]
        step = _after_failure(case, spine) or _first_undone(case.state, spine)
        if step is None:
            return cls(None, (), "", "")
        done = [m for m in spine if when_done(case.state, m) is not None]
        return cls(
            offer(case.id, case.state, step),
            tuple(offer(case.id, case.state, m) for m in _instead(case, step))[:BESIDE_MOST],
            step.target.text if step.target else "",
            done[-1].label if done else "",
        )


def _inside(case: CaseNow) -> list[Milestone]:
    """The room's own milestones in order, apart from those that each person has."""
    return [
        milestone
        for stage in case.protocol.phases
        for milestone in stage.milestones
        if milestone.side == "inside" and milestone.kind not in PERSONAL
    ]


def _first_undone(state: State, spine: Sequence[Milestone]) -> Milestone | None:
    """The first step not done after the furthest one done: a step left out is not asked for for ever."""
    done = [place for place, milestone in enumerate(spine) if when_done(state, milestone) is not None]
    later = spine[(done[-1] + 1 if done else 0) :]
    return later[0] if later else None


def _after_failure(case: CaseNow, spine: Sequence[Milestone]) -> Milestone | None:
    """After an attempt that brought no tube the next step is another attempt, not the step that follows success."""
    state = case.state
    if not state.attempts or state.airway.device is not None:
        return None
    last = state.attempts[-1]
    if last.ended is None or last.result == "tube":
        return None
    return next((m for m in spine if m.kind == "scope.start"), None)


def _instead(case: CaseNow, step: Milestone) -> list[Milestone]:
    """What can come instead of the next step: other endings of what is going on, and steps that answer it."""
    state = case.state
    beside = [m for m in _inside(case) if not m.spine]
    kinds: tuple[str, ...] = ()
    if state.airway.stage == "unproven" and state.airway.breath_at is not None:
        kinds = ("co2.no", "tube.out")  # also where nobody has tapped that the attempt is over
    elif state.attempts and state.attempts[-1].ended is None:
        kinds = ("scope.end",)
    elif step.kind == "scope.start" and state.attempts:
        kinds = ("rescue.declare", "sga.in", "mask.vent")
    elif step.kind in ("drug.given", "scope.start"):
        kinds = ("drug.given",)
    anytime = [m for m in case.protocol.anytime if m.kind in kinds]
    return [m for m in beside if m.kind in kinds] + anytime
