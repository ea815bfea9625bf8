"""GET /api/time: the server's clock, from which a station works out how far off its own is."""

from __future__ import annotations

import time

from fastapi.responses import JSONResponse


async def get() -> JSONResponse:
    """t2 when the question came, t3 when the answer left, both milliseconds since 1970 by the server's clock."""
    now_ms = time.time_ns() / 1e6
    return JSONResponse({"t2": now_ms, "t3": time.time_ns() / 1e6}, headers={"cache-control": "no-store"})
