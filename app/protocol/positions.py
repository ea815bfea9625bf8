"""YAML text as a tree that remembers where everything stands.

Reads the words of YAML 1.2 only: `true` and `false` are yes and no, while `on`, `off`, `yes` and `no` stay words (a
rule has a field `on`, and an entry says `awake=yes`); days and clock times stay texts. Aliases are refused: a protocol
is read by people, and an alias can also blow a small file up to a huge one.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

import yaml

SIZE_MAX = 1_000_000
"""Characters that a protocol file may hold."""


@dataclass(frozen=True, slots=True)
class Mistake:
    """One thing wrong with a file. line and column from 1; where: the path to it; instead: what to write."""

    file: str
    line: int
    column: int
    where: str
    what: str
    instead: str

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        return f"{self.file}:{self.line}:{self.column}: {place}{self.what}. {self.instead}"


@dataclass(frozen=True, slots=True, eq=False)
class Spot:
    """A value and where it stands.

    value  a scalar, a dict of Spots, or a list of Spots; keys: line and column of each key of a dict
    """

    value: Any
    file: str
    line: int
    column: int
    keys: dict[str, tuple[int, int]]

    def plain(self) -> Any:
        """The value without positions."""
        if isinstance(self.value, dict):
            return {key: spot.plain() for key, spot in self.value.items()}
        if isinstance(self.value, list):
            return [spot.plain() for spot in self.value]
        return self.value

    def text(self, key: str) -> str:
        """The text under a key, or "" when there is none."""
        found = self.value.get(key) if isinstance(self.value, dict) else None
        return found.value if found is not None and isinstance(found.value, str) else ""

    def items(self, key: str) -> list[Spot]:
        """The list under a key, or [] when there is none."""
        found = self.value.get(key) if isinstance(self.value, dict) else None
        return found.value if found is not None and isinstance(found.value, list) else []

    def wrong(self, where: str, what: str, instead: str) -> Mistake:
        """A mistake at this spot."""
        return Mistake(self.file, self.line, self.column, where, what, instead)

    def find(self, path: Sequence[str | int]) -> Spot:
        """The deepest spot on a path that exists."""
        here = self
        for step in path:
            named = isinstance(here.value, dict) and step in here.value
            counted = isinstance(here.value, list) and isinstance(step, int) and step < len(here.value)
            if not named and not counted:
                break
            here = here.value[step]
        return here


class _Loader(yaml.SafeLoader):
    """SafeLoader with the words of YAML 1.2 and without aliases."""

    def compose_node(self, parent: yaml.Node | None, index: int) -> yaml.Node | None:
        if self.check_event(yaml.AliasEvent):
            event = self.peek_event()  # type: ignore[no-untyped-call]
            raise yaml.composer.ComposerError(None, None, "an alias (*) is used", event.start_mark)
        return super().compose_node(parent, index)


_KEPT = {"tag:yaml.org,2002:null"}
_Loader.yaml_implicit_resolvers = {
    first: kept
    for first, found in yaml.SafeLoader.yaml_implicit_resolvers.items()
    if (kept := [(tag, pattern) for tag, pattern in found if tag in _KEPT])
}
for _tag, _pattern, _first in (
    ("bool", r"^(true|false)$", "tf"),
    ("int", r"^[-+]?(0|[1-9][0-9]*)$", "-+0123456789"),
    ("float", r"^[-+]?(0|[1-9][0-9]*)\.[0-9]+$", "-+0123456789"),
):
    _Loader.add_implicit_resolver(f"tag:yaml.org,2002:{_tag}", re.compile(_pattern), list(_first))


class _FastLoader(getattr(yaml, "CSafeLoader", yaml.SafeLoader)):  # type: ignore[misc]
    """The same words through libyaml, ten times as fast. It knows no ban on aliases: it is only given texts without."""


_FastLoader.yaml_implicit_resolvers = _Loader.yaml_implicit_resolvers

_TAGS = frozenset(f"tag:yaml.org,2002:{name}" for name in ("str", "int", "float", "bool", "null", "seq", "map"))


def read_tree(text: str, file: str) -> tuple[Spot | None, list[Mistake]]:
    """A YAML text as a tree, and what is wrong with it as YAML. The tree is None when it cannot be read at all."""
    if len(text) > SIZE_MAX:
        return None, [Mistake(file, 1, 1, "", "the file is larger than 1 MB", "Split it, or keep to one protocol.")]
    if "*" not in text and "&" not in text:
        with suppress(yaml.YAMLError, ValueError, RecursionError):  # then read again below, for its better words
            return _composed(_FastLoader(text), file)
    try:
        return _composed(_Loader(text), file)
    except RecursionError:
        return None, [Mistake(file, 1, 1, "", "the file is nested too deeply", "Keep to the fields of a protocol.")]
    except (yaml.YAMLError, ValueError) as error:
        mark = getattr(error, "problem_mark", None)
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        what = getattr(error, "problem", None) or getattr(error, "reason", None) or str(error)
        plain = "alias" in str(what) or "tag" in str(what)
        instead = "Write the value out." if plain else "Look for a quote, colon or indent on this line."
        return None, [Mistake(file, line, column, "", f"not readable as YAML: {what}", instead)]


def _composed(loader: Any, file: str) -> tuple[Spot | None, list[Mistake]]:
    try:
        node = loader.get_single_node()
        if node is None:
            return None, [Mistake(file, 1, 1, "", "the file is empty", "Start from `doorside protocol list`.")]
        mistakes: list[Mistake] = []
        return _spot(node, loader, file, "", mistakes), mistakes
    finally:
        loader.dispose()


def _spot(node: yaml.Node, loader: Any, file: str, where: str, mistakes: list[Mistake]) -> Spot:
    line, column = node.start_mark.line + 1, node.start_mark.column + 1
    if node.tag not in _TAGS:
        raise yaml.composer.ComposerError(None, None, f"a tag ({node.tag}) is used", node.start_mark)
    if isinstance(node, yaml.SequenceNode):
        listed = [_spot(item, loader, file, f"{where}[{n}]", mistakes) for n, item in enumerate(node.value)]
        return Spot(listed, file, line, column, {})
    if isinstance(node, yaml.MappingNode):
        values: dict[str, Spot] = {}
        keys: dict[str, tuple[int, int]] = {}
        for key_node, value_node in node.value:
            key = str(key_node.value)
            here = (key_node.start_mark.line + 1, key_node.start_mark.column + 1)
            path = f"{where}.{key}" if where else key
            if key in values:
                instead = f"Keep one of them; the first is on line {keys[key][0]}."
                mistakes.append(Mistake(file, *here, path, f"'{key}' stands twice", instead))
                continue
            keys[key] = here
            values[key] = _spot(value_node, loader, file, path, mistakes)
        return Spot(values, file, line, column, keys)
    return Spot(loader.construct_object(node, deep=True), file, line, column, {})
