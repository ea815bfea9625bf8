"""Sequences of frozen data that grow at their end: the longer one shares what it has in common with the shorter.

A case's entries, its happenings and the states between them are all kept, one sequence for each moment. Copied, each
tap would cost as much as there were taps before it, in time and in memory.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import islice
from typing import Any, TypeVar, cast, overload

T = TypeVar("T", covariant=True)
V = TypeVar("V")


class Grown(Sequence[T]):
    """A sequence that is never changed: what `followed_by` gives is another one."""

    __slots__ = ("_items", "_length", "_seen")

    def __init__(self, items: Iterable[T] = ()) -> None:
        self._items = list(items)
        self._length = len(self._items)
        self._seen: dict[str, tuple[int, Any]] = {}

    def followed_by(self, new: Iterable[T], after: int | None = None) -> Grown[T]:
        """This sequence, or its first so many items, and then new ones."""
        kept = self._length if after is None else min(after, self._length)
        # The list is shared as long as nobody has gone on from here in another way.
        shared = kept > 0 and kept == len(self._items)
        items = self._items if shared else self._items[:kept]
        items.extend(new)
        grown: Grown[T] = Grown.__new__(Grown)  # not by `Grown[T]`: that alone takes as long as the rest
        grown._items, grown._length, grown._seen = items, len(items), self._seen if shared else {}
        return grown

    def newest(self, name: str, pick: Callable[[T], V | None]) -> V | None:
        """What `pick` finds in the last item in which it finds anything; `name` stands for what is picked.

        It is remembered with the sequence how far was looked, so the longer one is looked through from there on.
        """
        seen, found = self._seen.get(name, (0, None))
        if seen > self._length:  # looked for in a longer one already
            seen, found = 0, None
        for place in range(self._length - 1, seen - 1, -1):
            if (value := pick(self._items[place])) is not None:
                found = value
                break
        if self._length > self._seen.get(name, (0, None))[0]:
            self._seen[name] = (self._length, found)
        return cast(V | None, found)

    def __len__(self) -> int:
        return self._length

    @overload
    def __getitem__(self, place: int) -> T: ...
    @overload
    def __getitem__(self, place: slice) -> tuple[T, ...]: ...
    def __getitem__(self, place: int | slice) -> T | tuple[T, ...]:
        if isinstance(place, slice):
            start, stop, step = place.indices(self._length)
            return tuple(
                self._items[start:stop] if step == 1 else map(self._items.__getitem__, range(start, stop, step))
            )
        if not -self._length <= place < self._length:
            raise IndexError("beyond the end of the sequence")
        return self._items[place + self._length if place < 0 else place]

    def __iter__(self) -> Iterator[T]:
        return islice(self._items, self._length)

    def __reversed__(self) -> Iterator[T]:
        return map(self._items.__getitem__, range(self._length - 1, -1, -1))

    def __eq__(self, other: object) -> bool:
        if isinstance(other, Grown | tuple):
            return len(self) == len(other) and all(mine == theirs for mine, theirs in zip(self, other, strict=True))
        return NotImplemented

    def __hash__(self) -> int:
        return hash(tuple(self))

    def __repr__(self) -> str:
        return repr(tuple(self))
