"""Plays a scenario of several rooms: a page inside each, one page at the doors for all of them, the desk's page of each."""

from __future__ import annotations

import os
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext

from app.drill import outcome as judged
from app.drill.department import Staff
from app.drill.register import register
from app.drill.values import Act, Scenario
from app.journal.entry import Entry
from tests.browser.e2e.clock_server import CLOCK
from tests.browser.e2e.conftest import Compared, _page, open_case
from tests.browser.e2e.finger import Finger
from tests.browser.e2e.player import HALF, Player, Screens, open_page
from tests.browser.server import Server


class RoomFinger(Finger):
    """A finger on a page of several rooms that touches only what belongs to one of them."""

    case = ""

    def _ranked(self, kind: str, wanted: Mapping[str, Any]) -> list[tuple[int, dict[str, Any]]]:
        return [row for row in super()._ranked(kind, wanted) if row[1]["case"] == self.case]


@dataclass
class Rooms(Player):
    """A player that is in the room of whatever act comes next. cases: handle -> id; rooms: handle -> its screens."""

    cases: dict[str, str] = field(default_factory=dict)
    rooms: dict[str, Screens] = field(default_factory=dict)

    def set_clock(self, at: datetime) -> None:
        moment = at + HALF + timedelta(milliseconds=self._place[at])
        self._place[at] += 1
        self.clock.write_text(moment.isoformat(), "utf-8")
        for screens in self.rooms.values():
            for finger in screens.all():
                finger.page.clock.set_fixed_time(moment)

    def _play(self, acts: list[Act]) -> None:
        self.case, self.screens = self.cases[acts[0].case], self.rooms[acts[0].case]
        if isinstance(self.screens.outside, RoomFinger):
            self.screens.outside.case = self.case
        super()._play(acts)

    def entries(self) -> list[Entry]:
        """Those of all rooms."""
        return [entry for case in self.cases.values() for entry in self.server.entries(case)]

    def outcome(self, key: Any, patch: Any) -> Any:
        """What the journal comes to, in the form of `doorside replay --json`."""
        patch("app.drill.outcome.case_ids", lambda scenario: self.cases)
        return judged.outcome(self.scenario, self.server.engine, key)


def server_for(url: str, folder: Path, clock: Path, scenario: Scenario, monkeypatch: pytest.MonkeyPatch) -> Server:
    """A server on the test's clock, with the file's people and a room for each of its cases."""
    opening = min(case.t0 for case in scenario.cases.values())
    os.environ[CLOCK] = str(clock)
    monkeypatch.setattr("tests.browser.server.utc_now", lambda: opening)
    server = Server(url, folder, program=("-m", "tests.browser.e2e.clock_server"))
    people = [Staff(member.handle, member.facts) for member in scenario.staff.values()]
    rooms = [{**case.room, "id": f"room-{name}", "name": f"Room {name}"} for name, case in scenario.cases.items()]
    register(server.engine, people, rooms)
    server.pair()
    server.start()
    return server


def open_rooms(browser: Browser, server: Server, player: Rooms, opened: list[BrowserContext]) -> list[Act]:
    """Opens every case at the desk at its own time, then the pages of each; gives the acts that are left to play."""
    scenario = player.scenario
    openings = [act for act in scenario.acts if act.kind == "case.open"]
    desks, compared = {}, Compared()
    for act in openings:
        player.clock.write_text((act.at + HALF).isoformat(), "utf-8")
        for before in desks.values():  # all clocks stand at the same moment whenever one of them is asked
            before.clock.set_fixed_time(act.at + HALF)
        desk = desks[act.case] = _page(browser, server, "desk", act.at, opened, compared)
        open_page(desk, server.address + "/desk")
        open_case(Finger(desk), scenario.cases[act.case].opening | {"room": f"room-{act.case}"})
        player.cases[act.case] = desk.url.rpartition("/")[2]
    outside = RoomFinger(_page(browser, server, "outside", openings[-1].at, opened, compared))
    for name, case in player.cases.items():
        inside = _page(browser, server, "inside", openings[-1].at, opened, compared)
        open_page(inside, f"{server.address}/inside?case={case}")
        player.rooms[name] = Screens(Finger(inside), outside, Finger(desks[name]))
    with suppress(KeyError):
        player.screens = player.rooms["A"]
    open_page(outside.page, server.address + "/outside")
    compared.end()
    return sorted((act for act in scenario.acts if act.kind != "case.open"), key=lambda act: act.at)
