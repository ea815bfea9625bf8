"""A server in this process, its stations, and what tests of the web send it."""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import httpx
from fastapi import FastAPI
from sqlalchemy import text

from app.base.ids import new_id
from app.base.time import utc_now
from app.live.live import Live
from app.people import store as people
from app.people.sign_in import store as sign_in
from app.people.sign_in.values import ALL_RIGHTS, Rights
from app.people.tables import Person
from app.stations import store as stations
from app.web.deps import cookie_name
from app.web.sessions import COOKIE

PATIENCE_S = 20
"""How long a test waits for what must happen before it says that it did not. Never a measure."""


async def until(holds: Callable[[], bool], what: str) -> None:
    """Waits until something holds; fails naming it when it never does."""
    end = time.monotonic() + PATIENCE_S
    while not holds():
        assert time.monotonic() < end, f"this never came: {what}"
        await asyncio.sleep(0.002)


@dataclass
class House:
    """A server that runs in this process. `cookies` holds a cookie for each paired kind of station.

    session  the secret of who is signed in at the desk, if anybody; `as_("desk")` sends it along
    """

    app: FastAPI
    client: httpx.AsyncClient
    cookies: dict[str, str] = field(default_factory=dict)
    counter: int = 0
    session: str = ""

    @property
    def live(self) -> Live:
        live = self.app.state.live
        assert isinstance(live, Live)
        return live

    def pair(self, kind: str, *cases: str) -> str:
        """Pairs a station; gives its id. Without cases it serves all."""
        cookie = stations.pair(self.live.engine, kind=kind, label=f"The {kind}", now=utc_now(), cases=cases)
        self.cookies[kind] = cookie
        if kind == "desk":
            self.sign_in()
        return cookie.partition(".")[0]

    def sign_in(self, rights: Rights | None = ALL_RIGHTS, name: str = "Una Quist") -> str:
        """Signs an invented person in at the desk, with all rights unless said otherwise; gives their id."""
        engine, person, now = self.live.engine, f"U-{name.partition(' ')[0]}", self.app.state.sessions.now()
        people.add(engine, Person(id=person, name=name, initials="UQ", job="charge anaesthetist"))
        sign_in.set_rights(engine, person, rights or Rights(), now=now, how="test")
        self.live.registers.read()
        self.session = sign_in.begin(engine, person, self.station("desk"), now)
        return person

    def station(self, kind: str) -> str:
        """The id of the station of a kind."""
        return self.cookies[kind].partition(".")[0]

    def as_(self, *kinds: str) -> dict[str, str]:
        """The header that proves these stations."""
        proofs = [f"{cookie_name(kind)}={self.cookies[kind]}" for kind in kinds]
        if "desk" in kinds and self.session:
            proofs.append(f"{COOKIE}={self.session}")
        return {"cookie": "; ".join(proofs)} if kinds else {}

    async def case(self, ref: str = "C1", room: str | None = None) -> str:
        """A case that exists."""
        case = new_id()
        await self.live.make_case(case, ref, room)
        return case

    def tap(self, case: str, kind: str = "vitals", body: Any = None, **other: Any) -> dict[str, Any]:
        """A tap as the inside station makes it, now. `other` overrides fields of the envelope."""
        self.counter += 1
        made = {
            "id": new_id(),
            "case": case,
            "kind": kind,
            "body": {"spo2": 97} if body is None else body,
            "station": self.station("inside"),
            "counter": self.counter,
            "device_at": utc_now().isoformat(timespec="milliseconds"),
            "role": None,
            "person": None,
            "offset_ms": 0,
            "error_ms": 5,
        }
        return made | other

    async def post(self, given: Any, *kinds: str, headers: Mapping[str, str] | None = None) -> httpx.Response:
        """POST /api/entries as some stations (inside when none is named). Bytes go out as they are."""
        content = given if isinstance(given, bytes) else json.dumps(given).encode()
        proof = self.as_(*(kinds or ("inside",)))
        answer = await self.client.post(
            "/api/entries", content=content, headers={"content-type": "application/json", **proof, **(headers or {})}
        )
        await self._folded(given, answer)
        return answer

    async def _folded(self, given: Any, answer: httpx.Response) -> None:
        """An answer leaves as soon as the taps are on disk; pages follow a moment later. Waits for that moment."""
        taps = given.get("entries") if isinstance(given, dict) else given
        if not isinstance(taps, list):
            return
        for tap, result in zip(taps, answer.json().get("results", ()), strict=False):
            if result["status"] == "stored":
                live = await self.live.cases.get(tap["case"])
                await until(lambda live=live, seq=result["seq"]: live.last_seq >= seq, "an entry in the fold")  # type: ignore[misc]

    def stored(self) -> list[str]:
        """Ids of everything in the journal, in order of arrival a case."""
        with self.live.engine.connect() as connection:
            return list(connection.execute(text("SELECT id FROM journal_entry ORDER BY case_id, seq")).scalars())


def refusal(answer: httpx.Response, place: int | None = None) -> dict[str, Any]:
    """The refusal in an answer (of the entry at `place`), with its three sentences looked at."""
    assert 400 <= answer.status_code < 500, answer.text
    told = answer.json() if place is None else answer.json()["results"][place]
    assert isinstance(told, dict)
    assert told["error"], "what happened must be said"
    assert {"error", "holds", "do"} <= told.keys()
    if place is not None:
        assert told["status"] == "refused"
        assert 400 <= told["code"] < 500
    return told
