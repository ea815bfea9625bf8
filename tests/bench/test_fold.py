"""The bench of the fold measures what it says: a whole case of that many entries, all of them readable."""

from __future__ import annotations

import json

import pytest

from app.case.fold import Record
from app.case.happening import Mark
from tests.bench.fold import case_of, main


def test_the_case_has_as_many_entries_as_were_asked_for_and_each_counts() -> None:
    entries = case_of(120)
    assert [entry.seq for entry in entries] == list(range(1, 121))
    record = Record.of(entries[0].tap.case, entries)
    assert sum(len(of_kind) for of_kind in record.now.by_kind.values()) == 120
    assert not any(Mark.UNREADABLE in one.marks for one in record.history)


def test_a_case_shorter_than_its_scenario_is_refused() -> None:
    with pytest.raises(ValueError, match="entries = 10"):
        case_of(10)


def test_it_prints_one_json_object_with_every_figure(capsys: pytest.CaptureFixture[str]) -> None:
    main(["--entries", "100", "--rounds", "1"])
    figures = json.loads(capsys.readouterr().out)
    assert (figures["entries"], figures["rounds"]) == (100, 1)
    assert set(figures) == {
        "entries", "rounds", "fold_entries_per_s", "fold_ms", "tap_ms", "late_tap_ms", "intervals_ms",
    }  # fmt: skip
