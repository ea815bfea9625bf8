"""The list of all kinds, and the check that a body fits its kind."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from typing import Any

from pydantic import ValidationError

from app.base.errors import NotValid
from app.case.vocabulary import airway, course, kit, protection, variants
from app.case.vocabulary.body import Body

KINDS: dict[str, type[Body]] = {
    body.kind: body for family in (course, kit, protection, airway, variants) for body in family.KINDS
}


def fields_of(kind: str) -> frozenset[str]:
    """The field names that a kind allows, as they stand in stored bodies."""
    return frozenset(field.alias or name for name, field in KINDS[kind].model_fields.items())


def read_body(kind: str, body: Mapping[str, Any]) -> Body:
    """A body checked against its kind.

    Raises NotValid with a sentence that names the field, and for near-misses what was probably meant.
    """
    model = KINDS.get(kind)
    if model is None:
        near = get_close_matches(kind, KINDS, n=1)
        raise NotValid(
            f"There is no kind of entry called {kind[:60]!r}.",
            do=f"Did you mean {near[0]}?" if near else "The kinds are listed in the vocabulary.",
        )
    try:
        return model.model_validate(body)
    except ValidationError as error:
        raise NotValid(_sentence(kind, error)) from None


def _sentence(kind: str, error: ValidationError) -> str:
    first = error.errors(include_url=False, include_input=False)[0]
    field = ".".join(str(part) for part in first["loc"][:1])
    if first["type"] == "extra_forbidden":
        near = get_close_matches(field, fields_of(kind), n=1)
        allowed = ", ".join(sorted(fields_of(kind)))
        hint = f" Did you mean {near[0]}?" if near else ""
        return f"{kind} has no field {field[:60]!r}.{hint} It may carry: {allowed}."
    if first["type"] == "missing":
        return f"{kind} needs the field {field!r}."
    message = first["msg"].removeprefix("Value error, ")
    if first["type"] == "string_unicode":
        message = "holds half a character (a lone surrogate)"
    return f"{kind}: {field or 'the body'}: {message}."
