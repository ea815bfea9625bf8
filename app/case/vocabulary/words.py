"""The text form of bodies in scenario files: `key=value` words to a body and back to plain values."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from app.case.vocabulary.registry import KINDS

LISTS = frozenset({"has", "missing", "expired", "lost"})


def _takes_figure(annotation: Any) -> bool:
    return annotation is float or annotation is int or any(_takes_figure(part) for part in get_args(annotation))


NUMERIC: dict[str, frozenset[str]] = {
    kind: frozenset(
        field.alias or name for name, field in model.model_fields.items() if _takes_figure(field.annotation)
    )
    for kind, model in KINDS.items()
}


def figure(text: str) -> int | float | str:
    """A figure if the text is one, otherwise the text itself. `8.0` stays 8.0, `na` stays a text."""
    try:
        return int(text)
    except ValueError:
        pass
    try:
        value = float(text)
    except ValueError:
        return text
    return value if value == value and abs(value) != float("inf") else text


def body_of(kind: str, words: Mapping[str, str]) -> dict[str, Any]:
    """The body that a file's words mean for a kind. `none` is an empty list, `na` is unknown (left out).

    Checks nothing: `registry.read_body` does that, as for any other entry.
    """
    body: dict[str, Any] = {}
    numeric = NUMERIC.get(kind, frozenset())
    for name, text in words.items():
        if name in LISTS:
            body[name] = [] if text == "none" else [part.strip() for part in text.split(",") if part.strip()]
        elif text == "na":
            continue
        elif name in numeric or name.startswith("set_"):
            body[name] = figure(text)
        else:
            body[name] = text
    return body
