"""Shared parts: a list item `use: NAME` stands for the items of that part, in place.

A file may have `parts:` of its own; the built-in ones are in `library/parts/`. What comes out is one whole tree in
which every value still knows the file and line it came from.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches

from app.protocol.positions import Mistake, Spot

DEPTH_MAX = 8
ITEMS_MAX = 5000
"""Far above any real protocol; parts that use parts could otherwise grow a small file without end."""


def near(word: str, known: Iterable[str]) -> str:
    """A hint at the word that was probably meant: "Did you mean 'x'?", or "" when nothing is near.

    >>> near("drug.givn", ["drug.given", "vitals"])
    "Did you mean 'drug.given'?"
    """
    found = get_close_matches(str(word), sorted(known), n=1, cutoff=0.6)
    return f"Did you mean '{found[0]}'?" if found else ""


def resolve(tree: Spot, shared: Mapping[str, Spot]) -> tuple[Spot, list[Mistake]]:
    """The tree with every `use:` replaced and `parts:` taken out, and what is wrong with the uses."""
    own = tree.value.get("parts")
    uses = _Uses(dict(shared))
    if own is not None and isinstance(own.value, dict):
        uses.parts.update(own.value)
    elif own is not None:
        uses.mistakes.append(own.wrong("parts", "these are no named parts", "Write a name below `parts:`."))
    body = {key: spot for key, spot in tree.value.items() if key != "parts"}
    whole = uses.resolved(Spot(body, tree.file, tree.line, tree.column, tree.keys), "", DEPTH_MAX)
    if own is not None and isinstance(own.value, dict):
        for name in own.value:
            if name not in uses.named:
                line, column = own.keys[name]
                what = f"part '{name}' is used nowhere"
                instead = f"Write `- use: {name}` in a list, or take the part out."
                uses.mistakes.append(Mistake(own.file, line, column, "parts", what, instead))
    return whole, uses.mistakes


@dataclass(slots=True)
class _Uses:
    """One pass over a tree. left: how many more items parts may still put in place."""

    parts: dict[str, Spot]
    mistakes: list[Mistake] = field(default_factory=list)
    named: set[str] = field(default_factory=set)
    left: int = ITEMS_MAX

    def resolved(self, spot: Spot, where: str, depth: int) -> Spot:
        if isinstance(spot.value, dict):
            values = {
                key: self.resolved(child, f"{where}.{key}" if where else key, depth)
                for key, child in spot.value.items()
            }
            return Spot(values, spot.file, spot.line, spot.column, spot.keys)
        if not isinstance(spot.value, list):
            return spot
        items: list[Spot] = []
        for n, child in enumerate(spot.value):
            if isinstance(child.value, dict) and "use" in child.value:
                items.extend(self._used(child, f"{where}[{n}]", depth))
            else:
                items.append(self.resolved(child, f"{where}[{n}]", depth))
        return Spot(items, spot.file, spot.line, spot.column, {})

    def _used(self, spot: Spot, where: str, depth: int) -> list[Spot]:
        for key in spot.value:
            if key != "use":
                line, column = spot.keys[key]
                what = f"'{key}' stands beside 'use'"
                self.mistakes.append(Mistake(spot.file, line, column, where, what, "Take it out."))
        name = str(spot.value["use"].value)
        self.named.add(name)
        part = self.parts.get(name)
        if part is None:
            hint = near(name, self.parts) or f"Known parts: {', '.join(sorted(self.parts))}."
            self.mistakes.append(spot.value["use"].wrong(where, f"there is no part '{name}'", hint))
            return []
        if not isinstance(part.value, list):
            instead = "Begin each of its items with '- '."
            self.mistakes.append(part.wrong(f"parts.{name}", "a part is a list of items", instead))
            return []
        self.left -= len(part.value)
        if depth == 0 or self.left < 0:
            what = f"part '{name}' uses itself" if depth == 0 else "the parts put too many items in place"
            self.mistakes.append(spot.wrong(where, what, "Write its items out."))
            return []
        used: list[Spot] = self.resolved(part, f"parts.{name}", depth - 1).value
        return used


def overlay(tree: Spot, key: str, base: Spot) -> Spot:
    """The tree with what stands under `key` laid over a shared map: the tree's own values win, name by name."""
    own = tree.value.get(key)
    merged = base if own is None else _laid(own, base)
    return Spot({**tree.value, key: merged}, tree.file, tree.line, tree.column, tree.keys)


def _laid(own: Spot, base: Spot) -> Spot:
    if not isinstance(own.value, dict) or not isinstance(base.value, dict):
        return own
    values = dict(base.value)
    for name, spot in own.value.items():
        values[name] = _laid(spot, base.value[name]) if name in base.value else spot
    return Spot(values, own.file, own.line, own.column, own.keys)
