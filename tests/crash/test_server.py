"""Promise 1 over HTTP: `doorside serve` under a load of taps, killed at random instants; nothing acknowledged is lost."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

import httpx
import pytest
from sqlalchemy import text

from app.journal.keys import read_key
from app.journal.verify import verify
from tests.browser.server import Server, until

pytestmark = pytest.mark.crash
SENDERS = 4
ANSWERS_BEFORE_KILL = 300


@pytest.fixture
def server(sqlite_url: str, tmp_path: Path) -> Iterator[Server]:
    """`doorside serve` with its stations paired, not started yet."""
    made = Server(sqlite_url, tmp_path)
    made.pair()
    yield made
    made.stop()


class Load:
    """Stations' outboxes under way: each sender sends lists of taps and keeps what was not acknowledged for later."""

    def __init__(self, server: Server, cases: list[str]) -> None:
        self.server, self.cases, self.random = server, cases, Random(2026)
        self.sent: dict[str, dict[str, Any]] = {}
        self.acknowledged: set[str] = set()
        self._lock = threading.Lock()
        self._stop = threading.Event()
        self._threads: list[threading.Thread] = []
        self.waiting: list[dict[str, Any]] = []
        self.failed: list[str] = []

    def start(self) -> None:
        self._stop.clear()
        self._threads = [threading.Thread(target=self._send) for _ in range(SENDERS)]
        for thread in self._threads:
            thread.start()

    def stop(self) -> None:
        self._stop.set()
        for thread in self._threads:
            thread.join()

    def _list(self) -> list[dict[str, Any]]:
        """What waits first, as an outbox does, then new taps."""
        with self._lock:
            again, self.waiting = self.waiting[:20], self.waiting[20:]
            made = [
                self.server.tap(self.random.choice(self.cases), "vitals", {"spo2": 90 + self.random.randint(0, 9)})
                for _ in range(self.random.randint(1, 8))
            ]
            self.sent.update((tap["id"], tap) for tap in made)
            return again + made

    def _send(self) -> None:
        with httpx.Client(base_url=self.server.address, verify=False, trust_env=False, timeout=30) as client:
            while not self._stop.is_set():
                self.post(client, self._list())

    def post(self, client: httpx.Client, taps: list[dict[str, Any]]) -> None:
        """Sends a list; what is not acknowledged in the answer waits."""
        acknowledged: set[str] = set()
        try:
            answer = client.post("/api/entries", json=taps, headers=self.server.proof("desk"))
            for result in answer.json()["results"]:
                if result["status"] == "refused":
                    self.failed.append(result["error"])
                else:
                    acknowledged.add(result["id"])
        except (httpx.TransportError, ValueError):
            pass
        with self._lock:
            self.acknowledged |= acknowledged
            self.waiting += [tap for tap in taps if tap["id"] not in acknowledged]

    def next_cases(self) -> None:
        """Ends the cases of the round and begins others, as a night does; what waits for the ended ones comes late."""
        closing = [self.server.tap(case, "case.close", {}) for case in self.cases]
        self.sent.update((tap["id"], tap) for tap in closing)
        self.post(self.server.client, closing)
        self.cases = [self.server.new_case(f"C{number}") for number in range(3)]

    def check(self) -> int:
        """Every acknowledged tap is stored once, nothing else is, and all of it verifies. Gives how many there are."""
        with self.server.engine.connect() as connection:
            stored = list(connection.execute(text("SELECT id FROM journal_entry")).scalars())
        assert len(stored) == len(set(stored)), "a tap was stored twice"
        assert self.acknowledged <= set(stored), f"{len(self.acknowledged - set(stored))} acknowledged taps were lost"
        assert set(stored) <= self.sent.keys()
        key = read_key(self.server.folder / "server.key")
        assert key is not None
        report = verify(self.server.engine, key.public)
        assert report.clean, report.finding
        assert report.entries == len(stored)
        return len(stored)


def test_a_server_killed_under_load_has_lost_nothing_that_it_acknowledged(server: Server, rounds: int) -> None:
    server.start()
    load = Load(server, [server.new_case(f"C{number}") for number in range(3)])
    stored = 0
    for _ in range(rounds):
        load.start()
        enough = len(load.acknowledged) + load.random.randint(1, ANSWERS_BEFORE_KILL)
        until(lambda enough=enough: len(load.acknowledged) >= enough, "acknowledgements", lambda: server.log)  # type: ignore[misc]
        server.kill()  # while the senders are at work
        load.stop()
        now = load.check()
        assert now >= stored
        stored = now
        server.start()
        load.next_cases()
    with httpx.Client(base_url=server.address, verify=False, trust_env=False, timeout=30) as client:
        while load.waiting:
            taps, load.waiting = load.waiting[:200], load.waiting[200:]
            load.post(client, taps)
    assert load.failed == []
    assert load.check() == len(load.sent) == len(load.acknowledged)
