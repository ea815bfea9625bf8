"""Measures the live path, and prints JSON and a table: every figure beside its floor of the same run.

    python -m tests.bench.live [--quick] [--json FILE]

The whole takes less than a quarter of an hour, `--quick` about a minute. It starts servers of its own on the loopback
address alone, with databases in a temporary folder, and ends them. Figures of a machine that does other work at the
same time are worth little: `cpu_elsewhere` says how much of it was taken by others.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import shutil
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from tests.bench import house, many, measures
from tests.bench.measures import Scale
from tests.bench.table import lines
from tests.bench.targets import targets

FULL = Scale(
    subscribers=(1, 50, 200, 500), rates=(1, 10, 50, 200), cases=(1, 20), runs=2, seconds=3, taps_least=6,
    stored=(1, 100, 1000), entries=1_000_000, long_s=60, long_subscribers=200, flood_s=2, loads=20,
)  # fmt: skip
QUICK = Scale(
    subscribers=(1, 200), rates=(10, 200), cases=(1, 20), runs=1, seconds=1, taps_least=15,
    stored=(1, 20), entries=20_000, long_s=4, long_subscribers=50, flood_s=1, loads=8,
)  # fmt: skip


def measure(scale: Scale, said: Callable[[str], None] = lambda _: None) -> dict[str, Any]:
    """All figures of one run."""
    started, elsewhere = time.monotonic(), house.busy_elsewhere()
    house.place(os.getpid(), house.CPUS[:1])
    try:
        with tempfile.TemporaryDirectory(prefix="doorside-bench-run-") as name:
            folder = Path(name)
            ready = house.furnish(folder / "ready", live=max(scale.cases), ended=0)
            one = house.furnish(folder / "one", live=1, ended=min(5, scale.loads))
            said("throughput, memory")
            found: dict[str, Any] = {
                "throughput": measures.throughput(scale, ready, folder),
                "memory": measures.memory(scale, ready, folder),
                "pages": _pages(scale, folder, said),
            }
            found["many"] = _many(scale, one, ready, folder, said)
            found["tap_to_last"] = measures.tap_to_last(scale, ready, folder, said)
            said("a long load")
            found["long"] = measures.long_load(scale, ready, folder)
    finally:
        house.place(os.getpid(), house.CPUS)
    found["targets"] = [
        {"name": one.name, "value": one.value, "target": f"{one.word} {one.figure}", "met": one.met}
        for one in targets(found)
    ]
    found["machine"] = {
        "cpus": os.cpu_count(),
        "python": platform.python_version(),
        "sqlite": sqlite3.sqlite_version,
        "seconds": round(time.monotonic() - started),
        "cpu_elsewhere": elsewhere(),
    }
    return found


def _pages(scale: Scale, folder: Path, said: Callable[[str], None]) -> dict[str, Any]:
    """Loads of each page by how many cases are stored: one is live, the others have ended."""
    found = {}
    for stored in scale.stored:
        said(f"pages with {stored} stored cases")
        department = house.furnish(folder / f"stored-{stored}", live=1, ended=stored - 1)
        shown = house.Department(
            department.folder, department.live, department.ended[: scale.loads], department.cookies, department.inside
        )
        found[str(stored)] = measures.page_loads(scale, shown)
    return found


def _many(
    scale: Scale, one: house.Department, twenty: house.Department, folder: Path, said: Callable[[str], None]
) -> dict[str, Any]:
    """Pages and start beside very many entries in other cases, and the board of many live cases beside that of one."""
    said(f"pages with {scale.entries:,} entries in other cases")
    kept = many.journal_of(scale.entries)
    shutil.copytree(kept, folder / "many")
    crowded = house.furnish(folder / "many", live=1, ended=len(one.ended))
    few, lots = measures.page_loads(scale, one), measures.page_loads(scale, crowded)
    many_live = measures.page_loads(scale, twenty)
    return {
        "entries": scale.entries,
        "without": few,
        "with": lots,
        "ratio": {page: _first_byte(lots[page]) / _first_byte(few[page]) for page in few},
        "board": {
            "live_cases": len(twenty.live),
            "first_byte": many_live["board"]["first_byte"],
            "ratio_to_one": round(_first_byte(many_live["board"]) / _first_byte(few["board"]), 2),
            "ratio_to_a_case_page": round(_first_byte(many_live["board"]) / _first_byte(few["inside"]), 2),
        },
        "start": measures.starts(scale, {"one live case": one, "very many entries": crowded, "many live": twenty}),
    }


def _first_byte(page: dict[str, Any]) -> float:
    return float(page["first_byte"]["best"])


def main(words: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--quick", action="store_true", help="a small part of it, in about a minute")
    parser.add_argument("--json", type=Path, help="write the JSON to a file as well")
    args = parser.parse_args(words)
    found = measure(QUICK if args.quick else FULL, lambda what: print(f"… {what}", file=sys.stderr, flush=True))
    text = json.dumps(found, indent=1)
    if args.json is not None:
        args.json.write_text(text + "\n", encoding="utf-8")
    print(text)
    print("\n".join(lines(found)))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
