"""Extubation, transport, tracheostomy, bronchoscopy, and what comes after: kept under their kinds."""

from __future__ import annotations

import pytest

from app.case.folds.handler import recorded
from app.case.folds.handlers import HANDLERS
from app.case.vocabulary.registry import KINDS
from tests.app.case.telling import moment, state_of


def test_each_exposed_person_is_listed_once() -> None:
    assert state_of(
        "01:00 exposure.open p=P2", "02:00 exposure.open p=X1; minutes=9", "03:00 exposure.open p=P2"
    ).exposures == ("P2", "X1")


@pytest.mark.parametrize("kind", sorted(kind for kind, handler in HANDLERS.items() if handler is recorded))
def test_what_changes_nothing_else_is_kept_in_order_of_happening(kind: str) -> None:
    body = {
        "ext.step": "step=sit up", "message": "text=a", "note": "text=a", "doff.step": "p=P1; step=gown",
        "debrief.point": "about=keep; text=a", "action.new": "text=a", "local.done": "name=a",
        "tap.fix": "ref=nothing", "tap.void": "ref=nothing",
    }.get(kind, "")  # fmt: skip
    state = state_of(f"02:00 {kind} {body}".strip(), f"01:00 {kind} {body}".strip())
    assert [h.at for h in state.all(kind)] == [moment("01:00"), moment("02:00")]
    assert (state.first(kind), state.last(kind)) == (state.all(kind)[0], state.all(kind)[-1])
    assert state.last_at == moment("02:00")


def test_every_kind_has_a_handler_and_no_handler_lacks_a_kind() -> None:
    assert HANDLERS.keys() == KINDS.keys()
