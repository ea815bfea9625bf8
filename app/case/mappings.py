"""Mappings of frozen data: never changed in place, always copied."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, TypeVar

K = TypeVar("K")
V = TypeVar("V")


class _Nothing(Mapping[Any, Any]):
    """A mapping that holds nothing and cannot be filled, fit to stand as a default of frozen dataclasses."""

    __slots__ = ()

    def __getitem__(self, key: Any) -> Any:
        raise KeyError(key)

    def __iter__(self) -> Iterator[Any]:
        return iter(())

    def __len__(self) -> int:
        return 0

    def __hash__(self) -> int:
        return 0

    def __repr__(self) -> str:
        return "{}"


EMPTY: Mapping[Any, Any] = _Nothing()


def with_item(mapping: Mapping[K, V], key: K, value: V) -> Mapping[K, V]:
    """A copy of a mapping with one item set."""
    return {**mapping, key: value}


def without(mapping: Mapping[K, V], key: K) -> Mapping[K, V]:
    """A copy of a mapping with one item left out."""
    return {k: v for k, v in mapping.items() if k != key}
