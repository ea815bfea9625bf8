"""S5: two rooms off one lobby and one runner, every entry by a touch on a page: the same record as `doorside replay`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from app.drill.scenario import read_file
from app.journal.keys import open_key
from tests.browser.e2e.compare import same_record
from tests.browser.e2e.conftest import SCENARIOS, Played, _replayed
from tests.browser.e2e.player import HALF, Screens
from tests.browser.e2e.two_rooms import Rooms, open_rooms, server_for

pytestmark = [pytest.mark.browser, pytest.mark.long]
WORDS = {
    "second single-use bronchoscope": "Second single-use bronchoscope",
    "vasopressor infusion": "Vasopressor infusion",
}
FEWER_WORDS = frozenset({"agp.end", "br.in", "door.open"})
"""Tapped out of their turn or in a hurry: what the last aerosol was, which scope, why the door, nobody says there."""


def test_s5_by_touch_is_the_record_that_replay_makes(
    sqlite_url: str, tmp_path: Path, browser: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    scenario = read_file(next(SCENARIOS.glob("s5-*.scenario")))
    clock = tmp_path / "clock"
    clock.write_text((scenario.cases["A"].t0 + HALF).isoformat(), "utf-8")
    server = server_for(sqlite_url, tmp_path, clock, scenario, monkeypatch)
    opened: list[Any] = []
    try:
        nobody: Any = None
        player = Rooms(scenario, server, clock, "", Screens(nobody, nobody, nobody), WORDS)
        player.play(open_rooms(browser, server, player, opened))
        by_pages = player.outcome(open_key(tmp_path / "server.key").public, monkeypatch.setattr)
        monkeypatch.undo()
        same_record(Played(player, by_pages, _replayed(scenario, tmp_path)), FEWER_WORDS)
    finally:
        for context in opened:
            context.close()
        server.stop()
