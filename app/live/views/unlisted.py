"""What the door hands in by voice while a room's requests cannot come: one tap a thing, under a name of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.live.now import CaseNow
from app.live.views.taps import Offer


@dataclass(frozen=True, slots=True)
class ByVoice:
    """What one room is likely to ask for by voice. lost: its screen has no line just now."""

    room: str
    lost: bool
    things: tuple[Offer, ...]


@dataclass(frozen=True, slots=True)
class UnlistedView:
    """Rooms in the order of their names."""

    rooms: tuple[ByVoice, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> UnlistedView:
        return cls(
            tuple(
                ByVoice(case.room, bool(case.state.link_lost), tuple(_thing(case, item) for item in _items(case)))
                for case in cases
                if case.state.inside
            )
        )


def _items(case: CaseNow) -> tuple[str, ...]:
    """Everything that the procedure lets a room ask for: first of this stage, then of the others, each once."""
    stages = [case.phase, *(stage for stage in case.protocol.phases if stage is not case.phase)]
    return tuple(dict.fromkeys(choice.item for stage in stages for choice in stage.requests))


def _thing(case: CaseNow, item: str) -> Offer:
    return Offer("req.in", item, case.id, {"item": item, "via": "voice"})
