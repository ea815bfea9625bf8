"""The body of an ordinary form."""

from __future__ import annotations

from urllib.parse import parse_qsl

from fastapi import Request

from app.base.errors import Malformed, TooLarge

FORM_MOST = 20_000
FIELDS_MOST = 200


async def form_of(request: Request) -> dict[str, str]:
    """Fields of a form's body by name, the last of equal names. Raises TooLarge or Malformed, without its words."""
    body = bytearray()
    async for part in request.stream():
        body += part
        if len(body) > FORM_MOST:
            raise TooLarge("That is more than this form holds.", holds="Nothing of it was kept.")
    try:
        given = parse_qsl(body.decode("utf-8"), keep_blank_values=True, max_num_fields=FIELDS_MOST)
    except ValueError:
        raise Malformed("That is no filled-in form.", holds="Nothing of it was kept.") from None
    if any("\0" in value or "\0" in name for name, value in given):
        raise Malformed("That form holds a character that cannot be kept.", holds="Nothing of it was kept.")
    return {name: value.strip() for name, value in given}
