"""A view that has read nothing of what is new is not asked again, and would have said the same."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from app.base.moments import moment_text
from app.case.rules.day import Day
from app.drill.scenario import read_file
from app.drill.taps import posts
from app.journal.entry import Entry
from app.live.drawing import Drawing
from app.live.now import CaseNow
from app.live.panels import PANELS, Panel
from app.live.watched import Reading
from tests.app.live.room import UTC_ZONE
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, entries, now

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.scenario"))


class CaseOfOneEntryMore:
    """A case that grows as a live one does: what an entry leaves as it was is the same object afterwards."""

    def __init__(self) -> None:
        self.day, self.case = Day(), now()

    def told(self, *more: Entry, case: str = "A") -> CaseNow:
        self.day = self.day.arrive(more)
        record, lives = self.day._record(case), self.day.lives_of(case)
        notices = self.case.notices if lives == self.case.notices else lives
        self.case = CaseNow(case, record.now, record.history, len(record.entries), notices, record.entries)
        return self.case


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Names of the panels whose views are asked."""
    names: list[str] = []
    for name, panel in PANELS.items():

        def view(cases: Any, name: str = name, panel: Panel = panel) -> Any:
            names.append(name)
            return panel.view(cases)

        monkeypatch.setitem(PANELS, name, Panel(name, view))
    return names


def test_figures_off_the_monitor_ask_only_what_shows_figures_or_the_newest_entries(asked: list[str]) -> None:
    drawing, case = Drawing(UTC_ZONE), CaseOfOneEntryMore()
    *before, vitals = entries(OPEN, CREW, *GOES_IN, ("vitals", {"spo2": 97}))
    drawing.page("inside", [case.told(*before)], "en")
    asked.clear()
    drawn = drawing.page("inside", [case.told(vitals)], "en")
    assert {"vitals", "clock", "mend"} <= set(asked)
    assert not {"heading", "steps", "people", "plans", "rescue", "ahead", "running", "asks"} & set(asked)
    assert drawn == Drawing(UTC_ZONE).page("inside", [case.case], "en")


def test_what_changed_without_an_entry_asks_every_view_again(asked: list[str]) -> None:
    drawing, case = Drawing(UTC_ZONE), now(OPEN, CREW)
    drawing.panel("steps", [case], "en")
    drawing.panel("steps", [replace(case, revision=case.revision + 1)], "en")
    assert asked == ["steps"]
    drawing.panel("steps", [replace(case, revision=case.revision + 2, touched=1)], "en")
    assert asked == ["steps", "steps"]


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda path: path.stem)
def test_what_stands_by_what_was_read_is_what_the_view_says(file: Path) -> None:
    days: dict[str, CaseOfOneEntryMore] = {}
    read: dict[tuple[str, str], tuple[Reading, Any]] = {}
    for post in posts(read_file(file)):
        for made in post.made:
            case = made.tap.case
            of = days.setdefault(case, CaseOfOneEntryMore())
            seen = [
                of.told(
                    Entry(made.tap, made.facts, of.case.revision + 1, moment_text(post.received), "", ""), case=case
                )
            ]
            for name, panel in PANELS.items():
                reading, said = read.get((case, name), (None, None))
                if reading is not None and reading.stands(seen):
                    assert panel.view(seen) == said, f"{name} after {made.tap.kind}"
                else:
                    reading = Reading(seen)
                    said = panel.view(reading.shown())
                    assert said == panel.view(seen), f"{name} sees through the glass what is there"
                    read[case, name] = reading, said
