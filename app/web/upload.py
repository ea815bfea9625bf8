"""The one file of a `multipart/form-data` body (RFC 7578), as browsers send it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from fastapi import Request

from app.base.errors import Malformed, TooLarge

FILE_MOST = 16_000_000
"""How large a file may be [bytes]: 50,000 rows of any register fit several times over."""
_NOTHING = "Nothing of it was kept."
_BOUNDARY = re.compile(r"""boundary=(?:"([^"]{1,70})"|([^\s;,"]{1,70}))""")
_NAME = re.compile(rb'filename="((?:[^"\\]|\\.)*)"')


@dataclass(frozen=True, slots=True)
class Upload:
    """A file as it was sent. `name` is what its owner calls it: shown, never used as a path."""

    name: str
    raw: bytes


async def upload_of(request: Request) -> Upload:
    """The file of a form. Raises TooLarge, and Malformed for a body that holds none."""
    boundary = _BOUNDARY.search(request.headers.get("content-type", ""))
    if boundary is None:
        raise Malformed("That request carries no file.", holds=_NOTHING, do="Choose a file and try again.")
    body = bytearray()
    async for part in request.stream():
        body += part
        if len(body) > FILE_MOST:
            raise TooLarge(f"That is more than the {FILE_MOST // 1_000_000} MB that one file may have.", holds=_NOTHING)
    mark = b"--" + (boundary[1] or boundary[2]).encode("latin-1")
    for part in (b"\r\n" + bytes(body)).split(b"\r\n" + mark):
        head, between, raw = part.partition(b"\r\n\r\n")
        name = _NAME.search(head)
        if between and name is not None and name[1]:
            return Upload(name[1].decode("utf-8", "replace")[:100], raw)
    raise Malformed("No file was chosen.", holds=_NOTHING, do="Choose a file and try again.")
