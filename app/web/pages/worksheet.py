"""The worksheet at the desk. Figures about a patient go by the body of a POST, never an address, and are not kept."""

from __future__ import annotations

import asyncio
from typing import Any
from urllib.parse import parse_qsl

from fastapi import Request
from fastapi.responses import HTMLResponse

from app.base.errors import Malformed, NotPermitted, TooLarge
from app.live.now import CaseNow
from app.live.worksheet.fields import CYLINDERS, GAUGES, GROUPS, Given
from app.live.worksheet.prefill import empty, from_case
from app.live.worksheet.sheet import TITLES, Sheet
from app.web.deps import live_of, station_of
from app.web.pages.frame import show

FORM_MOST = 20_000
FIELDS_MOST = 100
_NOTHING_KEPT = "Nothing of it was kept."


async def worksheet(request: Request, case: str | None = None) -> HTMLResponse:
    """The page, empty or with what a case knows of its patient and room."""
    found = None if case is None else await _case(request, case)
    given = empty() if found is None else from_case(found)
    return await _show(
        request,
        "worksheet.html",
        given,
        page="worksheet",
        case=found,
        groups=GROUPS,
        cylinders=CYLINDERS,
        gauges=GAUGES,
    )


async def figures(request: Request) -> HTMLResponse:
    """Every row again for what is typed now."""
    return await _show(request, "parts/_worksheet_figures.html", Given.of(await _form(request)))


async def _show(request: Request, template: str, given: Given, **context: Any) -> HTMLResponse:
    sheet = await asyncio.to_thread(Sheet.of, given)
    context = {"oob": False, **context}
    return show(request, template, given=given, sheet=sheet, titles=TITLES, **context)


async def _case(request: Request, case: str) -> CaseNow:
    if not station_of(request, "desk").serves(case):
        raise NotPermitted("This screen is not paired to that case.", do="Pair it to the case at the desk.")
    live = live_of(request)
    await live.cases.get(case)
    return live.seen((case,))[0]


async def _form(request: Request) -> list[tuple[str, str]]:
    """The pairs of a form's body. Raises TooLarge or Malformed, without the words of it."""
    body = bytearray()
    async for part in request.stream():
        body += part
        if len(body) > FORM_MOST:
            raise TooLarge("That is more than a worksheet holds.", holds=_NOTHING_KEPT)
    try:
        return parse_qsl(body.decode("utf-8"), keep_blank_values=True, max_num_fields=FIELDS_MOST)
    except ValueError:
        raise Malformed("That is no filled-in worksheet.", holds=_NOTHING_KEPT) from None
