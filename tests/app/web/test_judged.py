"""Every case that pages show is judged, however it came into memory."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Sequence
from typing import Any

import pytest

from tests.app.web.house import PATIENCE_S, House, until

pytestmark = pytest.mark.anyio


async def test_a_case_that_is_asked_for_while_its_first_entries_arrive_is_judged(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    case, cases = await house.case(), house.live.cases
    was_read, may_go_on, read = threading.Event(), threading.Event(), cases._read

    def slowly(asked: str) -> tuple[bool, Sequence[Any]]:
        found = read(asked)
        was_read.set()
        assert may_go_on.wait(PATIENCE_S)
        return found

    monkeypatch.setattr(cases, "_read", slowly)
    asked = asyncio.create_task(cases.get(case))
    assert await asyncio.to_thread(was_read.wait, PATIENCE_S)
    taps = [
        house.tap(
            case, "case.open", {"ref": "C1", "procedure": "intubation", "precaution": "airborne", "age": "adult"}
        ),
        house.tap(case, "room.in", {"p": "P1"}),
    ]
    answer = await house.client.post("/api/entries", json=taps, headers=house.as_("inside"))
    assert answer.status_code == 200
    may_go_on.set()
    live = await asked
    await until(lambda: len(live.record.entries) == 2, "both entries in the record")  # the sender is answered first
    assert "R01" in {life.notice.rule for life in house.live.notices(case)}
