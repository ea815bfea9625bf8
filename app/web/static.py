"""Files of `static/`: asked for again each time, answered 304 when unchanged, and sent compressed.

A ward's wireless link is the narrow place: what a page loads is packed once a file and kept in memory.
"""

from __future__ import annotations

import gzip
import os
from pathlib import Path

from starlette.datastructures import Headers
from starlette.responses import Response
from starlette.staticfiles import NotModifiedResponse, StaticFiles
from starlette.types import Scope

PACKED = frozenset({".css", ".js", ".svg", ".json", ".webmanifest"})
"""Endings that shrink; fonts and pictures are packed already."""
LEAST_BYTES = 512


def takes_gzip(headers: Headers) -> bool:
    """Whether the caller reads gzip."""
    parts = (part.replace(" ", "").partition(";") for part in headers.get("accept-encoding", "").split(","))
    return any(name == "gzip" and weight.rstrip("0") not in ("q=", "q=0.") for name, _, weight in parts)


class Static(StaticFiles):
    """The files of one folder."""

    def __init__(self, directory: Path) -> None:
        super().__init__(directory=directory)
        self._packed: dict[str, tuple[str, bytes]] = {}

    def file_response(
        self, full_path: str | os.PathLike[str], stat_result: os.stat_result, scope: Scope, status_code: int = 200
    ) -> Response:
        response = super().file_response(full_path, stat_result, scope, status_code)
        headers = Headers(scope=scope)
        if Path(full_path).suffix in PACKED:
            response.headers["vary"] = "Accept-Encoding"
            if response.status_code == 200 and stat_result.st_size >= LEAST_BYTES and takes_gzip(headers):
                response = self._pack(str(full_path), response, headers)
        response.headers["cache-control"] = "no-cache"
        return response

    def _pack(self, path: str, plain: Response, asked: Headers) -> Response:
        tag = plain.headers["etag"].rstrip('"') + '-gzip"'
        headers = {
            name: plain.headers[name] for name in ("content-type", "last-modified", "vary") if name in plain.headers
        } | {"etag": tag}
        if tag in asked.get("if-none-match", ""):
            return NotModifiedResponse(Headers(headers))
        if path not in self._packed or self._packed[path][0] != tag:
            self._packed[path] = (tag, gzip.compress(Path(path).read_bytes(), 9, mtime=0))
        return Response(self._packed[path][1], headers=headers | {"content-encoding": "gzip"})
