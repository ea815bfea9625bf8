"""What comes next when it does not go to plan: after a failed attempt, without CO2, in a declared plan, circuit open.

Nothing is decided here: the department's protocol names the steps of each plan (`rescue`), and the state says which of
them have been tapped. Every other step can be tapped at any time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.case.happening import Happening
from app.case.state import State
from app.live.now import CaseNow
from app.live.views.taps import stored_body
from app.protocol.values import Milestone, RescueStep

LADDER = ("B", "C", "D")


@dataclass(frozen=True, slots=True)
class Step:
    """A next step with what may come in its place, and what it aims at where the milestone itself does not say."""

    milestone: Milestone
    instead: tuple[Milestone, ...] = ()
    aim: str = ""


def situation(case: CaseNow, inside: Sequence[Milestone], spine: Sequence[Milestone]) -> Step | None:
    """The step that the situation asks for in place of the line of next steps, or None."""
    steps = [*inside, *case.protocol.anytime]
    return (
        _circuit(case, steps)
        or _no_co2(case, steps)
        or _rescue(case, steps)
        or _after_failure(case, spine, steps)
        or _unplanned_attempt(case, spine, steps)
    )


def rung(case: CaseNow) -> RescueStep | None:
    """The department's own step for the plan that was declared last, while no airway is proven."""
    airway = case.state.airway
    if airway.rescue is None or airway.proven_at is not None:
        return None
    return next((one for one in case.protocol.rescue if one.step == airway.rescue), None)


def _named(steps: Sequence[Milestone], *kinds: str) -> tuple[Milestone, ...]:
    """The first milestone of each kind, in the order of the kinds."""
    return tuple(m for kind in kinds if (m := _first(steps, kind)) is not None)


def _first(steps: Sequence[Milestone], kind: str) -> Milestone | None:
    return next((m for m in steps if m.kind == kind), None)


def _circuit(case: CaseNow, steps: Sequence[Milestone]) -> Step | None:
    """An open circuit is closed, then the clamp comes off; a transport has its own line for it."""
    circuit = case.state.circuit
    if case.state.setup.procedure == "transport":
        return None
    kind = "circuit.on" if circuit.open_since is not None else None
    closed = case.state.last("circuit.on")
    if kind is None and circuit.clamped_since is not None and closed is not None and closed.at >= circuit.clamped_since:
        kind = "clamp.off"
    step = _first(steps, kind) if kind else None
    return None if step is None else Step(step)


def _no_co2(case: CaseNow, steps: Sequence[Milestone]) -> Step | None:
    """No sustained CO2 through what is in place: by default it comes out, and CO2 after all can be said beside it."""
    state = case.state
    said, airway = state.last("co2.no"), state.airway
    if said is None or airway.device is None or airway.proven_at is not None or _before(said, airway.placed_at):
        return None
    out = _first(steps, "sga.out" if airway.device == "sga" else "tube.out")
    return None if out is None else Step(out, _named(steps, "co2.yes"), _limit(case, "wrong-place"))


def _rescue(case: CaseNow, steps: Sequence[Milestone]) -> Step | None:
    """In a declared plan: its own steps in order, then the proof of what they put in, then the next plan."""
    now = rung(case)
    if now is None:
        return None
    state = case.state
    declared, placed = state.last("rescue.declare"), state.airway.placed_at
    assert declared is not None
    if placed is not None and placed >= declared.at:
        return _proof(state, steps)
    for record in now.records:
        if record.kind in ("rescue.declare", "co2.yes", "co2.no"):
            continue
        told = (h for h in state.all(record.kind) if declared.order < h.order)
        if not any(record.fits(h.kind, stored_body(h)) for h in told):
            step = next((m for m in steps if record.fits(m.kind, m.body)), None)
            if step is not None:
                return Step(step, (), now.limit)
    higher = LADDER[LADDER.index(now.step) + 1 :] if now.step in LADDER else ()
    onward = next((m for m in steps if m.kind == "rescue.declare" and m.body.get("plan") in higher[:1]), None)
    return None if onward is None else Step(onward, _named(steps, "scope.start", "sga.in", "mask.vent"))


def _proof(state: State, steps: Sequence[Milestone]) -> Step | None:
    """What is still owed to an airway that a rescue put in: cuff and breath for a tube, CO2 for any."""
    airway = state.airway
    if airway.device != "sga":
        for done, kind in ((airway.cuff_up_at, "cuff.up"), (airway.breath_at, "vent.first")):
            if done is None and (step := _first(steps, kind)) is not None:
                return Step(step, _named(steps, "tube.out"))
    proof = _first(steps, "co2.yes")
    return (
        None
        if proof is None
        else Step(proof, _named(steps, "co2.no", "sga.out" if airway.device == "sga" else "tube.out"))
    )


def _after_failure(case: CaseNow, spine: Sequence[Milestone], steps: Sequence[Milestone]) -> Step | None:
    """After an attempt that brought no tube the next step is another attempt, not the step that follows success."""
    state = case.state
    if not state.attempts:
        return None
    if state.airway.device == "sga" and state.airway.proven_at is None:
        return _proof(state, steps)
    last = state.attempts[-1]
    if state.airway.device is not None or last.ended is None or last.result == "tube":
        return None
    again = _first([*spine, *case.protocol.anytime], "scope.start")
    rescue = _named(steps, "mask.vent", "sga.in")
    return None if again is None else Step(again, rescue, _limit(case, "A2" if len(state.attempts) < 2 else "B"))


def _unplanned_attempt(case: CaseNow, spine: Sequence[Milestone], steps: Sequence[Milestone]) -> Step | None:
    """An attempt at a tube in a procedure that has none on its line, such as an extubation that fails."""
    state = case.state
    if not state.attempts or _first(spine, "scope.start") is not None:
        return None
    going = state.attempts[-1].ended is None
    if state.airway.device is None:
        passed = _first(steps, "tube.passed") if going else None
        return None if passed is None else Step(passed, tuple(m for m in steps if _fails(m)))
    over = _first(steps, "scope.end")
    if going and over is not None:
        return Step(over)
    return _proof(state, steps) if state.airway.device == "tube" and state.airway.proven_at is None else None


def _fails(milestone: Milestone) -> bool:
    return milestone.kind == "scope.end" and milestone.body.get("result") != "tube"


def _limit(case: CaseNow, step: str) -> str:
    return next((one.limit for one in case.protocol.rescue if one.step == step), "")


def _before(h: Happening, moment: object) -> bool:
    return moment is not None and h.at < moment  # type: ignore[operator]
