"""GET /sw.js: the worker that keeps the shell and the last picture. It stands at the root, to serve every page.

Browsers register it in a secure context only (https, or this very machine). Without one a page works while it is open.
"""

from __future__ import annotations

import asyncio

from fastapi.responses import Response

from app.web.shell import shell


async def worker() -> Response:
    """The script. Asked for anew each time: a new version of anything in the shell is a new script."""
    text = (await asyncio.to_thread(shell)).worker
    return Response(text, media_type="text/javascript", headers={"cache-control": "no-cache"})
