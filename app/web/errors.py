"""How refusals leave the server: JSON for scripts, a page for people, the same three sentences in both."""

from __future__ import annotations

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, JSONResponse, Response
from starlette.exceptions import HTTPException

from app.base.errors import DoorsideError, Malformed, NotValid, Unknown
from app.base.log import log
from app.base.text import DEFAULT
from app.web.deps import live_of, settings_of
from app.web.language import language_of


def answer(request: Request, error: DoorsideError) -> Response:
    """An error in the form that the caller reads."""
    if request.url.path.startswith("/api/") or "text/html" not in request.headers.get("accept", ""):
        return JSONResponse(error.shape(), status_code=error.status)
    try:
        language = language_of(request)
    except Exception:  # what failed may be the very database that knows the stations
        language = DEFAULT
    template = live_of(request).drawing.environment(language).get_template("error.html")
    plain = request.url.scheme == "http" and settings_of(request).plain_on_network
    html = template.render(error=error, request_path=request.url.path, plain_http=plain)
    return HTMLResponse(html, status_code=error.status)


def unforeseen(request: Request, error: Exception) -> Response:
    """What nobody thought of. The log gets the places it passed, without address or words: they may name a patient."""
    log.error("a request failed", exc_info=error)
    words = DoorsideError(
        "The server could not do this.",
        holds="Everything acknowledged so far is stored.",
        do="Try again; if it stays so, use voice and tell whoever runs the server.",
    )
    return answer(request, words)


def install(app: FastAPI) -> None:
    """Every error that a route can raise gets words."""

    async def ours(request: Request, error: Exception) -> Response:
        assert isinstance(error, DoorsideError)
        return answer(request, error)

    async def http(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        words: DoorsideError
        if error.status_code == 404:
            words = Unknown("There is no such page.", do="Go back to the start page.")
        elif error.status_code == 405:
            words = Malformed("This address does not take that kind of request.")
        else:
            words = Malformed(str(error.detail))
        response = answer(request, words)
        response.status_code = error.status_code
        response.headers.update(error.headers or {})
        return response

    async def invalid(request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)
        first = error.errors()[0]
        field = ".".join(str(part) for part in first["loc"][1:]) or "the request"
        return answer(request, NotValid(f"{field}: {first['msg']}."))

    app.add_exception_handler(DoorsideError, ours)
    app.add_exception_handler(HTTPException, http)
    app.add_exception_handler(RequestValidationError, invalid)
