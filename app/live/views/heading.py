"""Top of the inside page: where we are, in which stage, who is in here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.live.now import CaseNow


@dataclass(frozen=True, slots=True)
class HeadingView:
    """Room, case, stage and how many are inside. No patient name: none is held."""

    room: str
    ref: str
    protocol: str
    stages: tuple[tuple[str, str], ...]
    inside: int
    life: str

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> HeadingView:
        case = cases[0]
        ids = [stage.id for stage in case.protocol.phases]
        here = ids.index(case.phase.id)
        stages = tuple(
            (stage.title, "past" if place < here else "here" if place == here else "ahead")
            for place, stage in enumerate(case.protocol.phases)
        )
        return cls(
            case.room,
            case.state.setup.ref or "",
            case.protocol.title,
            stages,
            len(case.state.inside),
            case.life.value,
        )
