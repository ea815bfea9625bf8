"""In which language a page speaks that names no station."""

from __future__ import annotations

from babel.core import negotiate_locale
from fastapi import Request

from app.base.text import DEFAULT, languages
from app.web.deps import stations_of


def language_of(request: Request) -> str:
    """The language of a station that this browser is paired as; else the one that the browser asks for."""
    for station in stations_of(request).values():
        return station.language
    asked = [part.partition(";")[0].strip() for part in request.headers.get("accept-language", "").split(",")]
    return negotiate_locale(asked, languages(), sep="-") or DEFAULT
