"""Every milestone of the stage the case is in, with its time once it has one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.live.now import CaseNow
from app.live.views.next import PERSONAL
from app.live.views.taps import Offer, offer, one_tap


@dataclass(frozen=True, slots=True)
class Stage:
    """A stage with the buttons that the room taps in it."""

    title: str
    here: bool
    taps: tuple[Offer, ...]


@dataclass(frozen=True, slots=True)
class StepsView:
    """The stages with milestones tapped in the room; `anytime` holds what may happen in any of them."""

    stages: tuple[Stage, ...]
    anytime: tuple[Offer, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> StepsView:
        case = cases[0]
        stages = []
        for stage in case.protocol.phases:
            taps = tuple(
                offer(case.id, case.state, m)
                for m in stage.milestones
                if m.side == "inside" and m.kind not in PERSONAL and m.kind != "vitals"
            )
            if taps:
                stages.append(Stage(stage.title, stage.id == case.phase.id, taps))
        offers = (
            offer(case.id, case.state, m)
            for m in case.protocol.anytime
            if m.side == "inside" and m.kind not in PERSONAL and not m.kind.startswith("req.")
        )
        return cls(tuple(stages), tuple(one for one in offers if one_tap(one)))
