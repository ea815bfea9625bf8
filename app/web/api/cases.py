"""POST /api/cases: makes a case's row, so that it exists and can take entries. They follow as taps."""

from __future__ import annotations

from typing import Annotated

from fastapi import Request
from fastapi.responses import JSONResponse
from pydantic import BaseModel, ConfigDict, Field

from app.base.errors import NotValid
from app.base.ids import new_id
from app.case.vocabulary.body import Code
from app.web.deps import live_of
from app.web.lines import lines_of


class NewCase(BaseModel):
    """What a case's row holds: a short reference without a name in it, and the room."""

    model_config = ConfigDict(extra="forbid")
    ref: Annotated[str, Field(min_length=1, max_length=40)]
    room: Code | None = None


async def post(request: Request, new: NewCase) -> JSONResponse:
    """Answers with the id of the new case."""
    return JSONResponse({"case": await make(request, new.ref, new.room)}, status_code=201)


async def make(request: Request, ref: str, room: str | None) -> str:
    """Makes the row of a case and pairs the room's screens with it; gives its id."""
    live = live_of(request)
    if room is not None and room not in live.registers.rooms:
        raise NotValid("That room is not in the register.", do="Pick one of the list, or none.")
    case = new_id()
    await live.make_case(case, ref, room)
    await lines_of(request).case_made(case, room)
    return case
