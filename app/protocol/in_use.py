"""The department's own protocols beside the built-in ones: what a new case is pinned to, and what a case was.

A version never changes once it is stored, so what a case is pinned to by id and version means the same for good; here
lies only what this process has read of them (`take_over`, from `store.py`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from app.protocol.library import age_group, protocol_for, protocols
from app.protocol.values import Protocol

_known: dict[tuple[str, int], Protocol] = {}
_in_use: tuple[Protocol, ...] = ()


def take_over(known: Iterable[Protocol], in_use: Iterable[Protocol]) -> bool:
    """Every own version that was ever approved, and those that new cases may be pinned to. Whether that is news."""
    global _in_use, _known
    found, using = {(one.id, one.version): one for one in known}, tuple(in_use)
    if (found.keys(), using) == (_known.keys(), _in_use):
        return False
    _known, _in_use = found, using  # replaced, not changed: pages may be drawn while another thread takes over
    return True


def chosen(procedure: str, age: str) -> Protocol:
    """The protocol for a new case: the department's own where one is approved, else the built-in. Raises Unknown."""
    group = age_group(age)
    own = [one for one in _in_use if one.procedure == procedure and group in one.ages]
    return max(own, key=lambda one: one.version) if own else protocol_for(procedure, age)


def pinned(facts: Mapping[str, Any]) -> Protocol | None:
    """The protocol that facts of `case.open` name; None when they name none, or one that is not here."""
    name, version = facts.get("id"), facts.get("version")
    if not isinstance(name, str) or not isinstance(version, int):
        return None
    built_in = (one for one in protocols() if (one.id, one.version) == (name, version))
    return _known.get((name, version)) or next(built_in, None)


def own_in_use() -> tuple[Protocol, ...]:
    """The department's own protocols that new cases are pinned to."""
    return _in_use
