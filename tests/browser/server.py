"""A real server process on a free port that can be killed and started again, and the stations paired to it."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import httpx
from sqlalchemy import Engine, text

from app.base.database import open_engine, writing
from app.base.ids import new_id
from app.base.time import utc_now
from app.journal import store as journal
from app.journal.entry import Entry
from app.people import store as people
from app.people.sign_in import store as sign_in
from app.people.sign_in.values import ALL_RIGHTS
from app.people.tables import Person
from app.stations import store as stations
from app.stations.values import KINDS
from app.web.sessions import COOKIE
from tests.browser.ready import PROGRAM, ROOT, Forked, Source

CHARGE = "U-Una"
PATIENCE_S = 20
"""How long a test waits for what must happen before it says that it did not. Never a measure."""


def until(holds: Callable[[], Any], what: str, log: Callable[[], str] = str) -> None:
    """Asks again and again until something holds; fails naming it, with the server's log, when it never does."""
    end = time.monotonic() + PATIENCE_S
    while not holds():
        assert time.monotonic() < end, f"this never came: {what}\n{log()}"
        time.sleep(0.02)


def free_port() -> int:
    """A port that nobody listens on. The server that is started on it can be started on it again."""
    with socket.create_server(("127.0.0.1", 0)) as listener:
        return int(listener.getsockname()[1])


@cache
def _source() -> Source:
    """What servers of this test process are forked from."""
    return Source()


@dataclass
class Server:
    """`doorside serve` or `doorside demo` as a process of its own, on a database of its own."""

    url: str
    folder: Path
    command: str = "serve"
    port: int = field(default_factory=free_port)
    process: subprocess.Popen[bytes] | Forked | None = None
    cookies: dict[str, str] = field(default_factory=dict)
    counter: int = 0
    said_at: datetime = field(default_factory=utc_now)
    session: str = ""
    program: tuple[str, ...] = PROGRAM

    def __post_init__(self) -> None:
        self.engine: Engine = open_engine(self.url)
        self.client = httpx.Client(base_url=self.address, verify=False, trust_env=False)  # no certificates to load

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def log(self) -> str:
        """What the server has said on standard output and error."""
        path = self.folder / "server.log"
        return path.read_text("utf-8", "replace")[-4000:] if path.exists() else ""

    def start(self) -> None:
        """Starts it and waits until it answers."""
        environment = {name: value for name, value in os.environ.items() if not name.startswith("DOORSIDE_")}
        environment |= {"PYTHONPATH": str(ROOT), "DOORSIDE_DATA": str(self.folder)}
        words, said = (self.command, "--db", self.url, "--port", str(self.port)), self.folder / "server.log"
        if self.program == PROGRAM:
            self.process = _source().start(words, said, environment)
        else:
            with said.open("ab") as log:
                self.process = subprocess.Popen(
                    [sys.executable, *self.program, *words], stdout=log, stderr=log, cwd=ROOT, env=environment
                )
        until(self._answers, "an answer of the server", lambda: self.log)

    def _answers(self) -> bool:
        assert self.process is not None
        assert self.process.poll() is None, f"the server ended:\n{self.log}"
        try:
            return self.client.get("/api/time").status_code == 200
        except httpx.TransportError:
            return False

    def kill(self) -> None:
        """SIGKILL: nothing of it gets another word in."""
        assert self.process is not None
        self.process.kill()
        self.process.wait()

    def stop(self) -> None:
        """The way a server is stopped; streams may be open."""
        if self.process is not None and self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
            try:
                self.process.wait(PATIENCE_S)
            except subprocess.TimeoutExpired:
                self.process.kill()
                self.process.wait()
                raise
        self.client.close()
        self.engine.dispose()

    def pair(self) -> None:
        """Pairs a station of each kind, and signs an invented charge anaesthetist with all rights in at the desk."""
        for kind in KINDS:
            self.cookies[kind] = stations.pair(self.engine, kind=kind, label=f"The {kind}", now=utc_now())
        people.add(self.engine, Person(id=CHARGE, name="Una Quist", initials="UQ", job="charge anaesthetist"))
        sign_in.set_rights(self.engine, CHARGE, ALL_RIGHTS, now=utc_now(), how="test")
        self.session = sign_in.begin(self.engine, CHARGE, self.cookies["desk"].partition(".")[0], utc_now())

    def sign_everybody_out(self) -> None:
        """Ends every session at a desk, as of long ago; pages that are open do not know it yet."""
        with writing(self.engine) as connection:
            old = {"old": "2020-01-01 00:00:00.000000"}
            connection.execute(text("UPDATE desk_session SET begun_at = :old, used_at = :old, ended_at = :old"), old)

    def proof(self, kind: str) -> dict[str, str]:
        """The header that proves a station."""
        signed = f"; {COOKIE}={self.session}" if kind == "desk" and self.session else ""
        return {"cookie": f"doorside_{kind}={self.cookies[kind]}{signed}"}

    def new_case(self, ref: str = "C1") -> str:
        """A case, made at the desk."""
        answer = self.client.post("/api/cases", json={"ref": ref}, headers=self.proof("desk"))
        assert answer.status_code == 201, answer.text
        return str(answer.json()["case"])

    def tap(self, case: str, kind: str, body: dict[str, Any]) -> dict[str, Any]:
        """A tap of the desk."""
        self.counter += 1
        # Of taps that are said in one breath each has a moment of its own.
        self.said_at = max(utc_now(), self.said_at + timedelta(milliseconds=1))
        return {
            "id": new_id(), "case": case, "kind": kind, "body": body, "station": self.cookies["desk"].partition(".")[0],
            "counter": self.counter, "device_at": self.said_at.isoformat(timespec="milliseconds"), "offset_ms": 0, "error_ms": 5,
        }  # fmt: skip

    def say(self, case: str, *said: tuple[str, dict[str, Any]]) -> None:
        """Entries of the desk, stored."""
        taps = [self.tap(case, kind, body) for kind, body in said]
        answer = self.client.post("/api/entries", json=taps, headers=self.proof("desk"))
        assert answer.status_code == 200, answer.text

    def entries(self, case: str, kind: str | None = None) -> list[Entry]:
        """What the journal holds of a case, in order of arrival."""
        return [entry for entry in journal.entries(self.engine, case) if kind is None or entry.tap.kind == kind]
