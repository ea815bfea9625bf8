"""POST /api/entries: the only road by which entries come in. A list goes in, an answer for each comes out.

The body is a JSON list of taps, or `{"entries": [...], "more": true}` when the station's outbox holds more than fits.
The answer has one result a tap, in order. Its status is 200 when all are stored, otherwise that of the first refusal;
the good ones of the list are stored all the same.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Annotated, Any, NoReturn

from fastapi import Request
from fastapi.responses import JSONResponse
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from app.base.errors import DoorsideError, Malformed, NotPermitted, NotValid, TooLarge
from app.base.ids import is_uuid7
from app.base.moments import parse_moment
from app.case.vocabulary.body import Code
from app.case.vocabulary.registry import read_body
from app.journal.chain import canonical
from app.journal.entry import Tap
from app.journal.writer import Outcome
from app.stations.values import Station
from app.web.deps import live_of, stations_of
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


async def post(request: Request) -> JSONResponse:
    """Takes a list of taps in."""
    given = _listed(await _body(request))
    stations = stations_of(request)
    answers: list[dict[str, Any] | None] = [None] * len(given)
    refused: DoorsideError | None = None
    taps: list[tuple[int, Tap]] = []
    for place, one in enumerate(given):
        try:
            taps.append((place, _tap(one, stations)))
        except DoorsideError as error:
            answers[place] = _refusal(_id_of(one), error)
            refused = refused or error
    if taps:
        outcomes = await live_of(request).store([tap for _, tap in taps])
        for (place, _), outcome in zip(taps, outcomes, strict=True):
            answers[place] = _answer(outcome)
            refused = refused or outcome.error
    return JSONResponse({"results": answers}, status_code=refused.status if refused else 200)


async def _body(request: Request) -> bytes:
    parts, size = [], 0
    async for part in request.stream():
        size += len(part)
        if size > BODY_MOST:
            raise too_large()
        parts.append(part)
    return b"".join(parts)


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no JSON number")


def _listed(body: bytes) -> list[Any]:
    try:
        given = json.loads(body, parse_constant=_no_constant)
    except (ValueError, RecursionError) as error:
        raise Malformed(
            "The list of entries cannot be read as JSON.", holds="Nothing of it was stored.", do=str(error)[:200]
        ) from error
    if isinstance(given, dict) and set(given) <= {"entries", "more"}:
        given = given.get("entries")
    if not isinstance(given, list):
        raise Malformed("Entries are sent as a list.", holds="Nothing of it was stored.")
    if len(given) > ENTRIES_MOST:
        raise TooLarge(
            f"One list may hold {ENTRIES_MOST} entries; this one holds {len(given)}.",
            holds="Nothing of it was stored.",
            do="Send the oldest first, in several lists.",
        )
    return given


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
    return Tap(**read.model_dump())


def _id_of(given: Any) -> str | None:
    found = given.get("id") if isinstance(given, dict) else None
    return found if isinstance(found, str) and is_uuid7(found) else None


def _refusal(tap_id: str | None, error: DoorsideError) -> dict[str, Any]:
    return {"id": tap_id, "status": "refused", "code": error.status, **error.shape()}


def _answer(outcome: Outcome) -> dict[str, Any]:
    if outcome.error is not None:
        return _refusal(outcome.id, outcome.error)
    entry = outcome.entry
    assert entry is not None
    return {"id": outcome.id, "status": outcome.status, "seq": entry.seq, "received_at": entry.received_at}
