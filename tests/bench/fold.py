"""What the fold costs, as JSON: `python -m tests.bench.fold [--entries 300] [--rounds 30]`.

The case is scenario S1, filled up with readings of the monitor. Figures are medians:

    fold_entries_per_s   entries folded from nothing
    fold_ms              the whole case from nothing
    tap_ms               one more tap, after all others
    late_tap_ms          one more tap that happened before others: the case is folded anew
    intervals_ms         all intervals of the folded case
"""

from __future__ import annotations

import json
from argparse import ArgumentParser
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

from app.base.moments import moment_text
from app.case.fold import Record
from app.case.intervals import intervals
from app.drill.scenario import read_file
from app.drill.taps import posts
from app.journal.entry import Entry, Tap

SCENARIO = Path(__file__).parents[1] / "scenarios" / "s1-normal-intubation.scenario"


def case_of(count: int) -> list[Entry]:
    """A case of so many entries in order of arrival, which is that of happening."""
    made = [(one.tap, one.facts, post.received) for post in posts(read_file(SCENARIO)) for one in post.made]
    entries = [Entry(tap, facts, 0, moment_text(at), "", "") for tap, facts, at in made]
    opening, end = entries[0], entries[-1]
    missing = count - len(entries)
    if missing < 0:
        raise ValueError(f"entries = {count}: the scenario alone has {len(entries)}")
    step = (end.received - opening.received) / (missing + 1)
    for nth in range(1, missing + 1):
        entries.append(vitals(opening, opening.received + nth * step, nth))
    entries.sort(key=lambda entry: entry.received)
    return [replace(entry, seq=seq) for seq, entry in enumerate(entries, 1)]


def vitals(opening: Entry, at: Any, nth: int) -> Entry:
    """A reading of the monitor on a station of its own."""
    body = {"spo2": 90 + nth % 10, "hr": 80 + nth % 30, "sbp": 110}
    tap = Tap(f"vitals-{nth}", opening.tap.case, "vitals", body, "monitor", nth, moment_text(at), offset_ms=0)
    return Entry(tap, {}, 0, moment_text(at), "", "")


def taken_ms(work: Callable[[], object], rounds: int) -> float:
    """Median time that something takes [ms]."""
    times = []
    for _ in range(rounds):
        start = perf_counter()
        work()
        times.append((perf_counter() - start) * 1000)
    return median(times)


def measure(count: int, rounds: int) -> dict[str, Any]:
    """All figures for a case of so many entries."""
    entries = case_of(count)
    case = entries[0].tap.case
    # the case is not closed yet: after an end every tap is marked, which folds anew
    running = [entry for entry in entries if entry.tap.kind != "case.close"]
    record = Record.of(case, running)
    last = record.history[-1].at
    tap = [vitals(entries[0], last + timedelta(seconds=1), count + 1)]
    late = [vitals(entries[0], last - timedelta(minutes=10), count + 2)]
    fold_ms = taken_ms(lambda: Record.of(case, entries), rounds)
    return {
        "entries": count,
        "rounds": rounds,
        "fold_entries_per_s": round(count / fold_ms * 1000),
        "fold_ms": round(fold_ms, 2),
        "tap_ms": round(taken_ms(lambda: record.with_entries(tap), rounds), 3),
        "late_tap_ms": round(taken_ms(lambda: record.with_entries(late), rounds), 2),
        "intervals_ms": round(taken_ms(lambda: intervals(record.now), rounds), 2),
    }


def main(words: Sequence[str] | None = None) -> None:
    parser = ArgumentParser(description="What the fold of one case costs.")
    parser.add_argument("--entries", type=int, default=300)
    parser.add_argument("--rounds", type=int, default=30)
    args = parser.parse_args(words)
    print(json.dumps(measure(args.entries, args.rounds), indent=2))


if __name__ == "__main__":
    main()
