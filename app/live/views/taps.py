"""A tap as a page offers it: a plain button that the outbox turns into an entry."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from app.case.happening import Happening
from app.case.sentences import PEOPLE
from app.case.state import State
from app.case.vocabulary.registry import KINDS
from app.live.views.fields import Ask, ask
from app.protocol.values import Milestone

RIGHT = "dressing right: "
"""Before the code of a dressing step that a partner called right (`local.done`, whose value is the wearer)."""
READY = "made ready: "
"""Before the name of something likely that was made ready at the door (`local.done`)."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A button: what it says, and the entry it makes.

    asks     figures or words that may be filled in first; none of them must be
    done_at  when it was last tapped
    who      a working name that stands before the label
    word     a message id that stands after it
    """

    kind: str
    label: str
    case: str
    body: Mapping[str, Any] = field(default_factory=dict)
    asks: tuple[Ask, ...] = ()
    done_at: datetime | None = None
    tone: str = "plain"
    who: str = ""
    word: str = ""

    @property
    def body_json(self) -> str:
        return json.dumps(dict(self.body), ensure_ascii=False, sort_keys=True)


def one_tap(offer: Offer) -> bool:
    """Whether an offer's body is whole as it stands: kinds that must name somebody are tapped beside the name."""
    fields = KINDS[offer.kind].model_fields
    return all((field.alias or name) in offer.body for name, field in fields.items() if field.is_required())


def stored_body(happening: Happening) -> dict[str, Any]:
    """A happening's body under the names it is stored with, unknown fields left out."""
    return {} if happening.body is None else happening.body.model_dump(by_alias=True, exclude_none=True)


def when_done(state: State, milestone: Milestone) -> datetime | None:
    """When a milestone was last reached."""
    tapped = reversed(state.all(milestone.kind))
    return next((h.at for h in tapped if not milestone.body or milestone.fits(h.kind, stored_body(h))), None)


def offer(case: str, state: State, milestone: Milestone) -> Offer:
    """The button of a milestone, with what the case already knows filled in."""
    body: dict[str, Any] = dict(milestone.body)
    if milestone.kind == "scope.start":
        body["n"] = 1 + sum(1 for attempt in state.attempts)
    elif milestone.kind == "scope.end" and state.attempts:
        body["n"] = state.attempts[-1].n
    elif milestone.kind == "sga.in":
        body["n"] = 1 + len(state.all("sga.in"))
    elif milestone.kind == "sga.out" and state.all("sga.in"):
        body["n"] = len(state.all("sga.in"))
    elif milestone.kind == "co2.no" and state.airway.device is not None:
        body["device"] = state.airway.device
    elif milestone.kind == "case.close" and state.setup.ref:
        body["ref"] = state.setup.ref
    named = not PEOPLE.isdisjoint(milestone.ask)
    people = tuple((person.id, person.name) for person in state.people.values()) if named else ()
    asks = tuple(ask(milestone.kind, name, people) for name in milestone.ask)
    return Offer(milestone.kind, milestone.label, case, body, asks, when_done(state, milestone))
