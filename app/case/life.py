"""Where a case stands: its stage of life, its protocol's phase, the one clock that matters now, the last figures."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.base.messages import N_
from app.case.happening import Happening
from app.case.state import Life, State
from app.case.steps import airway_step, induction
from app.case.vocabulary.airway import Vitals

TEAM = (None, "staff")
"""What `room.in` says of those whose entry counts as the team's: visitors, porters and cleaners begin nothing."""


def life(state: State) -> Life:
    """planned → ready → inside → airway → settled → leaving → closed; aborted from any state before closed."""
    if state.closed_at is not None:
        return Life.CLOSED
    if state.aborted_at is not None:
        return Life.ABORTED
    if not _entered(state):
        ready = state.plan.briefed_at is not None or _anyone_dressing(state)
        return Life.READY if ready else Life.PLANNED
    if _leaving(state):
        return Life.LEAVING
    if _settled(state):
        return Life.SETTLED
    begun = airway_step(state) is not None or state.attempts or state.all("br.in") or state.airway.device is not None
    return Life.AIRWAY if begun else Life.INSIDE


def phase(state: State) -> str:
    """The protocol's stage, by the furthest milestone reached: plan, ready, protect, airway, settle, leave or after.

    A proof that was lost again (the tube came out) leads back from settle to airway.
    """
    if any(state.all(kind) for kind in ("clean.start", "debrief.start", "case.close")):
        return "after"
    if state.all("patient.out") and state.setup.procedure != "transport":
        return "after"
    if _leaving(state) or state.aborted_at is not None:
        return "leave"
    if _entered(state):
        return "settle" if _settled(state) else "airway"
    if _anyone_dressing(state):
        return "protect"
    prepared = any(state.all(kind) for kind in ("plan.set", "kit.staged", "room.ready"))
    return "ready" if prepared else "plan"


def _entered(state: State) -> bool:
    return any(person.stays and person.visit in TEAM for person in state.people.values())


def _anyone_dressing(state: State) -> bool:
    return any(person.don_start is not None for person in state.people.values())


def _settled(state: State) -> bool:
    """The procedure's own act is done, and nothing has undone it since."""
    airway = state.airway
    match state.setup.procedure:
        case "extubation":
            extubated = state.all("ext.out") and airway.stage == "awake"
            return bool(extubated) or airway.proven_at is not None
        case "transport":
            return bool(state.all("tx.arrive"))
        case "bronchoscopy":
            return _ended(state.last("br.in"), state.last("br.out"))
        case "tracheostomy":
            return airway.device == "tracheostomy" and airway.proven_at is not None
        case _:
            return airway.proven_at is not None


def _ended(begun: Happening | None, over: Happening | None) -> bool:
    return over is not None and (begun is None or begun.order < over.order)


def _leaving(state: State) -> bool:
    """Counted up, or, once the procedure's act is done, nobody of the team is inside any more."""
    if state.all("count.done"):
        return True
    inside = any(person.inside and person.visit in TEAM for person in state.people.values())
    return _settled(state) and not inside and state.setup.procedure != "transport"


@dataclass(frozen=True, slots=True)
class Clock:
    """A running clock: what it counts (a message id) and since when."""

    message: str
    since: datetime


def running_clock(state: State) -> Clock | None:
    """The single clock that matters now: the one whose running on would hurt soonest."""
    if state.closed_at is not None:
        return None
    circuit, attempts = state.circuit, state.attempts
    if circuit.open_since is not None:
        return Clock(N_("Circuit open"), circuit.open_since)
    if circuit.held_since is not None:
        return Clock(N_("Ventilation held"), circuit.held_since)
    if attempts and attempts[-1].ended is None and state.airway.stage == "attempt":
        return Clock(N_("This attempt"), attempts[-1].started)
    if state.airway.device is not None and state.airway.proven_at is None and state.airway.breath_at is not None:
        return Clock(N_("First breath, no CO2 yet"), state.airway.breath_at)
    induced = induction(state)
    if induced is not None and state.airway.proven_at is None and state.airway.stage != "awake":
        return Clock(N_("Since induction"), induced.at)
    if (out := state.last("ext.out")) is not None and state.airway.stage == "awake":
        return Clock(N_("Since the tube came out"), out.at)
    departed = state.last("tx.depart")
    if departed is not None and not _ended(departed, state.last("tx.arrive")):
        return Clock(N_("On the way"), departed.at)
    started = state.last("preox.start")
    if started is not None and induced is None and state.airway.device is None:
        return Clock(N_("Pre-oxygenation"), started.at)
    worn = [person.don_start for person in state.people.values() if person.inside and person.don_start is not None]
    return Clock(N_("Longest in equipment"), min(worn)) if worn else None


def latest_vital(state: State, field: str) -> tuple[float, datetime] | None:
    """The last value of a figure that was recorded, and when; None when it never was."""

    def said(h: Happening) -> tuple[float, datetime] | None:
        value = getattr(h.body, field) if isinstance(h.body, Vitals) else None
        return None if value is None else (value, h.at)

    found = state.by_kind.get("vitals")
    return None if found is None else found.newest(f"latest {field}", said)
