"""Draws a page in its frame, with what every template may use."""

from __future__ import annotations

import gzip
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse

from app import __version__
from app.web.deps import held_at_desk, live_of, person_of, settings_of
from app.web.language import language_of
from app.web.shell import shell
from app.web.static import LEAST_BYTES, takes_gzip


def show(request: Request, template: str, *, status_code: int = 200, **context: Any) -> HTMLResponse:
    """A page in the language of its station. `page` names it for styles and scripts; `drill` marks invented data."""
    station = context.get("station")
    language = station.language if station is not None else language_of(request)
    drawn = live_of(request).drawing.environment(language).get_template(template)
    context.setdefault("page", "plain")
    drill = getattr(request.app.state, "demo", None) is not None
    at_desk = held_at_desk(request) and context["page"] != "signing"
    here = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    html = drawn.render(
        drill=drill,
        zone=live_of(request).zone.key,
        at_desk=at_desk,
        signed=person_of(request) if at_desk else None,
        this_page=here,
        idle_min=settings_of(request).desk_idle_min,
        app_version=__version__,
        certificate_ends=certificate.ends if at_desk and (certificate := request.app.state.certificate) else None,
        plain_http=request.url.scheme == "http" and settings_of(request).plain_on_network,
        **context,
    )
    headers = {"cache-control": "no-store", "vary": "Accept-Encoding", "x-shell": shell().version}
    if len(html) < LEAST_BYTES or not takes_gzip(request.headers):
        return HTMLResponse(html, status_code=status_code, headers=headers)
    packed = gzip.compress(html.encode(), 5, mtime=0)
    return HTMLResponse(packed, status_code=status_code, headers=headers | {"content-encoding": "gzip"})
