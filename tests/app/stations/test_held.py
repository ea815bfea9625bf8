"""Taps that wait at the desk: kept once, decided once, and never more than a night's worth of one station."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from sqlalchemy import Engine

from app.base.errors import Conflict, TooLarge
from app.base.ids import new_id
from app.stations import held
from app.stations.store import pair

NOW = datetime(2026, 11, 3, 14, 10, tzinfo=UTC)


def station(engine: Engine, label: str = "Tablet") -> str:
    return pair(engine, kind="inside", label=label, now=NOW).partition(".")[0]


def tap(station_id: str, counter: int = 1) -> dict[str, Any]:
    return {"id": new_id(), "case": "C", "station": station_id, "counter": counter, "kind": "vitals", "body": {}}


def test_a_held_tap_is_kept_as_it_was_sent_and_once(engine: Engine) -> None:
    one = station(engine)
    sent = tap(one)
    for _ in range(2):
        (kept,) = held.hold(engine, one, [sent], NOW)
        assert (kept.tap, kept.decision) == (sent, None)
    assert [(row.id, row.label) for row in held.waiting(engine)] == [(sent["id"], "Tablet")]


def test_waiting_taps_stand_by_station_in_the_order_in_which_they_were_made(engine: Engine) -> None:
    b, a = station(engine, "B"), station(engine, "A")
    sent = [tap(b, 10), tap(b, 9), tap(a, 3)]
    for one in sent:
        held.hold(engine, one["station"], [one], NOW)
    assert [row.id for row in held.waiting(engine)] == [sent[2]["id"], sent[1]["id"], sent[0]["id"]]


def test_a_decision_stands(engine: Engine) -> None:
    one = station(engine)
    first, second = tap(one, 1), tap(one, 2)
    held.hold(engine, one, [first, second], NOW)
    held.decide(engine, [first["id"]], "accepted", NOW, "P1")
    held.decide(engine, [first["id"], second["id"]], "refused", NOW, "P2")
    assert [row.decision for row in held.hold(engine, one, [first, second], NOW)] == ["accepted", "refused"]
    assert held.waiting(engine) == []


def test_a_station_that_was_stolen_cannot_fill_the_disk(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(held, "HELD_MOST", 2)
    one, other = station(engine), station(engine)
    held.hold(engine, one, [tap(one), tap(one)], NOW)
    with pytest.raises(TooLarge, match="wait at the desk already"):
        held.hold(engine, one, [tap(one)], NOW)
    assert len(held.hold(engine, other, [tap(other)], NOW)) == 1
    assert len(held.waiting(engine)) == 3


def test_a_station_cannot_take_the_id_of_anothers_tap(engine: Engine) -> None:
    one, other = station(engine), station(engine)
    sent = tap(one)
    held.hold(engine, one, [sent], NOW)
    with pytest.raises(Conflict):
        held.hold(engine, other, [sent], NOW)
