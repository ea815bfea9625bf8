"""S1 with a hole in the network from induction to the first figures after proof: the same record as `doorside replay`.

The room's page goes on by itself meanwhile: each tap of the gap is made on what the page offers without its server.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, expect

from app.drill.scenario import read_file
from app.drill.values import Act
from app.journal.keys import open_key
from tests.browser.e2e.compare import same_record
from tests.browser.e2e.conftest import SCENARIOS, Played, _open, _replayed, _server
from tests.browser.e2e.player import DOUBLE_CONTACT_MS, HALF, Player

pytestmark = [pytest.mark.browser, pytest.mark.long]
FIRST, LAST = ("drug.given", "induction"), ("vitals", 95)


class CutOff(Player):
    """A player whose server is dead for a stretch of the file."""

    def play(self, acts: Sequence[Act]) -> None:
        begins = next(i for i, act in enumerate(acts) if (act.kind, act.body.get("class")) == FIRST)
        ends = next(i for i, act in enumerate(acts) if (act.kind, act.body.get("spo2")) == LAST)
        super().play(acts[:begins])
        self._cut_off(acts[begins : ends + 1])
        super().play(acts[ends + 1 :])

    def _cut_off(self, acts: Sequence[Act]) -> None:
        finger, page = self.screens.inside, self.screens.inside.page
        before = len(self.entries())
        self.server.kill()
        expect(page.locator("#link")).not_to_have_attribute("data-state", "live")
        for number, act in enumerate(acts, start=1):
            self.set_clock(act.at)
            page.wait_for_timeout(DOUBLE_CONTACT_MS)
            finger.tap(act.kind, self._wanted(act))
            expect(page.locator(".link-count")).to_have_text(str(number))
        expect(page.locator("#link")).to_contain_text("The door cannot see this since")
        self.server.start()
        for one in self.screens.all():
            expect(one.page.locator("#link")).to_have_attribute("data-state", "live")
        expect(page.locator(".link-waiting")).to_be_hidden()
        assert len(self.entries()) == before + len(acts), "each once, and nothing else was said"


@pytest.fixture
def opened() -> Iterator[list[BrowserContext]]:
    """Browsers to be closed."""
    found: list[BrowserContext] = []
    yield found
    for context in found:
        context.close()


def test_s1_with_a_gap_by_touch_is_the_record_that_replay_makes(
    sqlite_url: str, tmp_path: Path, browser: Any, monkeypatch: pytest.MonkeyPatch, opened: list[BrowserContext]
) -> None:
    scenario = read_file(SCENARIOS / "s1-normal-intubation.scenario")
    clock, opening = tmp_path / "clock", scenario.cases["A"].t0
    clock.write_text((opening + HALF).isoformat(), "utf-8")
    server = _server(sqlite_url, tmp_path, clock, scenario, monkeypatch)
    try:
        screens, case = _open(browser, server, scenario, opening, opened)
        player = CutOff(scenario, server, clock, case, screens)
        player.play(sorted(scenario.acts[1:], key=lambda act: act.at))
        by_pages = player.outcome(open_key(tmp_path / "server.key").public, monkeypatch.setattr)
        monkeypatch.undo()
        same_record(Played(player, by_pages, _replayed(scenario, tmp_path)))
    finally:
        server.stop()
