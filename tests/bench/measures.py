"""What the bench measures: each figure of Doorside beside its floor, taken in turn in the same run.

Times are milliseconds. `best` is the smallest median of the runs: other work on a machine only ever adds, so ratios are
steadiest on it; `median` and `p99` pool all runs.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import Any

from tests.bench import house
from tests.bench.clients import NS, Line, Loaded, Swarm, flood, paced
from tests.bench.floors import append_times

Figures = dict[str, Any]
POST, FLOOR_POST = "/api/entries", "/tap"


@dataclass(frozen=True)
class Scale:
    """How much is measured. seconds: length of one load; taps_least: at slow rates it lasts until so many taps, and is
    measured once."""

    subscribers: tuple[int, ...]
    rates: tuple[int, ...]
    cases: tuple[int, ...]
    runs: int
    seconds: float
    taps_least: int
    stored: tuple[int, ...]
    entries: int
    long_s: float
    long_subscribers: int
    flood_s: float
    loads: int

    def taps(self, rate: int) -> int:
        return max(self.taps_least, round(rate * self.seconds))

    def runs_at(self, rate: int) -> int:
        return self.runs if rate * self.seconds >= self.taps_least else 1


def milliseconds(runs: Sequence[Sequence[int]]) -> Figures:
    """Runs of nanoseconds as best, median and p99 [ms]."""
    pooled = sorted(one for run in runs for one in run)
    return {
        "best": round(min(median(run) for run in runs) / 1e6, 3),
        "median": round(median(pooled) / 1e6, 3),
        "p99": round(pooled[min(len(pooled) - 1, int(0.99 * len(pooled)))] / 1e6, 3),
        "n": len(pooled),
    }


def ratios(ours: Figures, floor: Figures) -> Figures:
    """How many times the floor each figure is."""
    return {name: round(ours[name] / floor[name], 2) for name in ("best", "median", "p99") if floor[name]}


def compared(ours: Sequence[Sequence[int]], floor: Sequence[Sequence[int]]) -> Figures:
    """A figure, its floor and their ratio."""
    mine, least = milliseconds(ours), milliseconds(floor)
    return {"doorside": mine, "floor": least, "ratio": ratios(mine, least)}


def streams(department: house.Department, cases: int, count: int, page: str) -> list[str]:
    """Paths of `count` open inside pages, spread over the cases."""
    return [f"{page}case={department.live[nth % cases]}" for nth in range(count)]


LIVE, FLOOR_LIVE = "/api/live?page=inside&", "/live?"


def tap_to_last(scale: Scale, ready: house.Department, folder: Path, said: Callable[[str], None]) -> list[Figures]:
    """Tap to its answer and to the last stream of its case, per number of streams, of taps a second and of cases."""
    found: list[Figures] = []
    for cases in scale.cases:
        for rate in scale.rates:
            ours: dict[int, list[Loaded]] = {count: [] for count in scale.subscribers}
            least: dict[int, list[Loaded]] = {count: [] for count in scale.subscribers}
            for run in range(scale.runs_at(rate)):
                said(f"{cases} cases, {rate} taps/s, run {run + 1}")
                department = house.copied(ready, folder / f"taps-{cases}-{rate}-{run}")
                size = 1500
                with house.running(house.serving(department), "/board", department.headers) as app:
                    for count in scale.subscribers:
                        load = _load(
                            app.port, POST, streams(department, cases, count, LIVE), department, cases, rate, scale
                        )
                        ours[count].append(load)
                        size = round(load.push_bytes) or size
                with house.running(house.floor("bare", str(department.folder / "bare.db"), str(size))) as bare:
                    for count in scale.subscribers:
                        paths = streams(department, cases, count, FLOOR_LIVE)
                        least[count].append(_load(bare.port, FLOOR_POST, paths, department, cases, rate, scale))
            found.extend(
                {
                    "cases": cases,
                    "taps_per_s": rate,
                    "subscribers": count,
                    "push_bytes": round(ours[count][0].push_bytes),
                    "last": compared([one.lasts for one in ours[count]], [one.lasts for one in least[count]]),
                    "answer": compared([one.answers for one in ours[count]], [one.answers for one in least[count]]),
                }
                for count in scale.subscribers
            )
    return found


def _load(
    port: int, post: str, paths: list[str], department: house.Department, cases: int, rate: int, scale: Scale
) -> Loaded:
    taps = scale.taps(rate)
    # With fewer streams than cases the taps go to the cases that somebody watches.
    watched = min(cases, len(set(paths)))
    make = house.vitals(department, watched)
    return paced(port, post, paths, make, rate=rate, taps=taps, headers=department.headers)


def long_load(scale: Scale, ready: house.Department, folder: Path) -> list[Figures]:
    """200 taps/s for a long while: whether a queue grows. growth: median of the last quarter by that of the first."""
    found = []
    for cases in scale.cases:
        department = house.copied(ready, folder / f"long-{cases}")
        with house.running(house.serving(department), "/board", department.headers) as app:
            paths = streams(department, cases, scale.long_subscribers, LIVE)
            make = house.vitals(department, min(cases, len(set(paths))))
            taps = round(200 * scale.long_s)
            load = paced(app.port, POST, paths, make, rate=200, taps=taps, headers=department.headers)
        quarter = max(1, len(load.lasts) // 4)
        first, last = median(load.lasts[:quarter]), median(load.lasts[-quarter:])
        figures = milliseconds([load.lasts])
        found.append({"cases": cases, "seconds": scale.long_s, "last": figures, "growth": round(last / first, 2)})
    return found


def throughput(scale: Scale, ready: house.Department, folder: Path) -> Figures:
    """Durable taps/s over HTTP on 16 connections, beside routes that do nothing with the same body, and one append.

    noop_fastapi  reads the body into a declared type, as a FastAPI route does; unread: leaves it as bytes
    """
    ours, nothing, unread, bare = [], [], [], []
    cases = max(scale.cases)
    for run in range(scale.runs):
        department = house.copied(ready, folder / f"flood-{run}")

        def rate(port: int, path: str, of: house.Department = department) -> float:
            return flood(port, path, house.vitals(of, cases), seconds=scale.flood_s, headers=of.headers)

        with house.running(house.serving(department), "/board", department.headers) as app:
            ours.append(rate(app.port, POST))
        with house.running(house.floor("fastapi")) as empty:
            nothing.append(rate(empty.port, FLOOR_POST))
        with house.running(house.floor("unread")) as empty:
            unread.append(rate(empty.port, FLOOR_POST))
        with house.running(house.floor("post")) as empty:
            bare.append(rate(empty.port, FLOOR_POST))
    appends = [append_times(folder / f"append-{run}.db", 100, 0.005) for run in range(scale.runs)]
    return {
        "durable_taps_per_s": round(max(ours)),
        "noop_fastapi_per_s": round(max(nothing)),
        "unread_fastapi_per_s": round(max(unread)),
        "bare_posts_per_s": round(max(bare)),
        "ratio_to_noop_fastapi": round(max(ours) / max(nothing), 3),
        "ratio_to_unread_fastapi": round(max(ours) / max(unread), 3),
        "ratio_to_bare_post": round(max(ours) / max(bare), 3),
        "one_append": milliseconds(appends),
    }


def memory(scale: Scale, ready: house.Department, folder: Path) -> Figures:
    """Memory of one more open stream [KiB], Doorside and the bare server."""
    department, count = house.copied(ready, folder / "memory"), max(scale.subscribers)
    found = {}
    for name, words, page in (
        ("doorside", house.serving(department), LIVE),
        ("floor", house.floor("bare", str(folder / "memory.db"), "1500"), FLOOR_LIVE),
    ):
        with house.running(words) as served:
            warm = Swarm(served.port, streams(department, 1, 1, page), department.headers)
            before = served.memory_kib
            swarm = Swarm(served.port, streams(department, 1, count, page), department.headers)
            found[name] = round((served.memory_kib - before) / count, 1)
            swarm.close()
            warm.close()
    return {"subscribers": count, "kib_per_subscriber": found}


def starts(scale: Scale, departments: dict[str, house.Department]) -> Figures:
    """From the command to the first page [ms], beside a FastAPI that has one empty route, and Python itself."""
    found: Figures = {}
    for name, department in departments.items():
        times = []
        for _ in range(scale.runs):
            with house.running(house.serving(department), "/", department.headers) as served:
                times.append([served.start_ns])
        found[name] = milliseconds(times)
    times = []
    for _ in range(scale.runs):
        with house.running(house.floor("fastapi")) as served:
            times.append([served.start_ns])
    found["floor"] = milliseconds(times)
    return found | {"ratio": {name: round(found[name]["best"] / found["floor"]["best"], 2) for name in departments}}


LINKED = re.compile(rb"""(?:href|src)="(/static/[^"#]+)"|from "([./][^"]+\.js)"|import "([./][^"]+\.js)\"""")


def whole(line: Line, path: str) -> tuple[int, int, int]:
    """Asks for a page and all it links, scripts' imports too: first byte, whole page, all [ns]."""
    start = NS()
    line.ask("GET", path)
    body, first = line.answer()
    page = NS()
    asked: set[str] = set()
    waiting = _linked(body, path)
    while waiting:
        address = waiting.pop()
        if address not in asked:
            asked.add(address)
            line.ask("GET", address)
            body, _ = line.answer()
            if address.endswith(".js"):
                waiting.extend(_linked(body, address))
    return first - start, page - start, NS() - start


def _linked(body: bytes, base: str) -> list[str]:
    folder = Path(base).parent
    found = (next(filter(None, groups)).decode() for groups in LINKED.findall(body))
    return [address if address.startswith("/") else _joined(folder, address) for address in found]


def _joined(folder: Path, address: str) -> str:
    for part in Path(address).parts:
        folder = folder.parent if part == ".." else folder if part == "." else folder / part
    return str(folder)


def page_loads(scale: Scale, department: house.Department, tap_first: bool = True) -> Figures:
    """First byte and full load of each page. `redrawn`: a tap came in before; `from journal`: an ended case's first."""
    case, found = department.live[0], {}
    with house.running(house.serving(department), "/", department.headers) as app:
        line = Line(app.port, department.headers)
        make = house.vitals(department, 1)
        pages = {"start": "/", "inside": f"/inside?case={case}", "outside": "/outside", "board": "/board"}
        for name, path in (pages | {"case": f"/case/{case}", "desk": "/desk"}).items():
            whole(line, path)
            runs = []
            for _ in range(scale.loads):
                if tap_first:
                    line.ask("POST", POST, make()[2])
                    line.answer()
                runs.append(whole(line, path))
            found[name] = _page(runs)
        if department.ended:
            found["case from journal"] = _page([whole(line, f"/case/{ended}") for ended in department.ended])
        line.close()
    return found


def _page(runs: list[tuple[int, int, int]]) -> Figures:
    names = ("first_byte", "page", "with_all_it_links")
    return {name: milliseconds([times]) for name, times in zip(names, zip(*runs, strict=True), strict=True)}
