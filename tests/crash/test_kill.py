"""Promise 1: an acknowledged tap is on disk. `kill -9` at any instant loses none and doubles none."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from collections.abc import Iterable
from contextlib import suppress
from itertools import chain, count
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.crash
ROOT = Path(__file__).parents[2]
Ledger = Any
ANSWERS_BEFORE_KILL = 150


def start(url: str, key_file: Path) -> subprocess.Popen[bytes]:
    """A process that stores."""
    return subprocess.Popen(
        [sys.executable, str(Path(__file__).with_name("writing.py")), url, str(key_file)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        cwd=ROOT,
        env={"PYTHONPATH": str(ROOT), "PATH": ""},
    )


def feed(process: subprocess.Popen[bytes], lists: Iterable[list[dict[str, Any]]]) -> None:
    """Sends lists until they end or the process does."""
    assert process.stdin is not None
    with suppress(BrokenPipeError):
        for taps in lists:
            process.stdin.write(json.dumps(taps).encode() + b"\n")
    with suppress(BrokenPipeError):  # closing writes what is still in the buffer
        process.stdin.close()


def run_until(
    process: subprocess.Popen[bytes], lists: Iterable[list[dict[str, Any]]], answers: int | None
) -> list[str]:
    """Feeds a process; kills it after so many answers, or lets it end. Gives the ids that it acknowledged."""
    assert process.stdout is not None
    feeder = threading.Thread(target=feed, args=(process, lists))
    feeder.start()
    acknowledged: list[str] = []
    for number, line in enumerate(process.stdout, 1):
        if line.endswith(b"\n"):
            acknowledged += json.loads(line)
        if number == answers:
            process.kill()  # what it said before it died is still read below
    feeder.join()
    process.wait()
    process.stdout.close()
    return acknowledged


def test_a_killed_writer_has_lost_nothing_that_it_acknowledged(database_url: str, ledger: Ledger, rounds: int) -> None:
    for _ in range(rounds):
        again = ledger.waiting()
        lists = chain(
            [again[n : n + 8] for n in range(0, len(again), 8)],
            (ledger.make(ledger.random.randint(1, 8)) for _ in count()),  # without end: it dies at work
        )
        process = start(database_url, ledger.key_file)
        ledger.acknowledged.update(run_until(process, lists, ledger.random.randint(1, ANSWERS_BEFORE_KILL)))
        assert process.returncode == -9
        ledger.check()
    process = start(database_url, ledger.key_file)
    ledger.acknowledged.update(run_until(process, [list(ledger.sent.values())], None))
    assert process.returncode == 0
    ledger.check()
    assert ledger.acknowledged.keys() == ledger.sent.keys()


def test_two_processes_append_to_the_same_cases(database_url: str, ledger: Ledger) -> None:
    halves = [[ledger.make(3) for _ in range(100)] for _ in range(2)]
    both = [
        ledger.make(1) for _ in range(50)
    ]  # the same taps from both: a station that was served by one, then the other
    answers: list[list[str]] = [[], []]

    def play(which: int) -> None:
        mixed = [taps for pair in zip(halves[which], both * 2, strict=True) for taps in pair]
        answers[which] = run_until(start(database_url, ledger.key_file), mixed, None)

    threads = [threading.Thread(target=play, args=(which,)) for which in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for which in range(2):
        assert {tap["id"] for taps in halves[which] + both for tap in taps} == set(answers[which])
        ledger.acknowledged.update(answers[which])
    ledger.check()
    assert ledger.acknowledged.keys() == ledger.sent.keys()


def test_one_of_two_processes_killed_leaves_the_other_at_work(database_url: str, ledger: Ledger) -> None:
    lists = [[ledger.make(2) for _ in range(150)] for _ in range(2)]
    answers: list[list[str]] = [[], []]

    def play(which: int) -> None:
        process = start(database_url, ledger.key_file)
        answers[which] = run_until(process, lists[which], 40 if which == 0 else None)

    threads = [threading.Thread(target=play, args=(which,)) for which in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert set(answers[1]) == {tap["id"] for taps in lists[1] for tap in taps}
    for which in range(2):
        ledger.acknowledged.update(answers[which])
    ledger.check()
