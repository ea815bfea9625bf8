"""What a view has read of its cases, so that it need not be asked again while none of that has changed.

A view chooses from a case by rules that ask many questions, and of a page's panels a tap changes one or two. Nothing of
a case is ever changed in place: what is the same object says the same. So a view is shown its cases through a glass
that notes which of their parts it looks at, and as long as these are the same objects its answer stands.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields
from operator import attrgetter
from typing import Any

from app.case.growing import Grown
from app.case.happening import Happening
from app.case.state import State
from app.live.now import CaseNow

_SEVERAL = ("life", "protocol", "phase")
"""What a case works out once for all its panels."""


class Reading:
    """The parts that a view has read: of its cases, of their states, and which kinds of happenings."""

    __slots__ = ("_case", "_cases", "_kinds", "_state")

    def __init__(self, cases: Sequence[CaseNow]) -> None:
        self._cases = tuple(cases)
        self._case: set[str] = set()
        self._state: set[str] = set()
        self._kinds: set[str] = set()

    def shown(self) -> tuple[CaseNow, ...]:
        """The cases, seen through the glass."""
        return tuple(_Case(case, self._case, self._state, self._kinds) for case in self._cases)

    def stands(self, cases: Sequence[CaseNow]) -> bool:
        """Whether everything that was read is as it was. Different cases never are."""
        return len(cases) == len(self._cases) and all(map(self._same, self._cases, cases))

    def _same(self, was: CaseNow, now: CaseNow) -> bool:
        if was.id != now.id or was.touched != now.touched:
            return False
        old, new = was.state, now.state
        if old is not new:
            if any(getattr(old, name) is not getattr(new, name) for name in self._state):
                return False
            before, after = old.by_kind, new.by_kind
            if any(before.get(kind) is not after.get(kind) for kind in self._kinds):
                return False
        return all(getattr(was, name) is getattr(now, name) for name in self._case)


class _Kinds(Mapping[str, Grown[Happening]]):
    """Happenings by kind. Who looks at all of them is told of each that comes."""

    __slots__ = ("_of", "_read", "_whole")

    def __init__(self, of: Mapping[str, Grown[Happening]], read: set[str], whole: set[str]) -> None:
        self._of, self._read, self._whole = of, read, whole

    def __getitem__(self, kind: str) -> Grown[Happening]:
        self._read.add(kind)
        return self._of[kind]

    def get(self, kind: str, default: Any = None) -> Any:
        self._read.add(kind)
        return self._of.get(kind, default)

    def __contains__(self, kind: object) -> bool:
        self._read.add(str(kind))
        return kind in self._of

    def __iter__(self) -> Iterator[str]:
        self._whole.add("by_kind")
        return iter(self._of)

    def __len__(self) -> int:
        self._whole.add("by_kind")
        return len(self._of)


class _State(State):
    """A state whose parts note that they were looked at."""

    __slots__ = ("_kinds", "_of", "_read")

    def __init__(self, of: State, read: set[str], kinds: set[str]) -> None:
        object.__setattr__(self, "_of", of)
        object.__setattr__(self, "_read", read)
        object.__setattr__(self, "_kinds", _Kinds(of.by_kind, kinds, read))


class _Case(CaseNow):
    """A case whose parts note that they were looked at."""

    def __init__(self, of: CaseNow, read: set[str], state: set[str], kinds: set[str]) -> None:
        self.__dict__.update(_of=of, _read=read, _state=_State(of.state, state, kinds))


def _noting(name: str) -> property:
    of = attrgetter(f"_of.{name}")

    def read(self: Any) -> Any:
        self._read.add(name)
        return of(self)

    return property(read)


for _field in fields(State):
    setattr(_State, _field.name, _noting(_field.name))
_State.by_kind = property(lambda self: self._kinds)  # type: ignore[misc,assignment]
for _name in (*(field.name for field in fields(CaseNow)), *_SEVERAL):
    setattr(_Case, _name, _noting(_name))
_Case.state = property(lambda self: self._state)  # type: ignore[assignment]
