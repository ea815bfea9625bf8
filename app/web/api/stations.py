"""POST /api/station: a screen says how it is, and asks whether it should show something else."""

from __future__ import annotations

from typing import Annotated

from fastapi import Request
from fastapi.responses import JSONResponse
from pydantic import BaseModel, ConfigDict, Field

from app.base.errors import NotPermitted
from app.base.time import utc_now
from app.live.hub import ALL
from app.stations.values import Report, Station
from app.web.deps import stations_of
from app.web.lines import lines_of

STATION_PAGES = {"inside": "/inside", "outside": "/outside", "board": "/board", "desk": "/desk"}


class Said(BaseModel):
    """A station's report; what the browser cannot tell is left out or null. `page` and `cases`: what it shows."""

    model_config = ConfigDict(extra="forbid")
    station: Annotated[str, Field(max_length=60)]
    page: Annotated[str, Field(max_length=20)] = ""
    cases: Annotated[list[Annotated[str, Field(max_length=60)]], Field(max_length=100)] = []
    battery_percent: Annotated[int, Field(ge=0, le=100)] | None = None
    charging: bool | None = None
    offset_ms: Annotated[float, Field(ge=-1e13, le=1e13, allow_inf_nan=False)] | None = None
    error_ms: Annotated[float, Field(ge=0, le=1e13, allow_inf_nan=False)] | None = None
    waiting: Annotated[int, Field(ge=0, le=1_000_000)] = 0
    refused: Annotated[int, Field(ge=0, le=1_000_000)] = 0
    version: Annotated[str, Field(max_length=40, pattern=r"^[\w.+-]*$")] = ""


async def report(request: Request, said: Said) -> JSONResponse:
    """Takes a report; answers `go`, the page that this screen should open instead of the one it shows, or null."""
    station = stations_of(request).get(said.station)
    if station is None:
        raise NotPermitted("This browser is not paired as that station.", do="Open the page again.")
    told = said.model_dump(exclude={"station", "page", "cases"})
    await lines_of(request).reported(station.id, Report(at=utc_now(), **told))
    return JSONResponse({"go": elsewhere(station, said.page, said.cases)}, headers={"cache-control": "no-store"})


def elsewhere(station: Station, page: str, cases: list[str]) -> str | None:
    """Where a screen should go: a page of one case stays while it may, a list is drawn anew when it differs."""
    if page in ("outside", "board"):
        mine = [ALL] if station.all_cases else list(station.cases)
        return None if sorted(cases) == sorted(mine) else STATION_PAGES[station.kind]
    if page in ("inside", "wall", "case"):
        return None if all(station.serves(case) for case in cases) else STATION_PAGES[station.kind]
    if page in ("choose", "waiting"):
        return "/inside" if not station.all_cases and sorted(cases) != sorted(station.cases) else None
    return None
