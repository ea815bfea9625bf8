"""The bench itself: it runs through on a small scale and gives every figure. No figure is judged here."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine

from app.base.database import open_engine
from app.journal.verify import verify
from tests.bench import many
from tests.bench.live import measure
from tests.bench.measures import Scale
from tests.bench.table import lines
from tests.bench.targets import targets

SMALL = Scale(
    subscribers=(2,), rates=(50,), cases=(2,), runs=1, seconds=0.1, taps_least=4,
    stored=(2,), entries=1200, long_s=0.1, long_subscribers=2, flood_s=0.1, loads=1,
)  # fmt: skip


@pytest.fixture
def in_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the bench keeps for its next run is kept with this test."""
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))


@pytest.fixture
def journal(in_folder: None) -> Iterator[tuple[Path, Engine]]:
    folder = many.journal_of(1200)
    engine = open_engine(f"sqlite:///{folder / 'doorside.db'}")
    yield folder, engine
    engine.dispose()


def test_a_journal_built_in_bulk_verifies_to_its_last_entry(journal: tuple[Path, Engine]) -> None:
    report = verify(journal[1], None)
    assert report.clean, report.finding
    assert (report.cases, report.entries) == (3, 1200)


def test_a_journal_built_in_bulk_is_made_once(journal: tuple[Path, Engine]) -> None:
    before = (journal[0] / "doorside.db").stat().st_ino
    assert (many.journal_of(1200) / "doorside.db").stat().st_ino == before


def numbers(found: Any) -> Iterator[float]:
    """Every number in a tree of figures."""
    if isinstance(found, dict | list):
        for one in found.values() if isinstance(found, dict) else found:
            yield from numbers(one)
    elif isinstance(found, int | float):
        yield found


@pytest.mark.long
def test_a_run_gives_every_figure_beside_its_floor(in_folder: None) -> None:
    found = measure(SMALL)
    assert [(one["cases"], one["taps_per_s"], one["subscribers"]) for one in found["tap_to_last"]] == [(2, 50, 2)]
    for one in found["tap_to_last"]:
        for figure in (one["last"], one["answer"]):
            assert figure.keys() == {"doorside", "floor", "ratio"}
            assert figure["doorside"]["n"] == figure["floor"]["n"] == 5
    assert found["pages"].keys() == {"2"}
    assert found["pages"]["2"].keys() == {
        "start", "inside", "outside", "board", "case", "desk", "case from journal",
    }  # fmt: skip
    assert found["many"]["ratio"].keys() == found["pages"]["2"].keys()
    assert all(number >= 0 for part in ("throughput", "many", "pages", "long") for number in numbers(found[part]))
    table = list(lines(found))
    assert len([line for line in table if line.startswith("2 stored cases")]) == 7
    assert [line.split()[-1] for line in table[-len(found["targets"]) :]] == [
        "met" if one["met"] else "MET" for one in found["targets"]
    ], "each target beside its figure, at the end"


def test_figures_are_held_against_their_targets() -> None:
    one = {"cases": 1, "taps_per_s": 10, "last": {"ratio": {"median": 2.5, "p99": 4.01}}}
    found = {
        "tap_to_last": [one | {"subscribers": 200}, one | {"subscribers": 500}],
        "long": [{"cases": 20, "seconds": 60, "growth": 1.02}],
        "throughput": {"ratio_to_noop_fastapi": 0.499},
        "many": {
            "entries": 1_000_000, "ratio": {"inside": 1.2, "case": 1.21, "desk": 9.0},
            "board": {"live_cases": 20, "ratio_to_a_case_page": 3.0},
        },
    }  # fmt: skip
    assert [target.met for target in targets(found)] == [True, False, True, False, True, False, False]
    assert [str(target).endswith("NOT MET") for target in targets(found)] == [not one.met for one in targets(found)]
