"""How a tablet is told to trust this server: the certificate to take along, and the steps in plain words."""

from __future__ import annotations

import asyncio

from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from app.base import certificates
from app.base.errors import Unknown
from app.web.deps import settings_of
from app.web.pages.frame import show

FILE = "doorside-authority.crt"


async def trust(request: Request) -> HTMLResponse:
    """The page. Anyone may read it: a certificate is no secret, and nobody trusts the server yet."""
    try:
        shown = await asyncio.to_thread(certificates.show, settings_of(request).tls_dir)
    except Unknown:
        shown = None
    return show(request, "trust.html", page="trust", shown=shown, secure=request.url.scheme == "https")


async def authority(request: Request) -> Response:
    """The authority's certificate as a file; the page that says so when there is none."""
    try:
        der = await asyncio.to_thread(certificates.authority_der, settings_of(request).tls_dir)
    except Unknown:
        return RedirectResponse("/trust", status_code=303)
    headers = {"content-disposition": f'attachment; filename="{FILE}"', "cache-control": "no-store"}
    return Response(der, media_type="application/x-x509-ca-cert", headers=headers)
