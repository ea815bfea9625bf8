"""POST /api/entries: the only road by which entries come in. A list goes in, an answer for each comes out.

The body is a JSON list of taps, or `{"entries": [...], "more": true}` when the station's outbox holds more than fits:
what its lists bring is stored at once, and judged together when the last of them is in (`case/rules/catching_up.py`).
The answer has one result a tap, in order. Its status is 200 when all are stored, 202 when some are held for a lead to
decide about (`held.py`), otherwise that of the first refusal; the good ones of the list are stored all the same.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping
from typing import Annotated, Any, NoReturn

from fastapi import Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field, ValidationError
from pydantic_core import from_json, to_json
from starlette.requests import ClientDisconnect

from app.base.errors import DoorsideError, Malformed, NotPermitted, NotValid, TooLarge
from app.base.ids import is_uuid7
from app.base.moments import parse_moment
from app.base.time import utc_now
from app.case.vocabulary.body import Code
from app.case.vocabulary.registry import read_body
from app.journal.chain import canonical
from app.journal.entry import Tap
from app.journal.writer import Outcome
from app.live.live import Live
from app.stations.values import Station
from app.web.api import held, spoken
from app.web.deps import known_stations_of, live_of
from app.web.lines import lines_of
from app.web.security import BODY_MOST, too_large

ENTRIES_MOST = 500
_SERVER_KINDS = frozenset({"net.down", "net.up"})


class TapIn(BaseModel):
    """A tap as a station sends it."""

    model_config = ConfigDict(extra="forbid", strict=True)
    id: str
    case: Code
    kind: Code
    body: dict[str, Any]
    station: Code
    counter: Annotated[int, Field(ge=1, le=2**53 - 1)]
    device_at: str
    role: Code | None = None
    person: Code | None = None
    offset_ms: Annotated[float, Field(ge=-1e13, le=1e13, allow_inf_nan=False)] | None = None
    error_ms: Annotated[float, Field(ge=0, le=1e13, allow_inf_nan=False)] | None = None


class _Answers:
    """One result a tap, in the order of the list, and the first refusal among them."""

    def __init__(self, count: int) -> None:
        self._results: list[dict[str, Any]] = [{} for _ in range(count)]
        self._refused: DoorsideError | None = None

    def say(self, place: int, result: dict[str, Any]) -> None:
        self._results[place] = result

    def refuse(self, place: int, tap_id: str | None, error: DoorsideError) -> None:
        self._results[place] = {"id": tap_id, "status": "refused", "code": error.status, **error.shape()}
        self._refused = self._refused or error

    def response(self) -> Response:
        some_held = any(result["status"] == "held" for result in self._results)
        status = self._refused.status if self._refused else 202 if some_held else 200
        return _Results(to_json({"results": self._results}), status)


class _Results(Response):
    """An answer whose head is known: the general way to make one takes as long as checking a tap."""

    def __init__(self, body: bytes, status: int) -> None:
        self.body, self.status_code, self.background = body, status, None
        self.raw_headers = [(b"content-length", b"%d" % len(body)), (b"content-type", b"application/json")]


async def post(request: Request) -> Response:
    """Takes a list of taps in."""
    given, more = _listed(await _body(request))
    stations, live, now = known_stations_of(request), live_of(request), utc_now()
    answers = _Answers(len(given))
    taps: list[tuple[int, Tap]] = []
    late: dict[str, list[tuple[int, Tap]]] = {}
    for place, one in enumerate(given):
        try:
            tap = _tap(one, stations)
            waits = held.must_wait(stations[tap.station], tap, now)
            if not waits:
                await spoken.check(request, stations[tap.station], tap)
        except DoorsideError as error:
            answers.refuse(place, _id_of(one), error)
            continue
        (late.setdefault(tap.station, []) if waits else taps).append((place, tap))
    for station, some in late.items():
        taps += await _hold(live, stations[station], some, answers)
    if taps:
        outcomes = await live.store([tap for _, tap in taps], more=more)
        for (place, _), outcome in zip(taps, outcomes, strict=True):
            if outcome.error is not None:
                answers.refuse(place, outcome.id, outcome.error)
            else:
                answers.say(place, _stored(outcome))
        await lines_of(request).follow(outcomes)
    return answers.response()


async def _hold(live: Live, station: Station, some: list[tuple[int, Tap]], answers: _Answers) -> list[tuple[int, Tap]]:
    """Lets taps of one station wait at the desk; gives those that a lead has accepted: the record has them by now."""
    try:
        kept = await asyncio.to_thread(held.keep, live, station, [tap for _, tap in some])
    except DoorsideError as error:
        for place, tap in some:
            answers.refuse(place, tap.id, error)
        return []
    accepted = []
    for (place, tap), one in zip(some, kept, strict=True):
        if one.decision == "accepted":
            accepted.append((place, tap))
        elif one.decision == "refused":
            answers.refuse(place, tap.id, held.REFUSED)
        else:
            answers.say(place, held.answer(one))
    return accepted


async def _body(request: Request) -> bytes:
    parts, size, more = [], 0, True
    while more:
        message = await request.receive()
        if message["type"] == "http.disconnect":
            raise ClientDisconnect
        part, more = message.get("body", b""), message.get("more_body", False)
        size += len(part)
        if size > BODY_MOST:
            raise too_large()
        parts.append(part)
    return b"".join(parts)


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no JSON number")


def _read(body: bytes) -> Any:
    """The JSON of a body. What the quick reader does not take is for the standard library to judge, and to name."""
    try:
        return from_json(body, allow_inf_nan=False)
    except ValueError:
        return json.loads(body, parse_constant=_no_constant)


def _listed(body: bytes) -> tuple[list[Any], bool]:
    """The list of a body, and whether its station has more than that."""
    try:
        given = _read(body)
    except (ValueError, RecursionError) as error:
        raise Malformed(
            "The list of entries cannot be read as JSON.", holds="Nothing of it was stored.", do=str(error)[:200]
        ) from error
    more: Any = False
    if isinstance(given, dict) and set(given) <= {"entries", "more"}:
        more = given.get("more", False)
        given = given.get("entries")
    if not isinstance(given, list) or not isinstance(more, bool):
        raise Malformed("Entries are sent as a list.", holds="Nothing of it was stored.")
    if len(given) > ENTRIES_MOST:
        raise TooLarge(
            f"One list may hold {ENTRIES_MOST} entries; this one holds {len(given)}.",
            holds="Nothing of it was stored.",
            do="Send the oldest first, in several lists.",
        )
    return given, more


def _tap(given: Any, stations: Mapping[str, Station]) -> Tap:
    """A tap, checked as far as it can be without the journal. Raises NotValid or NotPermitted."""
    try:
        read = TapIn.model_validate(given)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        field = ".".join(str(part) for part in first["loc"]) or "the entry"
        raise NotValid(
            f"{field[:60]}: {first['msg']}.", do="The envelope's fields are listed in the vocabulary."
        ) from None
    if not is_uuid7(read.id):
        raise NotValid(f"The id {read.id[:60]!r} is no UUIDv7 in lower case.")
    try:
        parse_moment(read.device_at)
    except ValueError as error:
        raise NotValid(f"device_at is {error}.", do="Write it like 2026-11-03T14:10:00.000Z.") from None
    station = stations.get(read.station)
    if station is None:
        raise NotPermitted(
            "This browser is not paired as the station that the entry names.",
            holds="The entry stays on the station.",
            do="Pair it again at the desk.",
        )
    if not station.served(read.case):
        raise NotPermitted(
            f"The station {station.label} was never paired to that case.",
            holds="The entry stays on the station.",
            do="Pair it to the case at the desk.",
        )
    if read.kind in _SERVER_KINDS:
        raise NotPermitted(f"{read.kind} is said by the server alone.")
    try:
        read_body(read.kind, read.body)
        canonical(read.body)
    except (ValueError, RecursionError) as error:  # half a character in a field's name stops the reading itself
        raise NotValid(
            f"{read.kind}: the body holds a figure or a text that cannot be kept exactly: {str(error)[:100]}."
        ) from None
    return Tap(
        read.id, read.case, read.kind, read.body, read.station, read.counter, read.device_at,
        read.role, read.person, read.offset_ms, read.error_ms,
    )  # fmt: skip


def _id_of(given: Any) -> str | None:
    found = given.get("id") if isinstance(given, dict) else None
    return found if isinstance(found, str) and is_uuid7(found) else None


def _stored(outcome: Outcome) -> dict[str, Any]:
    entry = outcome.entry
    assert entry is not None
    return {"id": outcome.id, "status": outcome.status, "seq": entry.seq, "received_at": entry.received_at}
