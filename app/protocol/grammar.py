"""The grammar of a protocol, read off its values: which fields stand where, and what each wants, in words.

`values.py` is the only place where the grammar is written; the checks, the hints and the JSON Schema follow from it.
"""

from __future__ import annotations

import types
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import date
from functools import cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from app.protocol.values import Protocol
from app.protocol.words import Match


def bare(hint: Any) -> Any:
    """A type without its annotations and without `| None`."""
    while get_origin(hint) is Annotated:
        hint = get_args(hint)[0]
    if get_origin(hint) in (Union, types.UnionType):
        choices = [choice for choice in get_args(hint) if choice is not type(None)]
        return bare(choices[0]) if len(choices) == 1 else hint
    return hint


@cache
def _hints(record: type) -> dict[str, Any]:
    return get_type_hints(record, include_extras=True)


def hint_at(path: Sequence[str | int]) -> Any:
    """The type that stands at a path of a protocol file; Any where the path leaves the grammar."""
    here: Any = Protocol
    for step in path:
        here = bare(here)
        if is_dataclass(here) and isinstance(here, type) and isinstance(step, str):
            here = _hints(here).get(step, Any)
        elif get_origin(here) is not None and (arguments := [a for a in get_args(here) if a is not Ellipsis]):
            here = arguments[-1]
        else:
            return Any
    return bare(here)


def fields_of(hint: Any) -> tuple[str, ...]:
    """The names of the fields that stand under a type, in order; () for anything without fields."""
    return tuple(field.name for field in fields(hint)) if is_dataclass(hint) else ()


def wanted(hint: Any) -> str:
    """What to write where this type is wanted, in words."""
    hint = bare(hint)
    if get_origin(hint) is Literal:
        return "one of: " + ", ".join(map(str, get_args(hint)))
    if is_dataclass(hint) and hint is not Match:
        return "fields below it: " + ", ".join(fields_of(hint))
    if get_origin(hint) is tuple:
        return "a list, each item begun with '- ' or all in [ ]"
    if get_origin(hint) is not None and issubclass(get_origin(hint), Mapping):
        return "names with values below it"
    words = {
        str: "a text, in quotes if it could be read as a number",
        int: "a whole number",
        float: "a number",
        bool: "true or false",
        date: "a day as YYYY-MM-DD",
        Match: "a milestone, for example preox.start or scope.end result!=tube; n=1",
    }
    return words.get(hint, "a plain value")
