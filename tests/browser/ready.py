"""Servers that start at once: one process has read the program, each server is a fork of it.

A server that is started from nothing spends a second of the processor on reading its modules. What runs is the same:
`doorside` with its words, a process of its own, to be killed like any other.
"""

from __future__ import annotations

import atexit
import gc
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from importlib import import_module
from pathlib import Path
from typing import Any

PROGRAM = ("-m", "app.cli")
ROOT = Path(__file__).parents[2]


class Forked:
    """A server that was forked: as much of `subprocess.Popen` as the tests use."""

    def __init__(self, source: Source, pid: int) -> None:
        self._source, self.pid = source, pid
        self.returncode: int | None = None

    def poll(self) -> int | None:
        if self.returncode is None:
            self.returncode = self._source.ask(wait=self.pid)
        return self.returncode

    def wait(self, timeout: float | None = None) -> int:
        end = time.monotonic() + (timeout or 3600)
        while self.poll() is None:
            if time.monotonic() > end:
                raise subprocess.TimeoutExpired(PROGRAM, timeout or 0)
            time.sleep(0.01)
        assert self.returncode is not None
        return self.returncode

    def send_signal(self, number: int) -> None:
        if self.poll() is None:
            os.kill(self.pid, number)

    def kill(self) -> None:
        self.send_signal(signal.SIGKILL)


class Source:
    """The process that servers are forked from; it ends with the tests."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.browser.ready"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, cwd=ROOT,
            env=os.environ | {"PYTHONPATH": str(ROOT)}, text=True,
        )  # fmt: skip
        atexit.register(self.close)

    def close(self) -> None:
        """Ends it."""
        self._process.communicate()

    def ask(self, **question: Any) -> Any:
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps(question) + "\n")
        self._process.stdin.flush()
        return json.loads(self._process.stdout.readline())

    def start(self, words: Sequence[str], log: Path, environment: Mapping[str, str]) -> Forked:
        return Forked(self, self.ask(words=list(words), log=str(log), environment=dict(environment)))


def _serve() -> None:
    """Answers questions of the tests until they close the line: start a server, or say how one ended."""
    for name in ("app.cli.serve", "app.cli.demo", "uvicorn.loops.auto", "uvicorn.protocols.http.auto"):
        import_module(name)
    gc.collect()
    gc.freeze()
    for line in sys.stdin:
        question = json.loads(line)
        if pid := question.get("wait"):
            ended, status = os.waitpid(pid, os.WNOHANG)
            answer = os.waitstatus_to_exitcode(status) if ended else None
        else:
            answer = os.fork()
            if answer == 0:
                _become(question["words"], question["log"], question["environment"])
        print(json.dumps(answer), flush=True)


def _become(words: list[str], log: str, environment: dict[str, str]) -> None:
    """In the fork: runs `doorside` with its words, and never comes back."""
    os.environ.clear()
    os.environ.update(environment)
    nothing, said = os.open(os.devnull, os.O_RDONLY), os.open(log, os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    for descriptor, place in ((nothing, 0), (said, 1), (said, 2)):
        os.dup2(descriptor, place)
    status = 1
    try:
        from app.cli import main

        status = main(words)
    except BaseException:
        sys.excepthook(*sys.exc_info())
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)


if __name__ == "__main__":
    _serve()
