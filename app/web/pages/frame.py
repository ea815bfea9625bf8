"""Draws a page in its frame, with what every template may use."""

from __future__ import annotations

from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse

from app.web.deps import live_of


def show(
    request: Request, template: str, *, status_code: int = 200, language: str = "en", **context: Any
) -> HTMLResponse:
    """A page. `page` names it for styles and scripts; `drill` marks invented data."""
    drawn = live_of(request).drawing.environment(language).get_template(template)
    context.setdefault("page", "plain")
    drill = getattr(request.app.state, "demo", None) is not None
    html = drawn.render(drill=drill, **context)
    return HTMLResponse(html, status_code=status_code, headers={"cache-control": "no-store"})
