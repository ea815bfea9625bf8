"""Checks a protocol file whole: every mistake in one pass, each with its line and what to write instead.

Three layers, none of which stops the next: YAML (`positions.py`), shape (here, against `values.py`), and sense
(`check_names.py`, `check_order.py`, `check_rules.py`). Values are built only when nothing is wrong.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from app.protocol.check_dress import dress_mistakes
from app.protocol.check_names import name_mistakes
from app.protocol.check_order import order_mistakes
from app.protocol.check_rules import rule_mistakes
from app.protocol.grammar import fields_of, hint_at, wanted
from app.protocol.parts import near, overlay, resolve
from app.protocol.positions import Mistake, Spot, read_tree
from app.protocol.read import ADAPTER
from app.protocol.values import Protocol


@dataclass(frozen=True, slots=True)
class Shared:
    """What a file may build on: named parts, the rules as set by default, the known sources."""

    parts: Mapping[str, Spot]
    rules: Spot
    sources: Spot


def check(text: str, file: str, shared: Shared) -> tuple[Protocol | None, tuple[Mistake, ...]]:
    """The protocol that a text means, or None, and everything that is wrong with it, in the order of the file."""
    tree, mistakes = read_tree(text, file)
    if tree is None:
        return None, tuple(mistakes)
    if not isinstance(tree.value, dict):
        mistakes.append(Mistake(file, 1, 1, "", "this is no protocol", "Begin with `id:` on a line of its own."))
        return None, tuple(mistakes)
    tree, misused = resolve(tree, shared.parts)
    mistakes += misused
    tree = overlay(tree, "rules", shared.rules)
    tree = overlay(tree, "sources", shared.sources)
    protocol, misshapen = _shaped(tree)
    mistakes += misshapen
    for find in (name_mistakes, order_mistakes, dress_mistakes, rule_mistakes):
        mistakes += find(tree)
    unique = {(m.file, m.line, m.column, m.what): m for m in reversed(mistakes)}
    found = sorted(unique.values(), key=lambda m: (m.file != file, m.file, m.line, m.column))
    return (None if found else protocol), tuple(found)


def _shaped(tree: Spot) -> tuple[Protocol | None, list[Mistake]]:
    try:
        return ADAPTER.validate_json(json.dumps(tree.plain())), []
    except ValidationError as error:
        return None, [
            _said(tree, dict(found))
            for found in error.errors(include_url=False)
            # A list whose items are all wrong counts as empty too: say only what is wrong with the items.
            if not (found["type"] == "too_short" and tree.find(found["loc"]).value)
        ]


def _said(tree: Spot, error: dict[str, Any]) -> Mistake:
    """One finding of pydantic in our words, at the place in the file that it is about."""
    path: list[str | int] = list(error["loc"])
    kind: str = error["type"]
    where = path_text(path)
    if kind == "missing":
        spot = tree.find(path[:-1])
        what, instead = f"'{path[-1]}' is missing", f"Add `{path[-1]}:` with {wanted(hint_at(path))}."
        return Mistake(spot.file, spot.line, spot.column, where, what, instead)
    if kind in ("unexpected_keyword_argument", "extra_forbidden"):
        parent = tree.find(path[:-1])
        line, column = parent.keys.get(str(path[-1]), (parent.line, parent.column))
        known = fields_of(hint_at(path[:-1]))
        instead = near(str(path[-1]), known) or f"Fields here: {', '.join(known)}."
        return Mistake(parent.file, line, column, where, f"'{path[-1]}' is no field here", instead)
    spot = tree.find(path)
    given = spot.plain()
    shown = "nothing" if given is None else f"'{given}'" if isinstance(given, str | int | float) else "this"
    context = error.get("ctx", {})
    if kind == "literal_error":
        choices = wanted(hint_at(path)).removeprefix("one of: ").split(", ")
        what, instead = (
            f"{shown} is not known here",
            " ".join(filter(None, (near(str(given), choices), f"Write one of: {', '.join(choices)}."))),
        )
    elif kind == "value_error":
        what, instead = str(context.get("error", error["msg"])), f"Write {wanted(hint_at(path))}."
        if hint_at(path) is str:
            instead = "Name the source and end with its mark, for example: CCJM20 [V]."
    elif kind == "string_too_long":
        what, instead = f"{shown} is too long", f"Use at most {context['max_length']} characters."
    elif kind in ("string_too_short", "too_short"):
        what, instead = "this is empty or too short", f"Write {wanted(hint_at(path))}."
    elif kind == "string_pattern_mismatch":
        what, instead = f"{shown} is not of the form wanted here", _pattern_words(str(context["pattern"]))
    elif "less_than" in kind or "greater_than" in kind:
        limit = next(iter(context.values()))
        what = f"{shown} is out of range"
        instead = f"Write {'at most' if 'less' in kind else 'at least'} {limit}."
    else:
        what, instead = f"{shown} cannot stand here", f"Write {wanted(hint_at(path))}."
    return Mistake(spot.file, spot.line, spot.column, where, what, instead)


def _pattern_words(pattern: str) -> str:
    if pattern.startswith(r"^R\d"):
        return "Write a rule as R01 to R60."
    if pattern.startswith("^(once"):
        return "Write one of: once, repeat, each."
    if pattern.startswith("^(A1"):
        return "Write one of: A1, A2, B, C, D, or a word in small letters."
    return "Use small letters and figures, joined by - or _."


def path_text(path: list[str | int]) -> str:
    """A path as people read it: phases[3].milestones[0].by."""
    text = ""
    for step in path:
        text += f"[{step}]" if isinstance(step, int) else f".{step}" if text else step
    return text
