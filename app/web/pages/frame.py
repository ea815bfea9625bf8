"""Draws a page in its frame, with what every template may use."""

from __future__ import annotations

import gzip
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse

from app.web.deps import live_of
from app.web.language import language_of
from app.web.static import LEAST_BYTES, takes_gzip


def show(request: Request, template: str, *, status_code: int = 200, **context: Any) -> HTMLResponse:
    """A page in the language of its station. `page` names it for styles and scripts; `drill` marks invented data."""
    station = context.get("station")
    language = station.language if station is not None else language_of(request)
    drawn = live_of(request).drawing.environment(language).get_template(template)
    context.setdefault("page", "plain")
    drill = getattr(request.app.state, "demo", None) is not None
    html = drawn.render(drill=drill, **context)
    headers = {"cache-control": "no-store", "vary": "Accept-Encoding"}
    if len(html) < LEAST_BYTES or not takes_gzip(request.headers):
        return HTMLResponse(html, status_code=status_code, headers=headers)
    packed = gzip.compress(html.encode(), 5, mtime=0)
    return HTMLResponse(packed, status_code=status_code, headers=headers | {"content-encoding": "gzip"})
