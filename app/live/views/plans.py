"""Plans B, C and D and the call for help, one tap each while the airway is not proven."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.base.messages import N_
from app.case.state import Life
from app.live.now import CaseNow
from app.live.views.fields import ask
from app.live.views.situation import rung
from app.live.views.taps import Offer, offer


@dataclass(frozen=True, slots=True)
class PlansView:
    """declare: (the tap, the plan's title, whether it is in force); calls: taps that call somebody."""

    declare: tuple[tuple[Offer, str, bool], ...]
    calls: tuple[Offer, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> PlansView:
        case = cases[0]
        if case.life not in (Life.INSIDE, Life.AIRWAY, Life.SETTLED):
            return cls((), ())
        titles = {step.step: step.title for step in case.protocol.rescue}
        now = rung(case)
        plans = [m for m in case.protocol.anytime if m.kind == "rescue.declare"]
        open_airway = case.state.airway.proven_at is None and case.phase.id == "airway"
        declare = tuple(
            (
                Offer(m.kind, ask("plan.set", str(m.body["plan"])).label, case.id, m.body, tone="fault"),
                titles.get(str(m.body["plan"]), ""),
                now is not None and now.step == m.body["plan"],
            )
            for m in plans
            if open_airway
        )
        return cls(declare, _calls(case))


def _calls(case: CaseNow) -> tuple[Offer, ...]:
    """Help: the second operator where there is one who is not inside yet, otherwise a second team."""
    state = case.state
    waiting = [p for p in state.roles.get("SO", ()) if not case.person(p).inside]
    who = "SO" if waiting else "second team"
    milestone = next((m for m in case.protocol.anytime if m.kind == "help.call"), None)
    if milestone is None:
        return ()
    tap = offer(case.id, state, milestone)
    return (Offer(tap.kind, N_("Call help"), tap.case, {**tap.body, "who": who}, tone="fault"),)
