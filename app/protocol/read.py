"""Plain data to values and back, and the digest that pins a version."""

from __future__ import annotations

import json
from hashlib import sha256
from typing import Any

import rfc8785
from pydantic import TypeAdapter, ValidationError

from app.base.errors import NotValid
from app.protocol.values import Protocol

ADAPTER: TypeAdapter[Protocol] = TypeAdapter(Protocol)


def from_plain(data: Any) -> Protocol:
    """The protocol that `plain` once wrote. Raises NotValid when the data are no protocol.

    Checks the shape only: what is stored was checked when it was stored, and must stay readable for good.
    """
    try:
        return ADAPTER.validate_json(json.dumps(data))
    except (ValidationError, TypeError, ValueError) as error:
        first = error.errors()[0] if isinstance(error, ValidationError) else {"loc": (), "msg": str(error)}
        where = ".".join(map(str, first["loc"])) or "the whole"
        raise NotValid(
            f"A stored protocol cannot be read: {where}: {first['msg']}.",
            do="Check its file with `doorside protocol check FILE`.",
        ) from error


def plain(protocol: Protocol) -> dict[str, Any]:
    """The whole protocol as JSON data, shared parts in place: what is stored, exported and hashed."""
    data: dict[str, Any] = ADAPTER.dump_python(protocol, mode="json")
    return data


def digest(protocol: Protocol) -> str:
    """SHA-256 in hex over the canonical JSON (RFC 8785) of `plain`: two protocols with one digest are the same."""
    return sha256(rfc8785.dumps(plain(protocol))).hexdigest()
