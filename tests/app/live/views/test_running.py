"""The table of clocks that a cut-off page runs by says what the fold says, after every entry of every whole case."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from app.case.fold import fold
from app.case.life import running_clock
from app.case.state import State
from app.drill.scenario import read_file
from app.drill.taps import posts
from app.journal.entry import Entry
from app.live.views.running import RunningView, _told, clocks_of
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, after, now

FILES = sorted((Path(__file__).parents[3] / "scenarios").glob("*.scenario"))
WORN = "Longest in equipment"
"""The clock that runs when no other does: no tap of the step line starts it."""


def first_running(state: State) -> tuple[str, object] | None:
    told = _told(state)
    return next(((one.label, since) for one in clocks_of(state) if (since := one.since(told)) is not None), None)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_table_and_the_fold_show_the_same_clock_after_every_entry(path: Path) -> None:
    made = sorted((one for post in posts(read_file(path)) for one in post.made), key=lambda one: one.at)
    wrong = []
    for case in {one.tap.case for one in made}:
        entries: list[Entry] = []
        for one in made:
            if one.tap.case == case:
                entries.append(Entry(one.tap, one.facts, len(entries) + 1, one.tap.device_at, "", ""))
                state = fold(case, entries)
                clock = running_clock(state)
                expected = None if clock is None or clock.message == WORN else (clock.message, clock.since)
                if first_running(state) != expected:
                    wrong.append((one.tap.kind, one.tap.body, expected, first_running(state)))
    assert wrong == []


def test_a_page_is_told_which_clocks_run_and_what_starts_and_ends_each() -> None:
    view = RunningView.of([now(OPEN, CREW, *GOES_IN, ("preox.start", {}), ("drug.given", {"class": "induction"}))])
    running = {one.label: one.since for one in view.clocks if one.since}
    assert running == {"Since induction": after(50)}
    attempt = next(one for one in view.clocks if one.label == "This attempt")
    turns = json.loads(attempt.turns_json)
    assert (turns["scope.start"], turns["scope.end"]) == (True, False)
    assert json.loads(view.clocks[-1].turns_json)["drug.given induction"] is False


def test_no_clock_runs_in_a_case_that_is_closed() -> None:
    view = RunningView.of([now(OPEN, ("preox.start", {}), ("case.close", {}))])
    assert [one for one in view.clocks if one.since] == []
