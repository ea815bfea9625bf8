"""A department for the bench: databases with live and ended cases, and the server on one of them as a process."""

from __future__ import annotations

import os
import re
import select
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from app.base.database import migrate, open_engine
from app.base.ids import new_id
from app.base.moments import moment_text
from app.base.time import utc_now
from app.drill.moving import moved
from app.drill.player import prepared, ref_of
from app.drill.scenario import read_file
from app.drill.taps import case_ids, posts
from app.journal.keys import open_key, register
from app.journal.writer import Writer
from app.stations import store as stations
from app.stations.values import KINDS
from app.web.deps import cookie_name
from tests.bench.clients import HOST, NS, PATIENCE_S, Line, MakeTap

ROOT = Path(__file__).resolve().parents[2]
SCENARIO = ROOT / "tests" / "scenarios" / "s1-normal-intubation.scenario"
SETTLED = timedelta(minutes=25)
"""How far a live case has come: tube proven, the first request through the door."""
OVER = timedelta(hours=3)
CPUS = sorted(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else []


@dataclass(frozen=True)
class Department:
    """A database with its key, its cases, and cookies that prove a station of each kind."""

    folder: Path
    live: tuple[str, ...]
    ended: tuple[str, ...]
    cookies: str
    inside: str

    @property
    def url(self) -> str:
        return f"sqlite:///{self.folder / 'doorside.db'}"

    @property
    def headers(self) -> tuple[str, ...]:
        return (f"cookie: {self.cookies}",)


def furnish(folder: Path, *, live: int, ended: int) -> Department:
    """Plays cases into the database of a folder (made when it is not there), the live ones up to the settled tube."""
    folder.mkdir(parents=True, exist_ok=True)
    url = f"sqlite:///{folder / 'doorside.db'}"
    migrate(url)
    engine, key = open_engine(url), open_key(folder / "server.key")
    register(engine, key)
    writer = Writer(engine, key)
    writer.start()
    now, file, made = utc_now(), read_file(SCENARIO), {}
    for place in range(live + ended):
        begun = now - (SETTLED if place < live else OVER) - timedelta(seconds=place)
        one = moved(file, begun)
        ((handle, case),) = case_ids(one).items()
        writer.create_case(case, ref_of(one, handle), None).result()
        arrivals = [writer.submit(prepared(post)) for post in posts(one) if post.received < now]
        arrivals[-1].result()
        made[case] = place < live
    cookies = {kind: stations.pair(engine, kind=kind, label=kind, now=now) for kind in KINDS}
    writer.stop()
    engine.dispose()
    return Department(
        folder,
        tuple(case for case, is_live in made.items() if is_live),
        tuple(case for case, is_live in made.items() if not is_live),
        "; ".join(f"{cookie_name(kind)}={cookie}" for kind, cookie in cookies.items()),
        cookies["inside"].partition(".")[0],
    )


def copied(department: Department, folder: Path) -> Department:
    """The same department once more, to be written to."""
    shutil.copytree(department.folder, folder)
    return Department(folder, department.live, department.ended, department.cookies, department.inside)


def vitals(department: Department, cases: int) -> MakeTap:
    """Taps of the inside station, one case after the other, each with a moment of its own."""
    nth, at = 0, utc_now()

    def make() -> tuple[int, bytes, bytes]:
        nonlocal nth, at
        nth, at = nth + 1, max(utc_now(), at + timedelta(microseconds=1))
        moment, place = moment_text(at), nth % cases
        body = (
            f'[{{"id":"{new_id()}","case":"{department.live[place]}","kind":"vitals","body":{{"spo2":{97 + nth % 2}}},'
            f'"station":"{department.inside}","counter":{nth},"device_at":"{moment}","role":"DOC","person":null,'
            f'"offset_ms":0.5,"error_ms":5}}]'
        )
        return place, moment.encode(), body.encode()

    return make


@dataclass
class Served:
    """A server that runs. start_ns: from its beginning to its first answer."""

    process: subprocess.Popen[str]
    port: int
    start_ns: int

    @property
    def memory_kib(self) -> int:
        """Memory that is this process's own [KiB]: resident pages less the shared ones."""
        resident, shared = Path(f"/proc/{self.process.pid}/statm").read_text().split()[1:3]
        return (int(resident) - int(shared)) * os.sysconf("SC_PAGE_SIZE") // 1024


@contextmanager
def running(words: Sequence[str], probe: str | None = None, headers: Sequence[str] = ()) -> Iterator[Served]:
    """A process of this Python, from its first line (which ends with its port) until the block is left.

    probe  a page that is asked for before it counts as started
    """
    environment = {name: value for name, value in os.environ.items() if not name.startswith("DOORSIDE_")}
    start = NS()
    process = subprocess.Popen(
        [sys.executable, *words],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    try:
        place(process.pid, CPUS[1:])
        port = _port(process)
        if probe is not None:
            line = Line(port, headers)
            line.ask("GET", probe)
            line.answer()
            line.close()
        yield Served(process, port, NS() - start)
    finally:
        process.terminate()
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        assert process.stdout is not None
        process.stdout.close()


def _port(process: subprocess.Popen[str]) -> int:
    assert process.stdout is not None
    if not select.select([process.stdout], [], [], PATIENCE_S * 3)[0]:
        raise RuntimeError("a server did not start")
    said = process.stdout.readline()
    if (found := re.search(r"(\d+)/?\s*$", said)) is None:
        raise RuntimeError("a server ended at its start")
    return int(found[1])


def serving(department: Department) -> Sequence[str]:
    """The words of `doorside serve` on a department."""
    code = "import sys, os; os.environ['DOORSIDE_DATA'] = sys.argv.pop(1); from app.cli import main; sys.exit(main())"
    return ("-c", code, str(department.folder), "serve", "--db", department.url, "--host", HOST, "--port", "0")


def floor(*words: str) -> Sequence[str]:
    """The words of a floor server."""
    return ("-m", "tests.bench.floors", *words)


def place(pid: int, cpus: Sequence[int]) -> None:
    """Keeps the client and the servers on CPUs of their own: otherwise figures move by half from run to run."""
    if cpus:
        os.sched_setaffinity(pid, cpus)


def busy_elsewhere() -> Callable[[], float]:
    """Starts to count; then gives the share of all CPU time that other processes than ours took meanwhile."""

    def now() -> tuple[float, float, float]:
        own, whole = os.times(), [int(x) for x in Path("/proc/stat").read_text().split("\n", 1)[0].split()[1:9]]
        return (sum(whole[:3]) + sum(whole[5:7])) / os.sysconf("SC_CLK_TCK"), sum(own[:4]), time.monotonic()

    before = now()

    def share() -> float:
        used, own, at = (after - earlier for after, earlier in zip(now(), before, strict=True))
        return round(max(0.0, used - own) / max(at, 0.01) / (os.cpu_count() or 1), 3)

    return share
