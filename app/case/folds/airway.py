"""The airway, its proof and rescue, the breathing circuit."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from app.case.folds.handler import Handler, recorded
from app.case.happening import Happening
from app.case.state import Airway, Attempt, State
from app.case.vocabulary import airway as v
from app.case.vocabulary import variants as w

TUBE = "tube"


def _airway(state: State, **changes: Any) -> State:
    return replace(state, airway=replace(state.airway, **changes))


def _placed(state: State, h: Happening, device: str, size: float | str | None) -> State:
    """A new airway is in: it looks unfinished until carbon dioxide proves it."""
    return replace(
        state,
        airway=Airway("unproven", device, size, h.at, rescue=state.airway.rescue),
    )


def _removed(state: State, stage: str) -> State:
    return replace(state, airway=Airway(stage, rescue=state.airway.rescue))


def preox_start(state: State, h: Happening, body: v.PreoxStart) -> State:
    return _airway(state, stage="oxygenating") if state.airway.stage == "own breathing" else state


def drug_given(state: State, h: Happening, body: v.DrugGiven) -> State:
    breathing = state.airway.stage in ("own breathing", "oxygenating", "awake")
    apnoeic = body.class_ in ("induction", "relaxant") and breathing
    return _airway(state, stage="apnoeic") if apnoeic else state


def _open_attempt(state: State, n: int | None) -> int | None:
    """Index of the attempt that an ending means: that number, still open; else the newest still open."""
    still = [i for i, attempt in enumerate(state.attempts) if attempt.ended is None]
    named = [i for i in still if state.attempts[i].n == n]
    found = named or still
    return found[-1] if found else None


def scope_start(state: State, h: Happening, body: v.ScopeStart) -> State:
    n = int(body.n) if body.n is not None else len(state.attempts) + 1
    if any(attempt.n == n and attempt.ended is None for attempt in state.attempts):
        return state  # started twice: the first start counts, R58 remarks on it
    attempt = Attempt(n, h.at, body.op, body.device)
    return _airway(replace(state, attempts=(*state.attempts, attempt)), stage="attempt")


def scope_end(state: State, h: Happening, body: v.ScopeEnd) -> State:
    index = _open_attempt(state, None if body.n is None else int(body.n))
    if index is None:
        return state
    ended = replace(state.attempts[index], ended=h.at, result=body.result, view=body.view)
    state = replace(state, attempts=(*state.attempts[:index], ended, *state.attempts[index + 1 :]))
    return _airway(state, stage=_after_attempt(state.airway)) if state.airway.stage == "attempt" else state


def _after_attempt(airway: Airway) -> str:
    """An attempt past an airway that is in place (a supraglottic one) leaves that one as it was."""
    if airway.device is None:
        return "apnoeic"
    if airway.proven_at is None:
        return "unproven"
    return "proven" if airway.secured_at is None else "secured"


def tube_passed(state: State, h: Happening, body: v.TubePassed) -> State:
    return _placed(state, h, TUBE, body.size)


def tube_out(state: State, h: Happening, body: v.TubeOut) -> State:
    # with a tracheostomy in place it is the oral tube that comes out, unless it says otherwise
    neck = "trach" in (body.what or "").casefold()
    return state if state.airway.device == "tracheostomy" and not neck else _removed(state, "apnoeic")


def cuff_up(state: State, h: Happening, body: v.CuffUp) -> State:
    return _airway(state, cuff_up_at=h.at, cuff_cmh2o=body.cuff)


def cuff_check(state: State, h: Happening, body: v.CuffCheck) -> State:
    return state if body.cuff is None else _airway(state, cuff_cmh2o=body.cuff)


def cuff_down(state: State, h: Happening, body: v.CuffDown) -> State:
    return _airway(state, cuff_up_at=None, cuff_cmh2o=None)


def vent_first(state: State, h: Happening, body: v.VentFirst) -> State:
    return _airway(state, breath_at=state.airway.breath_at or h.at)


def co2_yes(state: State, h: Happening, body: v.Co2Yes) -> State:
    if state.airway.device is None:  # nothing in place to prove: recorded as said
        return state
    stage = "secured" if state.airway.stage == "secured" else "proven"
    return _airway(state, proven_at=state.airway.proven_at or h.at, stage=stage)


def co2_no(state: State, h: Happening, body: v.Co2No) -> State:
    return state if state.airway.device is None else _airway(state, proven_at=None, stage="unproven")


def tube_secured(state: State, h: Happening, body: v.TubeSecured) -> State:
    stage = "secured" if state.airway.proven_at is not None else state.airway.stage
    return _airway(state, secured_at=h.at, stage=stage)


def sga_in(state: State, h: Happening, body: v.SgaIn) -> State:
    return _placed(state, h, "sga", body.size)


def sga_out(state: State, h: Happening, body: v.SgaOut) -> State:
    return _removed(state, "apnoeic") if state.airway.device == "sga" else state


def rescue_declare(state: State, h: Happening, body: v.RescueDeclare) -> State:
    return _airway(replace(state, rescues=(*state.rescues, (body.plan, h.at))), rescue=body.plan)


def fona_in(state: State, h: Happening, body: v.FonaIn) -> State:
    return _placed(state, h, "neck", body.size)


def tr_tube_in(state: State, h: Happening, body: w.TrTubeIn) -> State:
    return _placed(state, h, "tracheostomy", body.size)


def ext_out(state: State, h: Happening, body: w.ExtOut) -> State:
    return _removed(state, "awake")


def clamp_on(state: State, h: Happening, body: v.ClampOn) -> State:
    return replace(state, circuit=replace(state.circuit, clamped_since=state.circuit.clamped_since or h.at))


def clamp_off(state: State, h: Happening, body: v.ClampOff) -> State:
    return replace(state, circuit=replace(state.circuit, clamped_since=None))


def circuit_off(state: State, h: Happening, body: v.CircuitOff) -> State:
    return replace(state, circuit=replace(state.circuit, open_since=state.circuit.open_since or h.at))


def circuit_on(state: State, h: Happening, body: v.CircuitOn) -> State:
    return replace(state, circuit=replace(state.circuit, open_since=None))


def vent_hold(state: State, h: Happening, body: v.VentHold) -> State:
    return replace(state, circuit=replace(state.circuit, held_since=state.circuit.held_since or h.at))


def breath_again(state: State, h: Happening, body: v.VentResume) -> State:
    return replace(state, circuit=replace(state.circuit, held_since=None))


def first_breath(state: State, h: Happening, body: v.VentFirst) -> State:
    """A first breath also ends a hold of ventilation."""
    return replace(vent_first(state, h, body), circuit=replace(state.circuit, held_since=None))


HANDLERS: dict[str, Handler] = {
    "monitor.on": recorded,
    "preox.start": preox_start,
    "preox.stop": recorded,
    "vitals": recorded,
    "drug.given": drug_given,
    "scope.start": scope_start,
    "scope.end": scope_end,
    "tube.passed": tube_passed,
    "tube.out": tube_out,
    "cuff.up": cuff_up,
    "cuff.check": cuff_check,
    "cuff.down": cuff_down,
    "vent.first": first_breath,
    "co2.yes": co2_yes,
    "co2.no": co2_no,
    "tube.secured": tube_secured,
    "vent.set": recorded,
    "mask.vent": recorded,
    "sga.in": sga_in,
    "sga.out": sga_out,
    "rescue.declare": rescue_declare,
    "fona.start": recorded,
    "fona.in": fona_in,
    "clamp.on": clamp_on,
    "clamp.off": clamp_off,
    "circuit.off": circuit_off,
    "circuit.on": circuit_on,
    "vent.hold": vent_hold,
    "vent.resume": breath_again,
    "agp.end": recorded,
    "tr.tube_in": tr_tube_in,
    "ext.out": ext_out,
}
