"""The bench of the registers gives every page of them, whole, in both departments."""

from __future__ import annotations

import asyncio
from pathlib import Path

from app.live.books import BOOKS
from tests.bench.registers import measure


def test_a_run_gives_each_page_of_both_departments_and_their_ratio(tmp_path: Path) -> None:
    found = asyncio.run(measure(tmp_path, rounds=0, cases=9))
    assert {f"/{name}" for name in BOOKS} < set(found)
    assert all(one["year_ms"] > 0 and one["begun_ms"] > 0 and one["ratio"] > 0 for one in found.values())
    assert found["/people"]["year_kb"] > 2 * found["/people"]["begun_kb"], "one department is full, the other is not"
