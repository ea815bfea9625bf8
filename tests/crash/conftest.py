"""A ledger of what was sent and what was acknowledged, to be held against the journal after a crash."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path
from random import Random
from typing import Any

import pytest
from sqlalchemy import Engine, text

from app.base.database import open_engine
from app.base.ids import new_id
from app.journal.entry import Tap
from app.journal.keys import PublicKey, read_key
from app.journal.verify import verify

ROUNDS_IN_CI = 8


@pytest.fixture
def rounds() -> int:
    """How often to kill: `DOORSIDE_CRASH_ROUNDS=100` on demand."""
    return int(os.environ.get("DOORSIDE_CRASH_ROUNDS") or ROUNDS_IN_CI)


@dataclass
class Ledger:
    """What was sent and what came back, over any number of crashes of whatever stores it."""

    engine: Engine
    key_file: Path
    random: Random
    cases: list[str] = field(default_factory=lambda: [new_id() for _ in range(3)])
    sent: dict[str, dict[str, Any]] = field(default_factory=dict)
    acknowledged: Counter[str] = field(default_factory=Counter)

    def make(self, count: int) -> list[dict[str, Any]]:
        """A list of new taps of several cases, as JSON objects."""
        taps = []
        for _ in range(count):
            number = len(self.sent) + 1
            tap = asdict(
                Tap(
                    new_id(), self.random.choice(self.cases), "vitals", {"spo2": 90 + number % 10}, "tablet", number,
                    "2026-11-03T14:10:00.000Z",
                )
            )  # fmt: skip
            self.sent[tap["id"]] = tap
            taps.append(tap)
        return taps

    def waiting(self) -> list[dict[str, Any]]:
        """What a station would still hold: sent and never acknowledged."""
        return [tap for id_, tap in self.sent.items() if id_ not in self.acknowledged]

    def check(self) -> None:
        """Every acknowledged tap is in the journal once, nothing is in it that was not sent, and it verifies."""
        with self.engine.connect() as connection:
            stored = Counter(connection.execute(text("SELECT id FROM journal_entry")).scalars())
        lost = self.acknowledged.keys() - stored.keys()
        assert not lost, f"{len(lost)} acknowledged taps were lost"
        assert set(stored.values()) <= {1}, "a tap was stored twice"
        assert stored.keys() <= self.sent.keys()
        report = verify(self.engine, self.public_key)
        assert report.clean, report.finding
        assert report.entries == len(stored)

    @property
    def public_key(self) -> PublicKey:
        key = read_key(self.key_file)
        assert key is not None
        return key.public


@pytest.fixture
def ledger(database_url: str, tmp_path: Path) -> Iterator[Ledger]:
    engine = open_engine(database_url)
    yield Ledger(engine, tmp_path / "server.key", Random(2026))
    engine.dispose()
